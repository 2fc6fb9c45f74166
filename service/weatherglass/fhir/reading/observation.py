"""Observations: a status that counts, a known code, a time; then the values.

The long way, which explains everything it leaves out. `plain_observations` is the short
way for those that need no explaining.
"""

from datetime import datetime

from weatherglass.clinical.references import Origin
from weatherglass.fhir import codes
from weatherglass.fhir.codes import OWN_EARLIER_RESULT
from weatherglass.fhir.issues import IssueKey, Severity
from weatherglass.fhir.r4 import CodeableConcept, Observation
from weatherglass.fhir.reading.codes_shown import shown
from weatherglass.fhir.reading.contained import say_contained
from weatherglass.fhir.reading.intake import Gathered, Intake, Place
from weatherglass.fhir.reading.meaning import has_meaningful_component, meaning_of
from weatherglass.fhir.reading.observed_values import OWN_IDENTIFIER, RANK_OF_STATUS, ObservedValues
from weatherglass.fhir.times import Precision, When


def read_observation(intake: Intake, obs: Observation, place: Place, origin: Origin) -> None:
    """Take in one Observation, or write down why not."""
    if obs.identifier and OWN_IDENTIFIER in bytes(obs.identifier):
        # Written back by an earlier review: reading it would make a score its own input.
        intake.unused_codes.setdefault(OWN_EARLIER_RESULT, []).append(place)
        return
    rank = RANK_OF_STATUS.get(obs.status)
    if rank is None:
        _not_counted(intake, obs.status, place)
        return
    if obs.modifierExtension or obs.implicitRules:
        _modified(intake, place)
        return
    meaning = meaning_of(intake.vocabulary, obs.code)
    if meaning is None and not has_meaningful_component(intake.vocabulary, obs):
        _unknown_code(intake, obs.code, place)
        return
    gathered = intake.gathered_for(obs.subject, place, "subject")
    if gathered is None:
        return
    if obs.focus:
        intake.note(
            Severity.WARNING,
            IssueKey.NOT_THE_PATIENT,
            f"{place.path}.focus",
            "The Observation is about somebody or something else than its subject; not used.",
            gathered.key,
        )
        return
    timed = _time_of(intake, obs, place, gathered)
    if timed is None:
        return
    when, began = timed
    if when.precision is Precision.INSTANT:
        gathered.saw(when)
    else:
        gathered.saw_day(when.at.date())
    reader = ObservedValues(intake, gathered, obs, place, origin, when, began, rank)
    if meaning is not None:
        reader.take(meaning, obs, "")
    for index, component in enumerate(obs.component):
        part = meaning_of(intake.vocabulary, component.code)
        if part is not None:
            reader.take(part, component, f".component[{index}]")
    reader.derive_oxygen()


def _time_of(
    intake: Intake, obs: Observation, place: Place, gathered: Gathered
) -> tuple[When, datetime | None] | None:
    """Return when the value is for, and when its period began if it has one."""
    text = obs.effectiveDateTime or obs.effectiveInstant
    element = "effectiveDateTime"
    began: datetime | None = None
    if text is None and obs.effectivePeriod is not None:
        period = obs.effectivePeriod
        element = "effectivePeriod"
        # A volume or an average belongs to the end of its period.
        text = period.end or period.start
        if period.start and period.end:
            start = intake.when(period.start)
            # A day is no beginning of a period that is counted in hours.
            began = start.at if start is not None and start.precision is Precision.INSTANT else None
    if text is None and obs.effectiveTiming is not None and obs.effectiveTiming.event:
        element = "effectiveTiming"
        text = obs.effectiveTiming.event[0]
    if text is None:
        intake.note(
            Severity.WARNING,
            IssueKey.NO_TIME,
            f"{place.path}.effectiveDateTime",
            "There is no time, so the value was not used; send effectiveDateTime with an offset.",
            gathered.key,
        )
        return None
    when = intake.when(text)
    if when is None or when.precision < Precision.DAY:
        key = IssueKey.BAD_TIME if when is None else IssueKey.PARTIAL_TIME
        intake.note(
            Severity.WARNING,
            key,
            f"{place.path}.{element}",
            "Not a usable time, so the value was not used; send a full dateTime with seconds and offset.",
            gathered.key,
        )
        return None
    return when, began


def _not_counted(intake: Intake, status: str, place: Place) -> None:
    known = status in {"registered", "cancelled", "entered-in-error", "unknown"}
    intake.note(
        Severity.INFORMATION if known else Severity.ERROR,
        IssueKey.NOT_FINAL if known else IssueKey.WRONG_TYPE,
        f"{place.path}.status",
        "A value with this status is not used." if known else "Not a status of an Observation; not used.",
    )


def _modified(intake: Intake, place: Place) -> None:
    intake.note(
        Severity.WARNING,
        IssueKey.MODIFIER,
        place.path,
        "A modifier extension or implicit rules may change the meaning; not used.",
    )


def _unknown_code(intake: Intake, code: CodeableConcept, place: Place) -> None:
    say_contained(intake, place)
    sent = [c.code for c in code.coding if c.code]
    # One that can be shown, whatever the order they came in.
    named = min(
        sent, key=lambda each: (each not in codes.LOOKALIKES, not shown(each), each), default="text only"
    )
    if named in codes.LOOKALIKES:
        intake.note(
            Severity.WARNING,
            IssueKey.CODE_NOT_USED,
            f"{place.path}.code",
            f"{codes.LOOKALIKES[named]}; not used.",
        )
        return
    intake.unused_codes.setdefault(named, []).append(place)
