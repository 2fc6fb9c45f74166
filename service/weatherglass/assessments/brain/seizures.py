"""Has the patient had a seizure in the last day, and does it repeat or go on?"""

from collections.abc import Iterator, Sequence
from datetime import datetime

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.ceiling import is_end_of_life
from weatherglass.facts.pregnancy import pregnant_now
from weatherglass.facts.seizures import Seizure
from weatherglass.facts.series.limits_met import Beyond, reaches
from weatherglass.knowledge.brain import seizures as asked
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.signs import heart_and_pressure as pressure
from weatherglass.knowledge.signs import single_signs as signs
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.care import ProcedureKind
from weatherglass.model.record.medicines import Administration, Route
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Consciousness, Letter, Signal
from weatherglass.model.sources import Source
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.words.lists import capital, listed
from weatherglass.model.words.value_words import named_value, plain_answer

#: Of these a seizure that is over and treated has its cause.
_CAUSES = (ConditionKind.EPILEPSY, ConditionKind.ALCOHOL_WITHDRAWAL)


class _Asks(Plain, frozen=True):
    """What a seizure asks for.

    Attributes:
        calls: It calls although it is over.
        is_quiet: It is past.
        wakes: It was treated, and the mind comes back.
        pressure: What makes it one of a pregnancy that nobody has entered.
    """

    words: str
    sources: tuple[Source, ...]
    doses: tuple[Administration, ...] = ()
    calls: bool = False
    is_quiet: bool = False
    wakes: bool = False
    pressure: tuple[Signal, Beyond] | None = None


def assess_seizures(bedside: Bedside) -> Iterator[Finding]:
    """Say that a seizure was recorded in the last day; one that repeats or goes on is an emergency."""
    found = sorted(bedside.seizures, key=lambda one: (one.at, one.origin))
    if not found:
        return
    worst = next((one for one in found if one.goes_on), found[-1])
    if worst.goes_on and not _may_be_eclampsia(bedside) and _is_awake(bedside, worst):
        worst = replace(worst, goes_on=False)
    since = worst.at if worst.goes_on else _first_of_these(bedside, found)
    asks = _asks(bedside, worst)
    is_emergency = (worst.goes_on and not asks.wakes) or asks.calls
    what = "Seizures that repeat or do not stop" if worst.goes_on else "A seizure is recorded"
    what = "Seizures treated, waking up" if asks.wakes else what
    said = f"{what}: {worst.text} ({bedside.clock.full(worst.at)})"
    high = asks.pressure
    if high is not None:
        said = f"{said}, with {named_value(high[0], high[1].newest)}"
    is_past = not is_emergency and len(found) == 1 and _is_past(bedside, found[0])
    yield tell(
        About(Kind.SINGLE_SIGN, "seizure", Letter.DISABILITY),
        _urgency(asks, is_emergency=is_emergency, is_past=is_past),
        rests_on(
            bedside,
            since,
            *found,
            *(one.origin for one in asks.doses),
            *(((high[0], high[1].newest),) if high is not None else ()),
            asked_since=max(since, high[1].since) if high is not None else None,
        ),
        brief=said,
        asks=asks.words,
        at_once=capital(asks.words) if is_emergency else "",
        dated=worst.at,
        waits=asked.SEEN_WITHIN.length if is_past else None,
        sources=(
            signs.SEIZURES_REPEATED if worst.goes_on and not asks.wakes else signs.SEIZURE_OVER,
            signs.SEIZURE_COUNTS_FOR,
            *asks.sources,
            *((asked.SEEN_WITHIN,) if is_past else ()),
        ),
        decided_by="a recorded seizure",
    )


def _urgency(asks: _Asks, *, is_emergency: bool, is_past: bool) -> Urgency:
    if is_emergency:
        return Urgency.EMERGENCY
    if (asks.is_quiet or asks.doses) and not asks.wakes:
        return Urgency.ROUTINE
    return Urgency.PROMPT if is_past else Urgency.URGENT


def _is_past(bedside: Bedside, one: Seizure) -> bool:
    """Tell whether one seizure, no status and none of a withdrawal, was hours ago in who is awake since."""
    withdraws = bedside.record.told_of(ConditionKind.ALCOHOL_WITHDRAWAL, ConditionKind.ALCOHOL_DEPENDENCE)
    is_of_an_adult = not bedside.is_child
    return is_of_an_adult and not one.goes_on and not withdraws and _is_awake(bedside, one)


