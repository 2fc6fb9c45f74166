"""Observations: a status that counts, a known code, a time; then the values.

There is no other way in, so no Observation is read twice with two results. What is left out
is explained. Most Observations need no explaining; what they cost is a few look-ups.
"""

from datetime import UTC, datetime

import msgspec

from weatherglass.fhir.datatypes import CodeableConcept
from weatherglass.fhir.issues import IssueKey, Severity
from weatherglass.fhir.r4 import Component, Observation
from weatherglass.fhir.reading.collector import Collector, Unread
from weatherglass.fhir.reading.entries.gate import has_modifier, is_modified
from weatherglass.fhir.reading.observations.code_mapping import has_meaningful_component, meaning_of
from weatherglass.fhir.reading.observations.codes_shown import shown
from weatherglass.fhir.reading.observations.observed_values import (
    OWN_IDENTIFIER,
    RANK_OF_STATUS,
    ObservedValues,
)
from weatherglass.fhir.reading.observations.of_the_baby import is_named_so, is_of_the_baby
from weatherglass.fhir.reading.observations.positive import is_positive, problem_of, test_of
from weatherglass.fhir.reading.observations.seen import sign_seen
from weatherglass.fhir.reading.observations.sent_values import (
    has_a_value,
    name_of,
    sent_value,
    shown_value,
    words_of,
)
from weatherglass.fhir.reading.observations.worded.observed_words import device_of
from weatherglass.fhir.reading.observations.worded.worded_signs import by_its_words
from weatherglass.fhir.reading.patient_data import PatientData, SentEntry
from weatherglass.fhir.reading.plans.decision import read_decision
from weatherglass.fhir.times import Precision, When, read_instant
from weatherglass.knowledge.limits.positive_tests import PositiveTest
from weatherglass.model.record.values import SentValue, Undated
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin
from weatherglass.model.words.lists import inside_a_sentence
from weatherglass.terminology import observations as codes
from weatherglass.terminology.observations import (
    OWN_EARLIER_RESULT,
    Coded,
    Contested,
    Decision,
    Meaning,
    Numeric,
)


def read_observation(collector: Collector, obs: Observation, entry: SentEntry, origin: Origin) -> None:
    """Take in one Observation, or write down why not."""
    if obs.identifier and OWN_IDENTIFIER in bytes(obs.identifier):
        # Written back by an earlier review: reading it would make a score its own input.
        collector.unused_codes.setdefault(Unread(OWN_EARLIER_RESULT), []).append(f"{entry.path}.code")
        return
    obs = _of_whom_it_is(collector, obs, entry)
    rank = RANK_OF_STATUS.get(obs.status)
    if rank is None:
        _not_counted(collector, obs, entry, origin)
        return
    if has_modifier(obs) and is_modified(collector, obs, entry.path):
        _keep_as_sent(collector, obs, entry, origin)
        return
    obs, meaning = _understood(collector, obs)
    if meaning is None and not has_meaningful_component(collector.vocabulary, obs):
        _not_read(collector, obs, entry, origin)
        return
    data = collector.data_for(obs.subject, entry, "subject")
    if data is None:
        return
    if obs.focus:
        collector.say("not-about-the-subject", f"{entry.path}.focus", data.key)
        return
    timed = _time_of(collector, obs, entry, data, origin)
    if timed is None:
        if type(meaning) is Decision:
            read_decision(collector, data, obs, None, origin, entry)
        return
    when, began = timed
    says_whose = obs.note or obs.code.text
    if says_whose and not _is_of_the_unborn(meaning) and is_of_the_baby(obs, data.patient, when):
        _not_hers(collector, obs, entry, origin, data, when, meaning)
        return
    data.saw(when)
    reader = ObservedValues(collector, data, obs, entry, origin, when, began, rank)
    if meaning is not None:
        reader.take(meaning, obs, "")
    elif has_a_value(obs):
        _count_unread(collector, obs.code, f"{entry.path}.code")
        reader.say_unread(obs)
    elif obs.interpretation:
        # A heading of no known code may still have been flagged as a whole.
        reader.say_unread(obs)
    if obs.component:
        _take_components(collector, obs, entry, reader)
    if obs.note:
        reader.say_note(meaning)


