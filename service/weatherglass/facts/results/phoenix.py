"""The Phoenix score of a child with suspected infection, as far as its inputs are there."""

from collections.abc import Iterator
from decimal import Decimal

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.breathing.gas_samples import mmhg
from weatherglass.facts.breathing.oxygen_course import OxygenPoint, breathed_at
from weatherglass.facts.results.open_points import (
    Known,
    OpenTotal,
    Points,
    newest_known,
    number_known,
    points_of_part,
)
from weatherglass.facts.results.organ_failure import mean_pressures
from weatherglass.facts.series.limits_met import counting, current
from weatherglass.knowledge.breathing import blood_gas as gas
from weatherglass.knowledge.scores.points import phoenix_2024 as score
from weatherglass.model.numbers.quantities import plain, round_half_up
from weatherglass.model.plain import replace
from weatherglass.model.record.medicines import PERHAPS_A_VEIN
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Consciousness, OxygenDelivery, Sample, Signal
from weatherglass.model.times.known_times import latest

_FOR = score.COUNTS_FOR.length
_CLOTTING = (Signal.PLATELETS, Signal.INR, Signal.D_DIMER, Signal.FIBRINOGEN)


def phoenix(bedside: Bedside, months: int) -> OpenTotal:
    """Work the score out for a child of an age in completed months."""
    return OpenTotal(
        score.KEY,
        (
            _breathing(bedside),
            _vasoactives(bedside),
            points_of_part("lactate", score.ROWS, {"lactate": number_known(bedside, Signal.LACTATE, _FOR)}),
            _pressure(bedside, months),
            _coagulation(bedside),
            _brain(bedside),
        ),
    )


def _breathing(bedside: Bedside) -> Points:
    """Return the points of the newest ratio, of pO2 before saturation; none without support."""
    course = [one for one in bedside.oxygen_course if bedside.as_of - one.at <= _FOR]
    newest = course[-1] if course else None
    if newest is not None and newest.device is OxygenDelivery.AIR:
        return Points("respiration", 0, 0, None, 0, "on air", newest.at, newest.origins)
    known = dict(_ratios(bedside, newest)) if newest is not None else {}
    name = next(iter(known), "s-f")
    is_ventilated = newest is None or newest.device is OxygenDelivery.VENTILATOR
    rows = [row for row in score.ROWS if row.input == name and (is_ventilated or row.needs == "support")]
    return points_of_part("respiration", rows, known, what="pO2 or saturation with FiO2")


def _ratios(bedside: Bedside, newest: OxygenPoint) -> Iterator[tuple[str, Known]]:
    for name, signal in (("p-f-mmhg", Signal.PO2_ARTERIAL), ("s-f", Signal.SPO2)):
        items = [one for one in bedside.record.series(signal).items if _counts(signal, one)]
        if not counting(items, bedside.as_of, _FOR):
            continue
        one = items[-1]
        point = breathed_at(bedside.oxygen_course, one.at, gas.BREATHED_NEAR.length)
        if point is None or not point.fraction:
            continue
        ratio = (mmhg(one.value) if signal is Signal.PO2_ARTERIAL else one.value) / point.fraction
        label = "P/F" if signal is Signal.PO2_ARTERIAL else "SpO2/FiO2"
        shown = f"{label} {plain(round_half_up(ratio, Decimal(1)))} on {newest.words}"
        yield name, Known(shown, ((one.at, ratio),), (one.origin, *point.origins))


def _counts(signal: Signal, one: Measurement) -> bool:
    if not one.is_exact:
        return False
    if signal is Signal.SPO2:
        return one.value <= score.READABLE_SATURATION.value
    return one.sample is not Sample.VENOUS


def _vasoactives(bedside: Bedside) -> Points:
    running = {}
    for dose in bedside.record.administrations:
        ended = dose.ran_until(bedside.as_of)
        if ended is None or dose.route not in PERHAPS_A_VEIN:
            continue
        if bedside.as_of - ended > _FOR:
            continue
        for name in dose.medicine.ingredients:
            if name in score.VASOACTIVES:
                running[name] = dose
    at = min((one.at for one in running.values()), default=bedside.as_of)
    shown = " and ".join(sorted(running)) or "no vasoactive medicine recorded"
    origins = tuple(one.origin for one in running.values())
    known = Known(shown, ((at, Decimal(len(running))),), origins)
    return points_of_part("vasoactives", score.ROWS, {"vasoactives": known})


def _pressure(bedside: Bedside, months: int) -> Points:
    # Of one moment, what was sent comes before what is worked out.
    by_moment = {one.at: one for one in reversed(list(mean_pressures(bedside)))}
    values = sorted(by_moment.values(), key=lambda one: one.at)
    known = None
    if counting(values, bedside.as_of, _FOR):
        numbers = tuple((one.at, one.number) for one in values)
        known = Known(values[-1].shown, numbers, values[-1].origins)
    band = next(start for start in score.PRESSURE_FROM if max(months, 0) >= start)
    found = points_of_part(f"pressure-{band}", score.ROWS, {"mean-pressure": known})
    return replace(found, part="mean-pressure")


def _coagulation(bedside: Bedside) -> Points:
    each = [
        points_of_part(one.value, score.ROWS, {one.value: number_known(bedside, one, _FOR)})
        for one in _CLOTTING
    ]
    most = int(score.MOST_OF_COAGULATION.value)
    lowest, highest = (
        min(most, sum(ends)) for ends in zip(*((p.lowest, p.highest) for p in each), strict=True)
    )
    met = [one for one in each if one.lowest]
    gone = [one.missing or one.shown for one in each if one.is_open]
    shown = ", ".join(one.shown for one in met) or f"{', '.join(gone)} not recorded"
    if not met and not gone:
        shown = ", ".join(one.shown for one in each)
    began = sorted(one.began for one in met if one.began is not None)
    since = began[lowest - 1] if lowest and len(began) >= lowest else None
    at = latest(one.at for one in each)
    origins = tuple(dict.fromkeys(origin for one in each for origin in one.origins))
    return Points("coagulation", lowest, highest, since, 0, shown, at, origins, ", ".join(gone))


def _brain(bedside: Bedside) -> Points:
    totals = current(bedside.coma_totals_at_all, bedside.as_of, _FOR)
    scale = newest_known(Signal.GCS_TOTAL, totals)
    answers = [one.answer for one in bedside.alertness if bedside.as_of - one.one.end <= _FOR]
    is_alert = bool(answers) and answers[-1].value is Consciousness.ALERT
    known: dict[str, Known | None] = {"gcs-total": scale}
    if is_alert:
        known["fixed pupils"] = Known("alert", origins=answers[-1].origins, is_there=False)
        if scale is None:
            known["gcs-total"] = Known("alert", ((answers[-1].at, Decimal(15)),), answers[-1].origins)
    return points_of_part(
        "brain", score.ROWS, known, what="pupils" if scale is not None else "coma scale and pupils"
    )