def _first_of_these(bedside: Bedside, found: Sequence[Seizure]) -> datetime:
    """Return when the first of them was; one of known epilepsy that was treated hours before is past."""
    since = found[-1].at
    for one in reversed(found[:-1]):
        is_long_ago = since - one.at >= asked.AWAKE_FOR.length
        if (
            is_long_ago
            and bedside.record.known_of(ConditionKind.EPILEPSY)
            and any(dose.at < since for dose in _given(bedside, one, asked.STOPS_FITS))
        ):
            break
        since = one.at
    return since


def _asks(bedside: Bedside, worst: Seizure) -> _Asks:
    """Say what is done: for comfort in the last days, for eclampsia, after two doses, or as for anybody."""
    if is_end_of_life(bedside):
        return _Asks(asked.IN_THE_LAST_DAYS.text, (asked.IN_THE_LAST_DAYS.source,))
    if _may_be_eclampsia(bedside):
        doses = _given(bedside, worst, asked.MAGNESIUM)
        if doses and not worst.goes_on and _is_awake(bedside, worst):
            words = f"{_named(bedside, doses[-1:])} given, awake now: {asked.ECLAMPSIA_TREATED.text}"
            return _Asks(words, (asked.ECLAMPSIA_TREATED.source, asked.AWAKE_FOR.source), doses)
        if _pressure_is_low(bedside):
            other = asked.ECLAMPSIA_AT_A_LOW_PRESSURE
            return _Asks(other.text, (other.source, asked.ECLAMPSIA_CALLS), calls=True)
        first = f"{_goes_on(bedside, worst)}; " if worst.goes_on else ""
        treated = asked.ECLAMPSIA_AFTER_BIRTH if _has_given_birth(bedside) else asked.ECLAMPSIA
        if doses or _magnesium_runs(bedside):
            treated = asked.ECLAMPSIA_UNDER_MAGNESIUM  # Nobody is told to give what may be too much already.
        sources = (treated.source, asked.ECLAMPSIA_CALLS)
        return _Asks(f"{first}{treated.text}", sources, calls=True)
    unknown = _of_an_unknown_pregnancy(bedside, worst)
    if unknown is not None or not worst.goes_on:
        return unknown or _over(bedside, worst)
    if waking := _waking(bedside, worst):
        return waking
    doses = _given(bedside, worst, asked.BENZODIAZEPINES)
    if len(doses) < asked.DOSES_BEFORE_SECOND_LINE:
        return _Asks(_goes_on(bedside, worst), (asked.GOES_ON.source,))
    second = _given(bedside, worst, asked.STOPS_FITS - asked.BENZODIAZEPINES)
    next_step = asked.THIRD_LINE if second else asked.SECOND_LINE
    doses = (*doses, *second)
    words = f"{_goes_on(bedside, worst)}; {_named(bedside, doses)} given: {next_step.text}"
    return _Asks(words, (asked.GOES_ON.source, next_step.source), doses)


def _waking(bedside: Bedside, worst: Seizure) -> _Asks | None:
    """Return what is asked where fits were treated, none came after, and who sleeps answers better since."""
    doses = _given(bedside, worst, asked.STOPS_FITS)
    if not doses or any(one.at > doses[-1].at for one in bedside.seizures):
        return None
    since = [one.value for one in bedside.alertness if one.one.end >= worst.at]
    is_newer = bool(since) and bedside.alertness[-1].one.end > doses[-1].at
    if not is_newer or since[-1].is_deep or not any(each.is_deep for each in since):
        return None
    words = f"{_named(bedside, doses[-1:])} given, {plain_answer(since[-1])} now: {asked.WAKING.text}"
    return _Asks(words, (asked.WAKING.source,), doses, wakes=True)


def _may_be_eclampsia(bedside: Bedside) -> bool:
    """Tell whether a fit is eclampsia until shown otherwise: by its name, or of a mother without epilepsy."""
    if bedside.record.told_of(ConditionKind.PREECLAMPSIA):
        return True
    return bedside.is_pregnant_or_recently and not bedside.record.known_of(ConditionKind.EPILEPSY)


def _of_an_unknown_pregnancy(bedside: Bedside, worst: Seizure) -> _Asks | None:
    """Ask for a test where a high pressure may make a fit without a known cause one of a pregnancy."""
    if not bedside.may_be_pregnant or bedside.record.known_of(*_CAUSES) or _is_awake(bedside, worst):
        return None
    high = _pressed(bedside, pressure.PREGNANT_SYSTOLIC, pressure.PREGNANT_DIASTOLIC)
    if high is None:
        return None
    severe = _pressed(bedside, pressure.PREGNANT_SEVERE_SYSTOLIC, pressure.PREGNANT_SEVERE_DIASTOLIC)
    first = f"{_goes_on(bedside, worst)}; " if worst.goes_on else ""
    text = asked.ECLAMPSIA_UNKNOWN
    sources = (text.source, pressure.PREGNANT_SYSTOLIC.source)
    return _Asks(f"{first}{text.text}", sources, calls=severe is not None, pressure=severe or high)