def _of_whom_it_is(collector: Collector, obs: Observation, entry: SentEntry) -> Observation:
    """Return an Observation under the one patient it is about, where a Patient of that reference was sent.

    A baby's value in its mother's record is the baby's; of anybody else nobody knows whose it is.
    """
    if len(obs.focus) != 1 or collector.sent_patient(obs.focus[0], entry) is None:
        return obs
    return msgspec.structs.replace(obs, subject=obs.focus[0], focus=())


def _is_of_the_unborn(meaning: Meaning | Contested | None) -> bool:
    """Tell whether it is a baby's by its code, and the mother's record its place."""
    return isinstance(meaning, Numeric) and meaning.signal is Signal.FETAL_HEART


def _not_hers(
    collector: Collector,
    obs: Observation,
    entry: SentEntry,
    origin: Origin,
    data: PatientData,
    when: When,
    meaning: Meaning | Contested | None,
) -> None:
    """Keep a baby's value as it was sent, by its name: nobody judges it here."""
    signal = meaning.signal if isinstance(meaning, Numeric | Coded) else None
    parts: list[Observation | Component] = [obs, *obs.component]
    shown = ", ".join(filter(None, map(shown_value, parts)))
    name = name_of(obs.code, signal)
    if not is_named_so(name):
        name = f"The baby's {inside_a_sentence(name)}"
    data.keep_sent(SentValue(name=name, shown=shown, at=when.at, origin=origin))
    collector.say("note-of-the-baby", f"{entry.path}.note", data.key)


def _take_components(
    collector: Collector, obs: Observation, entry: SentEntry, reader: ObservedValues
) -> None:
    for index, component in enumerate(obs.component):
        part = meaning_of(collector.vocabulary, component.code)
        if part is not None:
            reader.take(part, component, f".component[{index}]")
        elif has_a_value(component) and device_of(component) is None:
            _count_unread(collector, component.code, f"{entry.path}.component[{index}].code")
            reader.say_unread(component)
    reader.derive_oxygen()


def _understood(collector: Collector, obs: Observation) -> tuple[Observation, Meaning | Contested | None]:
    """Return an Observation with what its code means; one without a meaning may say it in words."""
    meaning = meaning_of(collector.vocabulary, obs.code)
    if meaning is not None:
        return obs, meaning
    worded = by_its_words(obs)
    return worded, meaning_of(collector.vocabulary, worded.code)


