"""Deaths and cardiac arrests as a patient's lines tell them."""

from collections.abc import Iterable
from datetime import datetime, time, timedelta

import msgspec
from msgspec import Struct

from weatherglass.evaluation.trace import Outcome
from weatherglass.fhir.datatypes import CodeableConcept, Coding, Period
from weatherglass.fhir.decoding import UNREADABLE
from weatherglass.fhir.times import Precision, When, read_when

DEATH = "death"
#: Discharge disposition "expired" (FHIR R4 value set encounter-discharge-disposition).
_EXPIRED = "exp"
CARDIAC_ARREST = "cardiac arrest"
#: Cardiopulmonary resuscitation: SNOMED CT 89666000; ICD-10-PCS 5A12012 (cardiac output, single, manual).
_RESUSCITATION = frozenset({"89666000", "5A12012"})
#: Procedures that were done or are being done (FHIR R4 value set event-status).
_DONE = frozenset({"in-progress", "stopped", "completed"})
#: Test data say so (v3-ActReason, code HTEST).
_TEST = "HTEST"


class _Hospitalization(Struct):
    dischargeDisposition: CodeableConcept | None = None


class _Meta(Struct):
    security: tuple[Coding, ...] = ()
    tag: tuple[Coding, ...] = ()


class _Resource(Struct):
    resourceType: str
    status: str = ""
    code: CodeableConcept | None = None
    performedDateTime: str | None = None
    performedPeriod: Period | None = None
    deceasedDateTime: str | None = None
    hospitalization: _Hospitalization | None = None
    period: Period | None = None
    meta: _Meta | None = None


_READ = msgspec.json.Decoder(_Resource)
_WANTED = (
    b'"deceasedDateTime"',
    b'"dischargeDisposition"',
    b'"HTEST"',
    *(f'"{code}"'.encode() for code in sorted(_RESUSCITATION)),
)


class Ending(Struct):
    """What a patient's lines say of death and arrest, and whether they are test data."""

    death: Outcome | None = None
    arrests: list[Outcome] = []
    is_test_data: bool = False


def ending_of(lines: Iterable[bytes]) -> Ending:
    """Look for a death and for resuscitations in a patient's lines.

    A time of death beats a day; of a day, the end of a hospital stay of that day is
    taken, otherwise the end of the day. A resuscitation counts where it began; of a day
    alone, at its end.

    Args:
        lines: The patient's resources as they were sent.
    """
    found = Ending()
    said: When | None = None
    left: list[datetime] = []
    for line in lines:
        if not any(word in line for word in _WANTED):
            continue
        try:
            resource = _READ.decode(line)
        except UNREADABLE:
            continue  # The reading says what is wrong with it.
        if resource.meta is not None:
            found.is_test_data |= any(c.code == _TEST for c in (*resource.meta.security, *resource.meta.tag))
        if resource.resourceType == "Patient" and resource.deceasedDateTime:
            said = read_when(resource.deceasedDateTime)
        elif resource.resourceType == "Encounter" and _died_there(resource):
            when = read_when(resource.period.end or "") if resource.period is not None else None
            if when is not None and when.is_instant:
                left.append(when.at)
        elif resource.resourceType == "Procedure" and (arrest := _arrest(resource)) is not None:
            found.arrests.append(arrest)
    found.death = _death(said, left)
    return found


def _died_there(resource: _Resource) -> bool:
    stay = resource.hospitalization
    concept = stay.dischargeDisposition if stay is not None else None
    return concept is not None and any(coding.code == _EXPIRED for coding in concept.coding)


def _arrest(resource: _Resource) -> Outcome | None:
    codes = resource.code.coding if resource.code is not None else ()
    if resource.status not in _DONE or not any(coding.code in _RESUSCITATION for coding in codes):
        return None
    period = resource.performedPeriod
    said = resource.performedDateTime or (period.start if period is not None else None)
    when = read_when(said or "")
    if when is None:
        return None
    return _outcome(when, CARDIAC_ARREST)


def _outcome(when: When, kind: str) -> Outcome | None:
    """Place an outcome: at its moment, or at the end of its day; a month is no time."""
    if when.is_instant:
        return Outcome(when.at, kind)
    if when.precision is not Precision.DAY:
        return None
    end = datetime.combine(when.at.date(), time(0), when.at.tzinfo) + timedelta(days=1)
    return Outcome(end, kind, day_only=True)


def _death(said: When | None, left: list[datetime]) -> Outcome | None:
    if left and (said is None or not said.is_instant):
        return Outcome(max(left), DEATH)
    return _outcome(said, DEATH) if said is not None else None
