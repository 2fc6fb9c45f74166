"""Organ failure: points of each organ over a day, open where an input is missing, and the own baseline."""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Final

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.breathing.gas_samples import mmhg
from weatherglass.facts.breathing.oxygen_course import breathed_at
from weatherglass.facts.results.open_points import OpenTotal, Points, unknown_points
from weatherglass.facts.rounds.measures import answer_words
from weatherglass.knowledge.breathing import blood_gas as gas
from weatherglass.knowledge.scores.points import organ_failure as table
from weatherglass.knowledge.scores.points.organ_failure import Organ
from weatherglass.knowledge.scores.points.point_rows import PointRow
from weatherglass.model.numbers.quantities import plain, round_half_up
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.medicines import PERHAPS_A_VEIN
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Consciousness, OxygenDelivery, Sample, Signal
from weatherglass.model.sources import Origin

#: Of a brain that nothing but its alertness tells about: what is shown, and what is missing.
NO_COMA_SCALE: Final = "coma scale"
_HOUR = timedelta(hours=1)
#: So many newest values of an organ say what it is like now: one alone may be a good moment.
_NEWEST: Final = 2
_VENTILATION = (OxygenDelivery.PRESSURE_SUPPORT, OxygenDelivery.VENTILATOR)
_SUPPORT = {"": tuple(OxygenDelivery), "ventilation": _VENTILATION}
_SUPPORT["support"] = (OxygenDelivery.HIGH_FLOW, *_VENTILATION)
_BASELINE = {
    Organ.COAGULATION: (Signal.PLATELETS, "platelets"),
    Organ.LIVER: (Signal.BILIRUBIN, "bilirubin"),
    Organ.KIDNEYS: (Signal.CREATININE, "creatinine"),
}


class Value(Plain, frozen=True):
    """One input of an organ at one time; `device` where breathing needs it."""

    at: datetime
    number: Decimal
    shown: str
    origins: tuple[Origin, ...]
    device: OxygenDelivery = OxygenDelivery.AIR


def organ_failure(bedside: Bedside, score: str) -> OpenTotal:
    """Return the points of each organ by one score, the worst of the last day."""
    organs = (_breathing, _coagulation, _liver, _circulation, _brain, _kidneys)
    return OpenTotal(score, tuple(one(bedside, score) for one in organs))


def _rows(score: str, organ: Organ, name: str = "") -> list[PointRow]:
    return [r for r in table.ROWS if r.score == score and r.part == organ and name in ("", r.input)]


def _points(rows: Sequence[PointRow], value: Value) -> int:
    """Return the points of a value: the first row that is met, the most points first."""
    for row in rows:
        if (
            row.cutoff is not None
            and row.cutoff.is_met_by(value.number)
            and value.device in _SUPPORT[row.needs]
        ):
            return row.points
    return 0


def _judged(
    bedside: Bedside, organ: Organ, rows: Sequence[PointRow], values: Sequence[Value], unknown: Points
) -> Points:
    """Return the worst of the last day, and since when it has had any points without a break."""
    start = bedside.as_of - table.A_DAY.length
    points = [_points(rows, value) for value in values]
    recent = [place for place, value in enumerate(values) if value.at >= start]
    if not recent:
        return unknown
    worst = max(recent, key=lambda place: (points[place], values[place].at))
    first = recent[0]
    while first and points[first] and points[first - 1]:
        first -= 1
    began = next((values[p].at for p in range(first, len(values)) if points[p]), None)
    value = values[worst]
    level = points[worst]
    now = max(points[place] for place in recent[-_NEWEST:])
    since = began if level else None
    return Points(organ, level, level, since, 0, value.shown, value.at, value.origins, now=now)


def _results(bedside: Bedside, signal: Signal, unit: str) -> list[Value]:
    return [
        Value(one.at, one.value, f"{signal.value.replace('-', ' ')} {plain(one.value)}{unit}", (one.origin,))
        for one in bedside.record.series(signal).items
        if one.is_exact
    ]


def _with_baseline(bedside: Bedside, score: str, found: Points) -> Points:
    signal, name = _BASELINE[Organ(found.part)]
    earlier = [
        one
        for one in bedside.record.series(signal).within(
            bedside.as_of - table.BASELINE_FROM.length, bedside.as_of - table.BASELINE_UNTIL.length
        )
        if one.is_exact
    ]
    is_haemolysed = signal is Signal.BILIRUBIN and bool(bedside.record.known_of(*table.HAEMOLYSES))
    if not earlier and signal is not Signal.CREATININE and (is_haemolysed or _liver_was_ill(bedside)):
        earlier = [one for one in bedside.record.series(signal).items if one.is_exact][:1]
    if not earlier:
        return found
    value = Value(earlier[-1].at, earlier[-1].value, "", ())
    return replace(found, baseline=_points(_rows(score, Organ(found.part), name), value))