def _time_of(
    collector: Collector, obs: Observation, entry: SentEntry, data: PatientData, origin: Origin
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
            # A day is no beginning of a period that is counted in hours.
            began = read_instant(period.start)
    if text is None and obs.effectiveTiming is not None and obs.effectiveTiming.event:
        element = "effectiveTiming"
        text = obs.effectiveTiming.event[0]
    if text is None:
        collector.say("value-without-time", f"{entry.path}.effectiveDateTime", data.key)
        # When it was made known is no time to score it by, and enough to say that it was sent.
        _keep_as_sent(collector, obs, entry, origin)
        return None
    when = collector.when(text)
    if when is None or not when.has_day:
        issue = "time-not-read" if when is None else "time-without-a-day"
        collector.say(issue, f"{entry.path}.{element}", data.key)
        _keep_as_sent(collector, obs, entry, origin)
        return None
    return when, began


def _not_counted(collector: Collector, obs: Observation, entry: SentEntry, origin: Origin) -> None:
    known = obs.status in {"registered", "cancelled", "entered-in-error", "unknown"}
    # A value that may well be true is missed; one that was taken back is not.
    parts: list[Observation | Component] = [obs, *obs.component]
    missed = obs.status not in {"cancelled", "entered-in-error"} and any(map(has_a_value, parts))
    of_known = "status-not-counted-value" if missed else "status-not-counted"
    collector.say(of_known if known else "not-a-status", f"{entry.path}.status")
    if missed:
        _keep_as_sent(collector, obs, entry, origin)


def _not_read(collector: Collector, obs: Observation, entry: SentEntry, origin: Origin) -> None:
    """Count an Observation that no code of ours reads, and keep its values as they were sent.

    A test whose answer is a problem of that hour, or plainly none, is read as that.
    """
    test = test_of(obs)
    if test is not None and _is_taken_as_a_problem(collector, obs, entry, origin, test):
        return
    if _is_seen(collector, obs, entry, origin):
        return
    named = _count_unread(collector, obs.code, f"{entry.path}.code")
    if named not in codes.ON_EXERTION:
        _keep_as_sent(collector, obs, entry, origin)


def _is_taken_as_a_problem(
    collector: Collector, obs: Observation, entry: SentEntry, origin: Origin, test: PositiveTest
) -> bool:
    """Take a positive test as a problem; tell whether its answer and its time say plainly which it is."""
    positive = is_positive(test, obs)
    text = obs.effectiveDateTime or obs.effectiveInstant or obs.issued
    when = collector.dated(text)
    data = collector.whose(obs.subject, entry)
    if data is None or when is None or obs.focus:
        return False
    data.saw(when)
    if positive is None:
        shown = shown_value(obs)
        if shown:
            data.keep_sent(SentValue(name=name_of(obs.code), shown=shown, at=when.at, origin=origin))
        return False
    if positive:
        data.conditions.append(problem_of(test, obs, when.begins, origin))
    return True


def _is_seen(collector: Collector, obs: Observation, entry: SentEntry, origin: Origin) -> bool:
    """Take a sign that was affirmed as the problem that it is; tell whether it is one of a known day."""
    text = obs.effectiveDateTime or obs.effectiveInstant or obs.issued
    when = collector.when(text) if text else None
    if when is None or when.precision < Precision.DAY or obs.focus:
        return False
    at = when.at if when.precision is Precision.INSTANT else when.at.replace(hour=0)
    seen = sign_seen(obs, at, origin)
    data = collector.whose(obs.subject, entry) if seen is not None else None
    if seen is None or data is None:
        return False
    data.saw(when)
    data.conditions.append(seen)
    return True


def _keep_as_sent(collector: Collector, obs: Observation, entry: SentEntry, origin: Origin) -> None:
    """Keep the values of an Observation that is not used, as they were sent, with or without a day."""
    text = obs.effectiveDateTime or obs.effectiveInstant
    if text is None and obs.effectivePeriod is not None:
        text = obs.effectivePeriod.end or obs.effectivePeriod.start
    bounds = obs.effectiveTiming.repeat if text is None and obs.effectiveTiming is not None else None
    if bounds is not None and bounds.boundsPeriod is not None:
        text = bounds.boundsPeriod.end or bounds.boundsPeriod.start
    when = collector.when(text) if text else None
    if when is None and obs.issued:
        when = collector.when(obs.issued)
    if obs.focus:
        return
    holders: list[Observation | Component] = [obs, *obs.component]
    said = (_sent(collector, obs, holder, when or _AT_NO_TIME, origin) for holder in holders)
    kept = [value for value in said if value is not None]
    data = collector.whose(obs.subject, entry) if kept else None
    if data is None:
        return
    if when is None or not when.has_day:
        earliest = when.at if when is not None else None
        latest = when.ends if when is not None else None
        for value in kept:
            if value.is_known:
                data.keep_undated(Undated(value, earliest, latest))
        return
    data.saw(when)
    for value in kept:
        data.keep_sent(value)


#: Stands where no time can be read; never said, and nothing is counted from it.
_AT_NO_TIME = When(datetime.min.replace(tzinfo=UTC), Precision.YEAR, UTC)


def _sent(
    collector: Collector, obs: Observation, holder: Observation | Component, when: When, origin: Origin
) -> SentValue | None:
    meaning = meaning_of(collector.vocabulary, holder.code)
    if isinstance(meaning, Contested):
        meaning = meaning.chosen
    if isinstance(meaning, Numeric | Coded):
        return sent_value(obs, holder, when, origin, meaning.signal)
    return sent_value(obs, holder, when, origin, suspected=collector.sign_named_in(words_of(holder.code)))


def _count_unread(collector: Collector, code: CodeableConcept, path: str) -> str:
    """Count a code that is not read, and return how it is named."""
    sent = [c.code for c in code.coding if c.code]
    # One that can be shown, whatever the order they came in.
    named = min(sent, key=lambda each: (each not in codes.LOOKALIKES, not shown(each), each), default="")
    if named in codes.LOOKALIKES:
        collector.note(
            Severity.WARNING, IssueKey.CODE_NOT_USED, path, f"{codes.LOOKALIKES[named]}; not used."
        )
    else:
        unread = Unread(shown(named), collector.sign_named_in(words_of(code)))
        collector.unused_codes.setdefault(unread, []).append(path)
    return named
