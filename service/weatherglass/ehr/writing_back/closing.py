"""Which of our earlier results no longer hold, and what they are changed to.

A problem, a task or a call that a newer whole review does not repeat is closed, if its
status is still the one that we wrote: what somebody has taken up is theirs. A score
stays as the history that it is, unless its inputs were withdrawn or it was worked out
again from more of the same round.
"""

from collections.abc import Iterator
from datetime import datetime
from typing import NamedTuple

from weatherglass.ehr.writing_back.results import SUMMARY, PatientResults
from weatherglass.ehr.writing_back.stored import StoredResult, StoredResults
from weatherglass.ehr.writing_back.tags import rewritten
from weatherglass.fhir.reading.people.addresses import short_name
from weatherglass.fhir.times import read_instant
from weatherglass.fhir.writing.frame.outputs import OUTPUTS
from weatherglass.fhir.writing.frame.terms import Json

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