def _pressed(bedside: Bedside, *limits: Cutoff) -> tuple[Signal, Beyond] | None:
    """Return the newest systolic or diastolic pressure of the last day beyond its limit, and since when."""
    signals = Signal.SYSTOLIC_PRESSURE, Signal.DIASTOLIC_PRESSURE
    for signal, cutoff in zip(signals, limits, strict=True):
        found = bedside.newest_beyond(signal, reaches(cutoff), signs.SEIZURE_COUNTS_FOR.length)
        if found is not None:
            return signal, found
    return None


def _magnesium_runs(bedside: Bedside) -> bool:
    return any(one.route is not Route.ORAL for one in bedside.on_chart({MedicineClass.MAGNESIUM}))


def _has_given_birth(bedside: Bedside) -> bool:
    """Tell whether a birth is on record and no pregnancy after it."""
    record = bedside.record
    birth = record.done(ProcedureKind.BIRTH) or record.told_of(ConditionKind.POSTPARTUM)
    return bool(birth) and pregnant_now(record, bedside.as_of) is None


def _is_awake(bedside: Bedside, worst: Seizure) -> bool:
    """Tell whether it was hours ago and every answer since then is alert."""
    awake = [one for one in bedside.alertness if bedside.as_of - one.one.end <= asked.AWAKE_FOR.length]
    return (
        bedside.as_of - worst.at >= asked.AWAKE_FOR.length
        and bool(awake)
        and bedside.altered_mind_within(asked.AWAKE_FOR.length) is None
        and all(one.value is Consciousness.ALERT for one in awake)
    )


def _over(bedside: Bedside, worst: Seizure) -> _Asks:
    """Ask for the cause, unless it is known, treated, and awake for hours."""
    doses = _given(bedside, worst, asked.STOPS_FITS)
    if _is_awake(bedside, worst) and _is_of_a_fever(bedside):
        return _Asks(asked.OF_A_FEVER.text, (asked.OF_A_FEVER.source, asked.AWAKE_FOR.source), is_quiet=True)
    if not (_is_awake(bedside, worst) and doses and bedside.record.known_of(*_CAUSES)):
        over = asked.OVER_GLUCOSE_KNOWN if _glucose_is_known(bedside, worst) else asked.OVER
        return _Asks(over.text, (over.source,))
    last_of_each = tuple({one.medicine.name: one for one in doses}.values())
    return _Asks(f"{_named(bedside, last_of_each)} given, awake now", (asked.AWAKE_FOR.source,), doses)


def _is_of_a_fever(bedside: Bedside) -> bool:
    """Tell whether there was one seizure, of a fever at the age for it, and no infection of the brain."""
    days = bedside.age_in_days
    is_old_enough = days is None or days >= asked.FEVER_FROM.length.days
    is_of_age = is_old_enough and bedside.is_below(asked.FEVER_UNTIL)
    other = bedside.record.told_of(ConditionKind.BACTERIAL_MENINGITIS, ConditionKind.ENCEPHALITIS)
    is_told = bedside.record.told_of(ConditionKind.FEBRILE_SEIZURE)
    return is_of_age and len(bedside.seizures) == 1 and bool(is_told) and not other


def _goes_on(bedside: Bedside, worst: Seizure) -> str:
    known = _glucose_is_known(bedside, worst)
    return (asked.GOES_ON_GLUCOSE_KNOWN if known else asked.GOES_ON).text


def _glucose_is_known(bedside: Bedside, worst: Seizure) -> bool:
    series = bedside.record.series(Signal.GLUCOSE)
    return bool(series.within(worst.at - asked.GIVEN_FROM.length, bedside.as_of))


def _pressure_is_low(bedside: Bedside) -> bool:
    """Tell whether a pressure speaks against eclampsia, where nobody has written pre-eclampsia down."""
    now = bedside.pressure_now
    is_low = now is not None and asked.LOW_PRESSURE.is_met_by(now.reading.value)
    return is_low and not bedside.record.told_of(ConditionKind.PREECLAMPSIA)


def _named(bedside: Bedside, doses: Sequence[Administration]) -> str:
    return listed([f"{one.medicine.name} {bedside.clock.at(one.at)}" for one in doses])


def _given(bedside: Bedside, worst: Seizure, wanted: frozenset[str]) -> tuple[Administration, ...]:
    since = worst.at - asked.GIVEN_FROM.length
    return tuple(
        dose
        for dose in bedside.record.administrations
        if since <= dose.at <= bedside.as_of and not dose.medicine.classes.isdisjoint(wanted)
    )
