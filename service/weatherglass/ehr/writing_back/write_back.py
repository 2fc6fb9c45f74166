"""One patient's results as one transaction: create what is new, update what changed.

A new result is created on condition that no resource of its name exists. An existing one
is updated at the version that was seen, and only when there is something new to say and
nobody has taken it up. So writing the same results again changes nothing, and two
writers at once cannot undo each other.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from typing import Any, NamedTuple

from weatherglass.ehr.client.addresses import same_origin, without_slash
from weatherglass.ehr.writing_back.results import SUMMARY, URN, PatientResults, Result, is_of_a_part
from weatherglass.ehr.writing_back.stored import Finder, StoredResult, StoredResults
from weatherglass.ehr.writing_back.tags import digest_of, rewritten, tagged
from weatherglass.fhir.reading.people.addresses import short_name, unversioned
from weatherglass.fhir.times import read_instant
from weatherglass.fhir.writing.frame.outputs import OUTPUTS
from weatherglass.fhir.writing.frame.terms import Json


class WriteOutcome(StrEnum):
    """What becomes of one result."""

    CREATED = "created"
    UPDATED = "updated"
    UNCHANGED = "unchanged"
    CLOSED = "closed"
    TAKEN_UP = "taken up"  # Somebody changed its status: it is theirs now.
    TWICE = "found twice"  # Not ours to repair: somebody has to look.
    OUTDATED = "outdated"  # The server holds the results of a later review.
    REFUSED = "refused"


class UnplaceableError(ValueError):
    """The results cannot be written to this server; the message says why."""


@dataclass(slots=True)
class Plan:
    """What is to be sent for one patient, and what is not.

    Attributes:
        entries: Entries of the transaction.
        outcomes: What becomes of each entry of the transaction, in order.
        others: What becomes of the results that are not sent.
    """

    entries: list[Json] = field(default_factory=list)
    outcomes: list[tuple[WriteOutcome, str]] = field(default_factory=list)
    others: list[tuple[WriteOutcome, str]] = field(default_factory=list)

    @property
    def transaction(self) -> Json:
        """The transaction Bundle."""
        return {"resourceType": "Bundle", "type": "transaction", "entry": self.entries}


def at_server(reference: str, base: str) -> str:
    """Return a patient's reference as the server itself writes it.

    Raises:
        UnplaceableError: It names no patient of this server.

    Examples:
        >>> at_server("https://ehr.example/fhir/Patient/p1", "https://ehr.example/fhir")
        'Patient/p1'
    """
    name = unversioned(reference)
    if name.startswith(("http://", "https://")):
        inside = name.rpartition("/Patient/")
        if not same_origin(name, base) or inside[0] != without_slash(base):
            raise UnplaceableError("the patient belongs to another server")
        name = f"Patient/{inside[2]}"
    kind, _, identity = name.partition("/")
    if kind != "Patient" or not identity or "/" in identity or "?" in identity:
        raise UnplaceableError("the results name the patient by something that is no id of this server")
    return name


def plan(results: PatientResults, held: StoredResults, finder: Finder, devices: Mapping[str, str]) -> Plan:
    """Decide for every result what becomes of it.

    Args:
        results: The new results of one patient.
        held: What the server holds of ours about the patient.
        finder: How the server finds a result by its name.
        devices: Reference of the software at the server, by its lasting name.

    Raises:
        UnplaceableError: A result refers to something that is not there.
    """
    planned = Plan()
    if is_outdated(results, held):
        planned.others = [(WriteOutcome.OUTDATED, result.kind) for result in results.results]
        return planned
    places = {**devices, **{name: kept.reference for name, kept in held.results.items()}}
    names = {result.name for result in results.results}
    for result in results.results:
        _add(planned, result, held, finder, places, names, at_server(results.patient, finder.transport.base))
    for kept, resource in no_longer_holds(results, held):
        planned.entries.append(_update(kept, resource))
        planned.outcomes.append((WriteOutcome.CLOSED, kept.kind))
    return planned


def _add(
    planned: Plan,
    result: Result,
    held: StoredResults,
    finder: Finder,
    places: Mapping[str, str],
    names: Iterable[str],
    patient: str,
) -> None:
    kept = held.results.get(result.name)
    if kept is None:
        resource = tagged(result.resource, result.name, patient)
        planned.entries.append(
            {
                "fullUrl": f"{URN}{result.name}",
                "resource": _placed(resource, places, names),
                "request": {
                    "method": "POST",
                    "url": result.kind,
                    "ifNoneExist": finder.named(result.kind, result.name),
                },
            }
        )
        planned.outcomes.append((WriteOutcome.CREATED, result.kind))
        return
    outcome = _outcome_of_known(result, kept, held)
    if outcome is not WriteOutcome.UPDATED:
        planned.others.append((outcome, result.kind))
        return
    of_others = {k: kept.resource[k] for k in OUTPUTS[result.kind].of_others if k in kept.resource}
    said = _with_first_deadline(result.resource, kept.resource)
    resource = {**of_others, **tagged(said, result.name, patient)}
    planned.entries.append(_update(kept, _placed(resource, places, names)))
    planned.outcomes.append((WriteOutcome.UPDATED, result.kind))


def _outcome_of_known(result: Result, kept: StoredResult, held: StoredResults) -> WriteOutcome:
    if result.name in held.doubles:
        return WriteOutcome.TWICE
    # A Provenance is named after all that it says.
    if result.kind == "Provenance":
        return WriteOutcome.UNCHANGED
    same = kept.written is not None and kept.written.digest == digest_of(result.resource)
    if same and not _is_sooner(result.resource, kept.resource):
        return WriteOutcome.UNCHANGED
    # The whole review of the same moment says all that the brief one says, and more.
    if is_of_a_part(result.resource) and not is_of_a_part(kept.resource):
        return WriteOutcome.UNCHANGED
    return WriteOutcome.UPDATED if kept.is_untouched else WriteOutcome.TAKEN_UP


def _update(kept: StoredResult, resource: Json) -> Json:
    request = {"method": "PUT", "url": kept.reference}
    if kept.version:
        request["ifMatch"] = f'W/"{kept.version}"'
    return {
        "fullUrl": f"{URN}{kept.name}",
        "resource": {**resource, "id": kept.id},
        "request": request,
    }


def _placed(node: Any, places: Mapping[str, str], names: Iterable[str]) -> Any:
    """Let references to results that are already there lead to them."""
    if isinstance(node, dict):
        target = node.get("reference")
        if isinstance(target, str) and target.startswith(URN):
            name = target.removeprefix(URN)
            if name in places:
                return {**node, "reference": places[name]}
            if name not in names:
                raise UnplaceableError(
                    "a result refers to something in the input that has no id at the server (urn:uuid)"
                )
        return {key: _placed(value, places, names) for key, value in node.items()}
    if isinstance(node, list):
        return [_placed(value, places, names) for value in node]
    return node


def _is_sooner(new: Json, old: Json) -> bool:
    """Tell whether a result of a newer review is due before the one that lies at the server."""
    now, then = _due(new), _due(old)
    return now is not None and (then is None or now < then)


def _with_first_deadline(new: Json, old: Json) -> Json:
    """Return a result with the deadline that was set first, while it asks the same thing as soon.

    Looking again is no reason to wait longer. A reason that turns out to have begun earlier, as by a value
    that was charted late, is one to wait less.
    """
    same = all(new.get(key) == old.get(key) for key in ("status", "priority"))
    if same and _is_sooner(old, new):
        return {**new, "restriction": old["restriction"]}
    return new


def _due(resource: Json) -> datetime | None:
    period = (resource.get("restriction") or {}).get("period") or {}
    return read_instant(str(period.get("end", "")))


# Which of our earlier results no longer hold, and what they are changed to.
#
# A problem, a task or a call that a newer whole review does not repeat is closed, if its
# status is still the one that we wrote: what somebody has taken up is theirs. A score
# stays as the history that it is, unless its inputs were withdrawn or it was worked out
# again from more of the same round.

_CLOSES = tuple(kind for kind, row in OUTPUTS.items() if row.closed)
_NO_LONGER = "A newer review of the record does not repeat this."
_WITHDRAWN = "An observation that this was worked out from has been withdrawn."
_AGAIN = "Worked out again from more of the same round of observations."
_NOT_SO_LATE = "Nothing in the record is as late as this any more: a time was corrected."
_ENDED = frozenset({"entered-in-error", "cancelled"})


class Closing(NamedTuple):
    """One earlier result and how it is to stand from now on."""

    kept: StoredResult
    resource: Json


def is_outdated(results: PatientResults, held: StoredResults) -> bool:
    """Tell whether the server already holds the results of a later review."""
    if results.as_of is None or held.is_ahead:
        return False
    return any(
        _code_of(kept.resource) == SUMMARY
        and kept.status not in _ENDED
        and (_when(kept.resource) or results.as_of) > results.as_of
        for kept in held.of("Observation")
    )


def no_longer_holds(results: PatientResults, held: StoredResults) -> Iterator[Closing]:
    """Yield what is to be closed, when the results are those of a whole review."""
    if not results.is_whole:
        return
    now = {result.name for result in results.results}
    for kept in held.of(*_CLOSES):
        row = OUTPUTS[kept.kind]
        if kept.name not in now and kept.status == row.open and kept.is_untouched:
            yield Closing(kept, _closed(kept, row.closed, _NO_LONGER))
    scores = [r.resource for r in results.results if r.kind == "Observation"]
    for kept in held.of("Observation"):
        if kept.name in now or not kept.is_untouched or kept.status in _ENDED:
            continue
        if not held.withdrawn.isdisjoint(_inputs(kept.resource)):
            yield Closing(kept, _closed(kept, "entered-in-error", _WITHDRAWN))
        elif (
            held.is_ahead
            and results.as_of is not None
            and (_when(kept.resource) or results.as_of) > results.as_of
        ):
            yield Closing(kept, _closed(kept, "entered-in-error", _NOT_SO_LATE))
        elif any(_replaces(score, kept.resource) for score in scores):
            yield Closing(kept, _closed(kept, "entered-in-error", _AGAIN))


def _replaces(new: Json, old: Json) -> bool:
    code = _code_of(new)
    if not code or code == SUMMARY or code != _code_of(old):
        return False
    if _when(new) == _when(old):
        return True
    return bool(_inputs(old)) and _inputs(old) < _inputs(new)


def _closed(kept: StoredResult, status: str, why: str) -> Json:
    resource = {**kept.resource, "status": status}
    said_in = OUTPUTS[kept.kind].why
    if said_in == "statusReason":
        resource[said_in] = {"text": why}
    elif said_in == "note":
        resource[said_in] = [*kept.resource.get("note", []), {"text": why}]
    return rewritten(resource)


def _code_of(resource: Json) -> str:
    codings = (resource.get("code") or {}).get("coding") or [{}]
    return str(codings[0].get("code", ""))


def _when(resource: Json) -> datetime | None:
    return read_instant(str(resource.get("effectiveDateTime", "")))


def _inputs(resource: Json) -> frozenset[str]:
    references = (str(r.get("reference", "")) for r in resource.get("derivedFrom", ()))
    return frozenset(short_name(r) for r in references if r)
