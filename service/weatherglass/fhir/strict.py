"""Strict reading: every resource of a request against the typed FHIR models, every fault named.

The models are those of `fhir.resources` for R4B, which lack nothing of R4 that a record
holds. They know elements, types, formats and cardinalities, not code lists. They take
about half a millisecond a resource, so only those who ask for strict handling wait.

Nothing of the input is repeated: the models' own messages quote it, ours do not.
"""

from collections.abc import Iterable, Iterator
from typing import Any

import msgspec

from weatherglass.budget import watched
from weatherglass.fhir.issues import Issue, IssueKey, Severity
from weatherglass.fhir.json_faults import ELEMENT
from weatherglass.fhir.reading.pages import is_page
from weatherglass.fhir.reading.patient_data import SentEntry

#: More than a caller reads at once; what is beyond is counted.
MOST_ISSUES = 200


def invalid_parts(items: Iterable[SentEntry], shell: bytes = b"") -> list[Issue]:
    """Return what is not valid FHIR in a request, at most `MOST_ISSUES` and a count of the rest.

    Args:
        items: The resources.
        shell: The Bundle around them; its own elements are looked at as well.
    """
    found: list[Issue] = list(_of_shell(shell)) if shell else []
    beyond = 0
    for item in watched(items):
        for issue in _of_item(item):
            if len(found) < MOST_ISSUES:
                found.append(issue)
            else:
                beyond += 1
    if beyond:
        found.append(Issue(Severity.ERROR, IssueKey.MORE, "", f"{beyond} more fault(s) of this kind."))
    return found


def load_models(kinds: Iterable[str]) -> None:
    """Load the models of these types, so that the first resource of each does not wait for it."""
    from fhir.resources.R4B import get_fhir_model_class

    for kind in kinds:
        get_fhir_model_class(kind)


def _of_item(item: SentEntry) -> Iterator[Issue]:
    if item.kind == "DELETE" or is_page(item):
        return
    yield from _judged(item.raw, item.kind, item.path)


def _of_shell(body: bytes) -> Iterator[Issue]:
    """Judge the Bundle without the resources in it, which are judged on their own."""
    try:
        bundle: dict[str, Any] = msgspec.json.decode(body)
    except (msgspec.DecodeError, RecursionError):
        return  # The reader says what is wrong with it.
    for entry in bundle.get("entry") or ():
        if isinstance(entry, dict):
            entry.pop("resource", None)
            entry.setdefault("id", "e")  # An entry may not be empty.
    yield from _judged(msgspec.json.encode(bundle), "Bundle", "Bundle")


def _judged(raw: bytes, kind: str, path: str) -> Iterator[Issue]:
    # Imported here: the models take a fifth of a second, and the programs that never ask go without.
    from fhir.resources.R4B import get_fhir_model_class
    from pydantic import ValidationError

    try:
        get_fhir_model_class(kind).model_validate_json(raw)
    except ValidationError as refused:
        for error in refused.errors(include_url=False, include_input=False, include_context=False):
            yield _issue(path, error["loc"], error["type"], error["msg"])
    except Exception:  # noqa: BLE001 - on a type that they do not know the models raise whatever comes.
        yield Issue(
            Severity.ERROR,
            IssueKey.WRONG_RESOURCE,
            path,
            "Not a resource of FHIR R4, or it holds one that is not.",
        )


def _issue(path: str, place: tuple[int | str, ...], kind: str, message: str) -> Issue:
    where = path + "".join(_step(step) for step in place)
    if kind.endswith("missing"):
        return Issue(Severity.ERROR, IssueKey.MISSING_ELEMENT, where, "A required element is missing.")
    if kind == "extra_forbidden":
        text = "FHIR R4 has no such element here."
    elif "got multiple" in message:
        text = "Only one value of several types may be given."
    else:
        text = "The value does not have the form that FHIR R4 asks for."
    return Issue(Severity.ERROR, IssueKey.INVALID, where, text)


def _step(step: int | str) -> str:
    if isinstance(step, int):
        return f"[{step}]"
    return f".{step}" if ELEMENT.fullmatch(step) else ".(unnamed)"