def _liver_was_ill(bedside: Bedside) -> bool:
    """Tell whether a liver disease is recorded that is older than an own baseline is, by date or name."""
    return any(
        any(word in one.text.casefold() for word in ("cirrho", "chronic"))
        or not one.may_have_begun_within(table.BASELINE_UNTIL.length, bedside.as_of)
        for one in bedside.record.conditions_of(ConditionKind.LIVER_DISEASE)
        if one.confirmed
    )


# The organs


def _breathing(bedside: Bedside, score: str) -> Points:
    is_mmhg = score == table.SOFA
    values = []
    for one in bedside.record.series(Signal.PO2_ARTERIAL).items:
        point = breathed_at(bedside.oxygen_course, one.at, gas.BREATHED_NEAR.length)
        if not one.is_exact or one.sample is Sample.VENOUS or point is None or not point.fraction:
            continue
        ratio = one.value / point.fraction
        shown = f"P/F {plain(round_half_up(ratio, Decimal('0.1')))} kPa on {point.words}"
        number = mmhg(ratio) if is_mmhg else ratio
        values.append(Value(one.at, number, shown, (one.origin, *point.origins), point.device))
    start = bedside.as_of - table.A_DAY.length
    helped = any(p.at >= start and p.device in _SUPPORT["support"] for p in bedside.oxygen_course)
    highest = table.MOST if helped or not bedside.oxygen_course else table.WITHOUT_SUPPORT
    unknown = unknown_points(Organ.RESPIRATION, "arterial pO2 with FiO2", highest)
    return _judged(bedside, Organ.RESPIRATION, _rows(score, Organ.RESPIRATION), values, unknown)


def _coagulation(bedside: Bedside, score: str) -> Points:
    values = _results(bedside, Signal.PLATELETS, "")
    rows = _rows(score, Organ.COAGULATION)
    found = _judged(
        bedside, Organ.COAGULATION, rows, values, unknown_points(Organ.COAGULATION, "platelets", table.MOST)
    )
    return _with_baseline(bedside, score, found)


def _liver(bedside: Bedside, score: str) -> Points:
    values = _results(bedside, Signal.BILIRUBIN, " \u00b5mol/L")
    rows = _rows(score, Organ.LIVER)
    found = _judged(bedside, Organ.LIVER, rows, values, unknown_points(Organ.LIVER, "bilirubin", table.MOST))
    return _with_baseline(bedside, score, found)


def _circulation(bedside: Bedside, score: str) -> Points:
    values = sorted(mean_pressures(bedside), key=lambda one: one.at)
    rows = _rows(score, Organ.CIRCULATION)
    found = _judged(
        bedside,
        Organ.CIRCULATION,
        rows,
        values,
        unknown_points(Organ.CIRCULATION, "mean pressure", table.MOST),
    )
    least, name, at, origin = _vasopressor(bedside, score)
    if not least:
        return found
    highest = table.MOST if name != "dobutamine" else max(least, found.lowest)
    return Points(Organ.CIRCULATION, least, highest, at, 0, f"{name} running, dose not read", at, (origin,))


def mean_pressures(bedside: Bedside) -> Iterator[Value]:
    """Yield every mean pressure, as sent or worked out of a pair of one moment."""
    for one in bedside.record.series(Signal.MEAN_PRESSURE).items:
        if one.is_exact:
            yield Value(one.at, one.value, f"mean pressure {plain(one.value)} mmHg", (one.origin,))
    diastolic = bedside.record.series(Signal.DIASTOLIC_PRESSURE)
    for upper in bedside.record.series(Signal.SYSTOLIC_PRESSURE).items:
        lower = diastolic.nearest(upper.at, timedelta(0))
        if lower is None or not lower.is_exact or not upper.is_exact:
            continue
        mean = (upper.value + 2 * lower.value) / 3
        shown = f"mean pressure {plain(round_half_up(mean, Decimal(1)))} mmHg, worked out"
        yield Value(upper.at, mean, shown, tuple(dict.fromkeys((upper.origin, lower.origin))))


def _vasopressor(bedside: Bedside, score: str) -> tuple[int, str, datetime, Origin]:
    """Return what a vasopressor that ran for an hour of the last day, or is ordered to, brings at least."""
    best = (0, "", bedside.as_of, Origin(""))
    start = bedside.as_of - table.A_DAY.length
    for dose in bedside.record.administrations:
        ended = dose.ran_until(bedside.as_of)
        if ended is None or dose.route not in PERHAPS_A_VEIN:
            continue
        if ended < start or ended - dose.at < _HOUR:
            continue
        for name in dose.medicine.ingredients:
            least = table.VASOPRESSORS[score].get(name, 0)
            if least > best[0]:
                best = (least, name, dose.at, dose.origin)
    for line in bedside.drug_chart.perhaps_running:
        if line.route not in PERHAPS_A_VEIN or line.since is None:
            continue
        for name in line.medicine.ingredients:
            least = table.VASOPRESSORS[score].get(name, 0)
            if least > best[0] and bedside.as_of - line.since >= _HOUR:
                best = (least, name, line.since, line.order)
    return best


