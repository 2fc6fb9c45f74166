"""Which single signs of a table are there now, and since when did each hold?

Used in pregnancy and under 16, where risk is graded by single signs. Every sign is read
from its own newest value of a day, so that a round with one value hides nothing.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from enum import Enum
from typing import Final

from weatherglass.facts.breathing.oxygen_course import OxygenPoint, is_much
from weatherglass.facts.infection.infection import SuspectedInfection, raises
from weatherglass.facts.infection.risk_course import Spell, spells_of
from weatherglass.facts.infection.stratum import kidney_spells, named_infections, named_spells
from weatherglass.facts.infection.tense import told, told_plainly, told_value
from weatherglass.facts.kidneys.urine import rate_words
from weatherglass.facts.patient.illness import Illness
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.facts.rounds.timeline import is_on_oxygen
from weatherglass.facts.series.runs import began_without_gap, first_of_run
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.sepsis import maternal_sepsis as maternal
from weatherglass.knowledge.sepsis import paediatric_sepsis as paediatric
from weatherglass.knowledge.sepsis import sepsis_strata as sepsis
from weatherglass.knowledge.sepsis.sepsis_strata import NAMED_RAISES_RISK
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.findings import Measure
from weatherglass.model.numbers.quantities import Unit, plain
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.care import ProcedureKind
from weatherglass.model.record.medicines import Route
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import CodedSignal, OxygenDelivery, Signal, label_of
from weatherglass.model.sources import Origin, Source
from weatherglass.model.tables.risk_tables import Risk, RiskAnswer, RiskSign, Where
from weatherglass.model.words.value_words import plain_answer

_DAY: Final = timedelta(hours=24)
_MOST_URINE: Final = 48


#: How a coded answer is led in where its own label does not read well.
_NAMES: Final = {
    CodedSignal.CONSCIOUSNESS: "alertness",
    CodedSignal.RESPIRATORY_EFFORT: "effort of breathing",
}


_SHOWN: Final = {"voice": "responds to voice", "pain": "responds to pain"}


class Sign(Plain, frozen=True):
    """One sign that is there now.

    Attributes:
        plain: An answer without brackets, as the head of a sentence has it; empty of anything else.
        since: Since when every reading has been of as high a risk, where that was worked out.
    """

    risk: Risk
    words: str
    source: Source
    at: datetime
    origin: Origin | None = None
    measure: Measure | None = None
    raises: bool = False
    is_history: bool = False
    is_kidneys: bool = False
    plain: str = ""
    since: datetime | None = None

    def is_of(self, signal: Signal | CodedSignal) -> bool:
        """Tell whether it was seen by this signal."""
        return self.measure is not None and self.measure.key == signal.value


class Signs(Plain, frozen=True):
    """Every sign that is there now, the worst first, and when each held."""

    now: tuple[Sign, ...]
    spells: tuple[Spell, ...]


def is_only_asked(infection: SuspectedInfection | None, signs: Signs) -> bool:
    """Tell whether only an antibacterial says infection, and only kidneys and history a risk."""
    if infection is None or not infection.by_orders_alone:
        return False
    has_kidneys = any(one.is_kidneys for one in signs.now)
    return has_kidneys and all(one.is_kidneys or one.is_history for one in signs.now)


class _Series(Plain, frozen=True):
    """One sign over time: when it was seen, how high its risk was, and what is said of the newest."""

    seen: Sequence[tuple[datetime, Risk]]
    newest: Sign | None


def risk_signs(patient: Illness) -> Signs:
    """Return the signs of the table that is for this person."""
    series = [one for one in _all(patient) if one.seen]
    spells = [
        spell
        for one in series
        for spell in spells_of(one.seen, raises=one.newest is not None and one.newest.raises)
    ]
    now = [
        replace(one.newest, since=_began(one.seen, one.newest.risk))
        for one in series
        if one.newest is not None and patient.as_of - one.newest.at <= _DAY
    ]
    if patient.is_pregnant_or_recently:
        history = list(_history(patient))
        now += history
        spells += [Spell(one.at, None, one.risk) for one in history]
    kidneys = kidney_spells(patient, Risk.MODERATE, raises_moderate=True)
    if kidneys:
        stage = f"acute kidney injury stage {patient.aki_now.stage}"
        at = max(spell.at for spell in kidneys)
        source = maternal.LACTATE_AND_KIDNEYS.source
        now.append(Sign(Risk.MODERATE, stage, source, at, raises=True, is_kidneys=True))
        spells += kidneys
    named = [
        Sign(Risk.HIGH, f"{one.text} on record", NAMED_RAISES_RISK.source, one.at)
        for one in named_infections(patient)
        if one.at
    ]
    spells += named_spells(patient)
    now = [*named, *sorted(now, key=lambda one: -one.risk)]  # What it is comes before what it shows.
    return Signs(tuple(now), tuple(spell for spell in spells if spell.risk > Risk.LOW))


def _began(seen: Sequence[tuple[datetime, Risk]], risk: Risk) -> datetime | None:
    """Return since when every reading up to the newest has been of this risk or a higher one."""
    first = first_of_run(seen, lambda one: one[1] >= risk)
    return first[0] if first is not None else None


def _all(patient: Illness) -> Iterator[_Series]:
    is_maternal = patient.is_pregnant_or_recently
    months = None if is_maternal else patient.age_in_months
    rows = maternal.SIGNS if is_maternal else (*paediatric.RATES, *paediatric.SIGNS)
    for signal in dict.fromkeys(row.signal for row in rows):
        mine = [row for row in rows if row.signal is signal and row.is_for(months)]
        if mine:
            yield _numbers(patient, signal, mine)
    for answer in maternal.ANSWERS if is_maternal else paediatric.ANSWERS:
        if answer.is_for(months):
            yield _answers(patient, answer)
    yield _oxygen(patient, months)
    yield _urine(patient, maternal.URINE if is_maternal else paediatric.URINE, months)
    yield _lactate(patient)
    if is_maternal:
        yield _pressure_fall(patient)


# Numbers


def _numbers(patient: Illness, signal: Signal, rows: Sequence[RiskSign]) -> _Series:
    on_oxygen = (
        _on_oxygen(patient) if any(row.where is Where.UNLESS_ON_OXYGEN for row in rows) else frozenset()
    )
    floor = _own_floor(patient, signal)
    seen: list[tuple[datetime, Risk]] = []
    newest: Sign | None = None
    if signal is Signal.TEMPERATURE and patient.is_cooled_on_purpose:
        rows = [row for row in rows if row.cutoff.compare.is_upward]
    for one in patient.record.series(signal).items:
        if not one.is_exact:
            continue
        if floor is not None and one.value >= floor:
            # Inside the range that is recorded for this patient.
            seen.append((one.at, Risk.VERY_LOW))
            newest = None
            continue
        row = _worst(one, rows, is_on_oxygen=one.origin in on_oxygen)
        seen.append((one.at, row.risk if row is not None else Risk.VERY_LOW))
        newest = _sign_of(patient, signal, one, row) if row is not None else None
    return _Series(seen, newest)


def _own_floor(patient: Illness, signal: Signal) -> Decimal | None:
    """Return the lowest that is the person's own: the saturation aimed at, a child's usual pressure."""
    if signal is Signal.SPO2:
        return patient.saturation_floor
    usual = patient.usual.get(signal) if signal is Signal.SYSTOLIC_PRESSURE else None
    return usual.low if usual is not None and patient.pressure_of_a_child_is_usual else None


def _worst(one: Measurement, rows: Iterable[RiskSign], *, is_on_oxygen: bool) -> RiskSign | None:
    met = [
        row
        for row in rows
        if row.cutoff.is_met_by(one.value) and not (is_on_oxygen and row.where is Where.UNLESS_ON_OXYGEN)
    ]
    return max(met, key=lambda row: row.risk, default=None)


def _sign_of(patient: Illness, signal: Signal, one: Measurement, row: RiskSign) -> Sign:
    words = told_value(patient, signal, one)
    return Sign(row.risk, words, row.source, one.at, one.origin, measure_of(signal, one))


def _on_oxygen(patient: Illness) -> frozenset[Origin]:
    """Return the saturations that were measured on oxygen."""
    found = set()
    for one in patient.sets:
        spo2 = one.number(Signal.SPO2)
        if spo2 is not None and is_on_oxygen(one):
            found.add(spo2.origin)
    return frozenset(found)


# Answers


def _answers(patient: Illness, row: RiskAnswer) -> _Series:
    found = _alertness(patient) if row.signal is CodedSignal.CONSCIOUSNESS else _coded(patient, row.signal)
    seen: list[tuple[datetime, Risk]] = []
    newest: Sign | None = None
    for value, at, origin in found:
        is_met = value in row.answers
        seen.append((at, row.risk if is_met else Risk.VERY_LOW))
        newest = None
        if is_met:
            shown = plain_answer(value.value)
            name = label_of(row.signal)
            measure = Measure(row.signal.value, name, shown, at=at, origin=origin)
            said = patient, _NAMES.get(row.signal, name), _SHOWN.get(shown, shown), at
            words, plain_words = told(*said, is_answer=True), told_plainly(*said)
            newest = Sign(row.risk, words, row.source, at, origin, measure, plain=plain_words)
    return _Series(seen, newest)


def _coded(patient: Illness, signal: CodedSignal) -> Iterator[tuple[Enum, datetime, Origin]]:
    for one in patient.record.coded(signal).items:
        yield one.value, one.at, one.origin


def _alertness(patient: Illness) -> Iterator[tuple[Enum, datetime, Origin]]:
    for one in patient.alertness:
        yield one.value, one.one.end, one.answer.origins[0]


# Oxygen, urine, lactate, pressure


def _oxygen(patient: Illness, months: int | None) -> _Series:
    """Grade what is breathed: under 12 any oxygen, else 40 % or a reservoir mask and more."""
    is_young = months is not None and months < paediatric.OXYGEN_BELOW_MONTHS
    source = paediatric.OXYGEN.source if is_young else maternal.OXYGEN.source
    seen: list[tuple[datetime, Risk]] = []
    newest: Sign | None = None
    for point in patient.oxygen_course:
        is_met = point.is_oxygen and (is_much(point) or (is_young and not _is_usual(patient, point)))
        seen.append((point.at, Risk.HIGH if is_met else Risk.VERY_LOW))
        newest = None
        if is_met:
            measure = Measure(
                "oxygen-delivery", "air or oxygen", point.words, at=point.at, origin=point.origins[0]
            )
            how = "" if point.device is OxygenDelivery.OXYGEN else "by "
            given = f"{how}{point.words}".removeprefix("oxygen, ")
            words = told(patient, "oxygen", "given" if given == "oxygen" else given, point.at)
            newest = Sign(Risk.HIGH, words, source, point.at, point.origins[0], measure)
    return _Series(seen, newest)


_WORDS = word_patterns("record-patterns.toml")
_FLOW = _WORDS["oxygen-at-home"]


def _is_usual(patient: Illness, point: OxygenPoint) -> bool:
    """Tell whether what is breathed is no more than what the record says is breathed at home."""
    at_home = patient.record.known_of(ConditionKind.HOME_OXYGEN)
    if not at_home or point.flow is None:
        return False
    written = [Decimal(found[1]) for one in at_home for found in _FLOW.finditer(one.text.casefold())]
    return point.flow <= max(written) if written else paediatric.USUAL_FLOW.is_met_by(point.flow)


def _urine(patient: Illness, rows: Sequence[RiskSign], months: int | None) -> _Series:
    """Grade the urine of the longest of 12 down to 6 hours before each of the newest entries."""
    chart, weight = patient.kidneys.urine, patient.kidneys.weight
    mine = [row for row in rows if row.is_for(months)]
    if weight is None or not mine:
        return _Series((), None)
    seen: list[tuple[datetime, Risk]] = []
    newest: Sign | None = None
    for end in chart.ends[-_MOST_URINE:]:
        windows = (chart.over(end, timedelta(hours=hours)) for hours in (12, 6))
        passed = next((one for one in windows if one.is_covered), None)
        if passed is None:
            continue
        rate = passed.per_kilogram(weight.value)
        row = next((row for row in mine if row.cutoff.is_met_by(rate)), None)
        seen.append((end, row.risk if row is not None else Risk.VERY_LOW))
        newest = None
        if row is not None:
            measure = Measure(
                "urine-rate", "urine output", rate, Unit.MILLILITRE_PER_KILOGRAM_HOUR, end, passed.origins[-1]
            )
            words = told(patient, "urine", rate_words(rate), end)
            newest = Sign(row.risk, words, row.source, end, passed.origins[-1], measure)
    return _Series(seen, newest)


def _lactate(patient: Illness) -> _Series:
    """Grade lactate: above 2 raises moderate risk, above 4 is high."""
    seen: list[tuple[datetime, Risk]] = []
    newest: Sign | None = None
    for one in patient.record.series(Signal.LACTATE).items:
        is_high = one.is_exact and maternal.VERY_HIGH_LACTATE.is_met_by(one.value)
        risk = Risk.HIGH if is_high else Risk.MODERATE if raises(one) else Risk.VERY_LOW
        seen.append((one.at, risk))
        newest = None
        if risk is not Risk.VERY_LOW:
            source = maternal.VERY_HIGH_LACTATE.source if is_high else sepsis.LACTATE_RAISES_RISK.source
            words = told_value(patient, Signal.LACTATE, one)
            measure = measure_of(Signal.LACTATE, one)
            newest = Sign(risk, words, source, one.at, one.origin, measure, raises=not is_high)
    return _Series(seen, newest)


def _pressure_fall(patient: Illness) -> _Series:
    seen = [(s.reading.at, Risk.HIGH if s.is_fall else Risk.VERY_LOW) for s in patient.pressure]
    last = patient.pressure[-1] if patient.pressure else None
    if last is None or not last.is_fall or last.usual is None:
        return _Series(seen, None)
    words = f"systolic pressure {plain(last.usual - last.reading.value)} mmHg below the usual"
    return _Series(
        seen, Sign(Risk.HIGH, words, maternal.PRESSURE_FALL.source, last.reading.at, last.reading.origin)
    )


# History, in pregnancy


def _history(patient: Illness) -> Iterator[Sign]:
    """Yield what the history adds: an operation of six weeks, impaired immunity."""
    window, source = maternal.HISTORY_WINDOW, maternal.HISTORY.source
    for one in patient.record.done(ProcedureKind.SURGERY)[-1:]:
        if patient.as_of - one.at <= window.length:
            words = f"{one.text} on {patient.clock.day(one.at)}"
            yield Sign(Risk.MODERATE, words, source, one.at, one.origin, is_history=True)
    kinds = (ConditionKind.TRANSPLANT, ConditionKind.NEUTROPENIA, ConditionKind.CHEMOTHERAPY)
    for known in patient.record.told_of(*kinds)[:1]:
        at = known.at or patient.as_of - window.length
        yield Sign(Risk.MODERATE, known.text, source, at, known.origin, is_history=True)
    suspected = patient.infection.since if patient.infection is not None else None
    for order in patient.on_chart({MedicineClass.GLUCOCORTICOID}):
        treats_it = suspected is not None and order.began is not None and order.began >= suspected
        if order.route is Route.ORAL and not treats_it:
            at = order.began or patient.as_of - window.length
            yield Sign(
                Risk.MODERATE, f"{order.medicine.text} by mouth", source, at, order.origin, is_history=True
            )
            return


def abnormal_temperature(patient: Illness) -> Measurement | None:
    """Return the newest temperature of a day, where it asks about infection."""
    newest = patient.record.series(Signal.TEMPERATURE).recent(patient.as_of, _DAY)
    if newest is None or not newest.is_exact:
        return None
    is_cold = sepsis.COLD.is_met_by(newest.value) and not patient.is_cooled_on_purpose
    is_met = sepsis.FEVER.is_met_by(newest.value) or is_cold
    return newest if is_met else None


def abnormal_since(patient: Illness, newest: Measurement) -> datetime:
    """Return when the run of abnormal temperatures began that no gap of more than a day interrupts."""
    items = reversed(patient.record.series(Signal.TEMPERATURE).items)
    abnormal = (
        one.at for one in items if sepsis.FEVER.is_met_by(one.value) or sepsis.COLD.is_met_by(one.value)
    )
    return began_without_gap(newest.at, abnormal, _DAY)


def not_recorded(patient: Illness) -> list[str]:
    """Name the vital signs of the tables that nobody recorded in a day."""
    earliest = patient.as_of - _DAY
    signals = (Signal.RESPIRATION_RATE, Signal.PULSE, Signal.SPO2, Signal.TEMPERATURE)
    gaps = [
        label_of(one) for one in signals if not patient.record.series(one).within(earliest, patient.as_of)
    ]
    awake = any(at >= earliest for _, at, _ in _alertness(patient))
    return gaps if awake else [*gaps, "alertness"]