def _brain(bedside: Bedside, score: str) -> Points:
    if bedside.is_sedated:
        return unknown_points(Organ.BRAIN, "coma scale without sedation", table.MOST)
    scales = bedside.series(Signal.GCS_TOTAL).items
    values = [Value(s.at, s.value, f"GCS {plain(s.value)}", (s.origin,)) for s in scales if not s.spread]
    found = _judged(bedside, Organ.BRAIN, _rows(score, Organ.BRAIN), values, _by_alertness(bedside))
    if bedside.confusion_is_usual:
        return replace(found, baseline=min(found.lowest, 1))
    return found


def _by_alertness(bedside: Bedside) -> Points:
    """Read alertness where no coma scale is recorded: alert is 15, anything else at least a point."""
    start = bedside.as_of - table.A_DAY.length
    answers = bedside.alertness
    recent = [one for one in answers if one.one.end >= start]
    if not recent:
        return unknown_points(Organ.BRAIN, "coma scale and alertness", table.MOST)
    dull = [place for place, one in enumerate(answers) if one.value is not Consciousness.ALERT]
    dull = [place for place in dull if answers[place].one.end >= start]
    if not dull:
        alert = recent[-1].answer
        return Points(Organ.BRAIN, 0, 0, None, 0, "alert", alert.at, alert.origins, is_stand_in=True)
    first = dull[0]
    while first and answers[first - 1].value is not Consciousness.ALERT:
        first -= 1
    worst = answers[dull[-1]].answer
    shown = f"{answer_words(worst.value)}, coma scale not recorded"
    since = answers[first].answer.at
    now = int(any(one.value is not Consciousness.ALERT for one in recent[-_NEWEST:]))
    return Points(
        Organ.BRAIN,
        1,
        table.MOST,
        since,
        0,
        shown,
        worst.at,
        worst.origins,
        NO_COMA_SCALE,
        is_stand_in=True,
        now=now,
    )


def _kidneys(bedside: Bedside, score: str) -> Points:
    values = _results(bedside, Signal.CREATININE, " \u00b5mol/L")
    rows = _rows(score, Organ.KIDNEYS, "creatinine")
    found = _judged(
        bedside, Organ.KIDNEYS, rows, values, unknown_points(Organ.KIDNEYS, "creatinine", table.MOST)
    )
    found = _with_baseline(bedside, score, found)
    by_urine = _urine_of_a_day(bedside, score) if score == table.SOFA else _urine_by_stage(bedside)
    if by_urine is not None and by_urine.lowest > found.lowest:
        found = replace(by_urine, baseline=found.baseline)
    if score == table.SOFA_2 and bedside.kidneys.therapy.on(bedside.as_of):
        found = replace(found, lowest=table.MOST, highest=table.MOST, shown="renal replacement therapy")
    if bedside.record.known_of(ConditionKind.DIALYSIS):
        return replace(found, baseline=found.lowest)
    return found


def _urine_of_a_day(bedside: Bedside, score: str) -> Points | None:
    ends = bedside.kidneys.urine.ends
    if not ends or ends[-1] < bedside.as_of - table.A_DAY.length:
        return None
    passed = bedside.kidneys.urine.over(ends[-1], table.A_DAY.length)
    if not passed.is_covered:
        return None
    volume = round_half_up(passed.volume * passed.window / passed.seconds, Decimal(1))
    value = Value(passed.ended, volume, f"urine {plain(volume)} mL in a day", passed.origins)
    points = _points(_rows(score, Organ.KIDNEYS, "urine-of-a-day"), value)
    began = passed.ended - table.A_DAY.length
    return Points(Organ.KIDNEYS, points, points, began, 0, value.shown, value.at, value.origins)


def _urine_by_stage(bedside: Bedside) -> Points | None:
    """Read SOFA-2's rows of urine, which are those of KDIGO."""
    stages = bedside.kidneys.urine_stages
    newest = stages[-1] if stages else None
    if newest is None or not newest.stage or newest.at < bedside.as_of - table.A_DAY.length:
        return None
    first = len(stages) - 1
    while first and stages[first - 1].stage:
        first -= 1
    origins = newest.passed.origins if newest.passed is not None else ()
    shown = f"urine {newest.rule}"
    return Points(Organ.KIDNEYS, newest.stage, newest.stage, stages[first].at, 0, shown, newest.at, origins)
