"""What the written dose of a line says by itself: too much, too often, or far above its other order."""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from decimal import Decimal

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.kidneys.estimates import ADULT_FROM
from weatherglass.facts.medicines.doses import (
    an_hour,
    daily_in,
    doses_a_day,
    is_worded,
    millimoles_an_hour,
    single_in,
)
from weatherglass.facts.medicines.drug_chart import Line, Standing
from weatherglass.facts.medicines.named_lines import NamedLine
from weatherglass.knowledge.medicines.groups import ByMember, Members
from weatherglass.knowledge.medicines.limits.dose_limits import (
    DOSE_LIMITS,
    FIRST_FOR,
    LOW_CLEARANCE,
    SILENT_SOURCE,
    Criteria,
    DoseLimit,
)
from weatherglass.knowledge.medicines.rules.forms import Form
from weatherglass.knowledge.medicines.rules.rule import Trigger
from weatherglass.knowledge.metabolic.tumour_lysis import CANCER
from weatherglass.medicines.judging.form_of_line import forms_of
from weatherglass.medicines.triggers.met import MetRule, MetTrigger
from weatherglass.model.numbers.quantities import plain, round_half_up
from weatherglass.model.plain import replace
from weatherglass.model.record.medicines import Administration, MedicineOrder, Route
from weatherglass.model.signals import Consciousness
from weatherglass.model.sources import Origin
from weatherglass.model.words.clock_words import lasting
from weatherglass.model.words.lists import listed

_UNITS = {"mg": "mg", "unit": "units", "mL": "mL", "tablet": "tablets"}


def met_doses(bedside: Bedside, of_line: NamedLine) -> Iterator[MetRule]:
    """Return what the dose of one line says; mostly silent where no dose is a number."""
    line = of_line.line
    if line.charted is None:
        return
    is_child = bedside.age is not None and bedside.age < ADULT_FROM
    in_numbers = line.charted.dose is not None
    limits = _CHILDREN if is_child else _ADULTS if in_numbers else _UNWRITTEN
    for limit in limits.that_may_mean(line.classes, of_line.words):
        if not of_line.is_one_of(limit.members) or not _applies(bedside, limit):
            continue
        if limit.into_a_vein and line.route is not Route.INTRAVENOUS:
            continue
        if limit.awake and not _is_before_a_dose_awake(bedside, line):
            continue
        if limit.not_into_a_vein and _may_go_into_a_vein(line):
            continue
        if limit.once_into_a_vein and not line.charted.for_once and _may_go_into_a_vein(line):
            continue
        said = _said(bedside, line, limit)
        if said:
            yield limit.rule, _of_dose(bedside, line, limit, said)
        elif limit.unwritten is not None and not _is_in_order(line.charted, limit):
            met = _of_dose(bedside, line, limit, "the dose is not written as a number")
            yield limit.unwritten, replace(met, sources=(*met.sources, SILENT_SOURCE))


def _is_before_a_dose_awake(bedside: Bedside, line: Line) -> bool:
    """Tell whether nothing of an order was given yet, and the newest round of the last day is alert."""
    if line.last_dose is not None or line.standing not in (Standing.IN_USE, Standing.DRAFT):
        return False
    newest = bedside.alertness[-1] if bedside.alertness and bedside.ventilation is None else None
    is_of_now = newest is not None and bedside.as_of - newest.began <= timedelta(days=1)
    return is_of_now and newest is not None and newest.value is Consciousness.ALERT


def _may_go_into_a_vein(line: Line) -> bool:
    is_infused = line.route is Route.UNKNOWN and Form.INFUSION in forms_of(line)
    return line.route is Route.INTRAVENOUS or is_infused or line.may_be_running


def _who(limit: DoseLimit) -> Members:
    return limit.members


_OF_ADULTS = tuple(each for each in DOSE_LIMITS if not each.for_children)
_ADULTS = ByMember(_OF_ADULTS, _who)
_UNWRITTEN = ByMember(
    (
        each
        for each in _OF_ADULTS
        if each.unwritten is not None
        or each.max_rate is not None
        or each.max_hourly is not None
        or each.into_a_vein
        or each.written
        or each.for_hours
        or each.two_in_one
        or each.first_of
    ),
    _who,
)
#: A way that kills does so at every age.
_CHILDREN = ByMember(
    (each for each in DOSE_LIMITS if each.for_children or each.two_doses or each.written), _who
)


def _is_in_order(order: MedicineOrder, limit: DoseLimit) -> bool:
    """Tell whether a dose is written as a number, or in words that are in order."""
    return daily_in(limit.unit, order) is not None or is_worded(order, limit.in_order)


def _applies(bedside: Bedside, limit: DoseLimit) -> bool:
    if limit.from_age and (bedside.age is None or bedside.age < limit.from_age):
        return False
    if limit.with_problem and limit.with_problem.isdisjoint(bedside.problems):
        return False
    if not limit.without_problem.isdisjoint(bedside.problems):
        return False
    if limit.criteria is not None and not _criteria_speak(bedside, limit, limit.criteria):
        return False
    weight = bedside.kidneys.weight
    if limit.below_kg is not None and (weight is None or weight.value >= limit.below_kg):
        return False
    if limit.from_kg is not None and weight is not None and weight.value < limit.from_kg:
        return False
    return not (limit.unless_treated_for_cancer and not bedside.problems.keys().isdisjoint(CANCER))


def _criteria_speak(bedside: Bedside, limit: DoseLimit, asked: Criteria) -> bool:
    """Tell whether enough criteria are met; of a dose that is too low, whether too few can be."""
    enough = len(_met(bedside, asked)) >= asked.needed
    if limit.too_low_daily is None:
        return enough
    return not enough and _is_all_known(bedside) and not _function_is_low(bedside)


def _is_all_known(bedside: Bedside) -> bool:
    """Tell whether age, weight and a steady creatinine are known, so that what is not met is not met."""
    kidneys = bedside.kidneys
    return (
        bedside.age is not None
        and kidneys.weight is not None
        and bool(kidneys.results)
        and not bedside.aki_now.stage
    )


def _function_is_low(bedside: Bedside) -> bool:
    now = bedside.kidney_function
    return now.on_dialysis or now.clearance is None or now.clearance.value < LOW_CLEARANCE.value


def _met(bedside: Bedside, asked: Criteria) -> list[tuple[str, Origin | None]]:
    """Return which of the criteria are met, each with what it rests on."""
    met: list[tuple[str, Origin | None]] = []
    if bedside.age is not None and asked.age is not None and bedside.age >= asked.age:
        met.append((f"{bedside.age} years", None))
    weight = bedside.kidneys.weight
    if weight is not None and asked.at_most_kg is not None and weight.value <= asked.at_most_kg:
        met.append((f"{plain(weight.value)} kg", weight.origin))
    newest = bedside.kidneys.results[-1] if bedside.kidneys.results else None
    least = asked.creatinine_from
    if newest is not None and least is not None and not bedside.aki_now.stage and newest.value >= least:
        met.append((f"creatinine {plain(newest.value)} \u00b5mol/L", newest.origin))
    return met


def _said(bedside: Bedside, line: Line, limit: DoseLimit) -> str:
    """Return what is too much, in words; empty where nothing is."""
    if limit.summed and (together := _together(bedside, limit)):
        return together
    if limit.first_of is not None:
        first = _first(bedside, line, limit.first_of)
        return first if limit.max_hourly is None or not first else _too_fast(line.charted, limit)
    if limit.two_in_one:
        both = [name for name in line.medicine.ingredients if name in limit.members.names]
        return f"{listed(both)} in one line" if len(both) > 1 else ""
    if limit.two_doses:
        return _said_twice(line.charted)
    if limit.given_more:
        return _given_too_often(bedside, line)
    if limit.for_hours:
        return _for_long(bedside, line, limit)
    if limit.written or (limit.into_a_vein and limit.per_kg_single is None and limit.max_single is None):
        return f"{limit.written or 'into a vein'} written"
    return (
        _too_fast(line.charted, limit)
        or _in_itself(line.charted, limit)
        or _for_weight(bedside, line, limit)
        or _beside(bedside, line, limit)
    )


def _too_fast(order: MedicineOrder | None, limit: DoseLimit) -> str:
    """Say how much an infusion lets run in an hour, where that is too much."""
    hourly = an_hour(limit.unit, order) if limit.max_hourly is not None else None
    if hourly is None or limit.max_hourly is None or hourly <= limit.max_hourly:
        return ""
    if limit.unit == "mg" and hourly < 1:
        return f"{plain(hourly * 1000)} micrograms an hour written"
    return f"{plain(hourly)} {_UNITS[limit.unit]} an hour written"


def _said_twice(order: MedicineOrder | None) -> str:
    """Say both doses of an order whose words and number do not agree."""
    if order is None or order.dose is None or not order.other_dose:
        return ""
    return f"{order.other_dose} in words and {plain(order.dose)} {order.dose_unit} as a number"


def _given_too_often(bedside: Bedside, line: Line) -> str:
    """Say that more doses were given in a day than the order allows."""
    given, allowed = _given_of_a_day(bedside, line), _allowed(line)
    if allowed is None or len(given) <= allowed:
        return ""
    return (
        f"{len(given)} doses given in 24 hours, at most {plain(round_half_up(allowed, Decimal(1)))} written"
    )


def _allowed(line: Line) -> Decimal | None:
    """Return how many doses of a day an order allows; None where it does not say so, or fewer than one."""
    order = line.charted
    if order is None or not order.dose or order.daily_at_most is None or order.daily_at_most < order.dose:
        return None
    return order.daily_at_most / order.dose


def _given_of_a_day(bedside: Bedside, line: Line) -> Sequence[Administration]:
    return bedside.given_of_a_day.get(line.order, ())


def _for_long(bedside: Bedside, line: Line, limit: DoseLimit) -> str:
    """Say that an order in force has stood for long, with no end."""
    if line.standing is not Standing.IN_USE or line.charted is None or line.charted.ends is not None:
        return ""
    if line.since is None or bedside.as_of - line.since < timedelta(hours=limit.for_hours):
        return ""
    daily = daily_in(limit.unit, line.charted)
    if limit.max_daily is not None and (daily is None or daily <= limit.max_daily):
        return ""
    dose = f"{plain(daily)} {_UNITS[limit.unit]} a day" if daily is not None else "on the chart"
    long = "into a vein" if limit.into_a_vein else dose if limit.max_daily is not None else "on the chart"
    return f"{long} for {lasting(timedelta(hours=limit.for_hours))} or more, and no end written"


def _first(bedside: Bedside, line: Line, these: Members) -> str:
    """Say that an order not signed yet, or of these days, is the first of its kind, as far as is known."""
    if line.standing is not Standing.DRAFT and not _is_of_these_days(bedside, line):
        return ""
    others = [
        each
        for each in bedside.drug_chart.lines
        if each.standing is not Standing.DRAFT and each.order != line.order
    ]
    ended = [
        order for order in bedside.drug_chart.ended if not these.classes.isdisjoint(order.medicine.classes)
    ]
    if ended or any(bedside.named(each).is_one_of(these) for each in others):
        return ""
    return "nothing of its kind is known on the chart"


def _is_of_these_days(bedside: Bedside, line: Line) -> bool:
    """Tell whether an order in use is so new that its first dose is still about to act."""
    is_used = line.standing is Standing.IN_USE and line.since is not None
    return is_used and line.since is not None and bedside.as_of - line.since <= FIRST_FOR.length


def _most_of_a_day(bedside: Bedside, limit: DoseLimit) -> tuple[Decimal | None, str]:
    """Return the most of a day in milligrams, and the weight that makes it so, as it is said."""
    weight = bedside.kidneys.weight
    by_weight = limit.per_kg_daily * weight.value if limit.per_kg_daily and weight is not None else None
    limits = [each for each in (limit.max_daily, by_weight) if each is not None]
    if not limits:
        return None, ""
    named = f" at {plain(weight.value)} kg" if weight is not None and by_weight == min(limits) else ""
    return min(limits), named


def _given_together(bedside: Bedside, limit: DoseLimit) -> str:
    """Return what was given of it in a day, where that is too much."""
    most, named = _most_of_a_day(bedside, limit)
    given = bedside.paracetamol.given
    if most is None or given <= most:
        return ""
    return f"{plain(given)} mg of paracetamol given in 24 hours{named}"


def _together(bedside: Bedside, limit: DoseLimit) -> str:
    """Return what was given, or else what every line of several comes to, where that is too much."""
    total, (at_most, named) = bedside.paracetamol, _most_of_a_day(bedside, limit)
    is_alone = len(total.lines) == 1
    # What is only given when needed poisons nobody before it is given.
    milligrams = total.regular if is_alone or limit.soon == "urgent" else total.milligrams
    # Of one line its own milligrams are compared elsewhere; a compound has none, and counts by its tablets.
    is_added = not is_alone or daily_in("mg", total.lines[0].charted) is None
    is_too_much = is_added and at_most is not None and milligrams > at_most
    most = "up to" if total.is_whole else "at least"
    written = f"{most} {plain(total.milligrams)} mg of paracetamol a day in {len(total.lines)} lines{named}"
    if is_alone:
        written = f"{plain(milligrams)} mg of paracetamol a day written{named}"
    return _given_together(bedside, limit) or (written if is_too_much else "")


def _in_itself(order: MedicineOrder | None, limit: DoseLimit) -> str:
    daily, single, often = daily_in(limit.unit, order), single_in(limit.unit, order), doses_a_day(order)
    if limit.max_daily is not None and daily is not None and daily > limit.max_daily:
        return f"{plain(daily)} {_UNITS[limit.unit]} a day written"
    if limit.too_low_daily is not None and daily is not None and daily <= limit.too_low_daily:
        return f"{plain(daily)} {_UNITS[limit.unit]} a day written"
    if limit.max_single is not None and single is not None and single > limit.max_single:
        return f"{plain(single)} {_UNITS[limit.unit]} at once written"
    if limit.most_often is not None and often is not None and often > limit.most_often:
        return f"{_times(often)} written"
    rate = millimoles_an_hour(order) if limit.max_rate is not None else None
    if rate is not None and limit.max_rate is not None and rate > limit.max_rate:
        return f"{plain(round_half_up(rate, Decimal(1)))} mmol an hour written"
    return ""


def _times(often: Decimal) -> str:
    if often < 1:
        return "more than one dose a week"
    return "a dose every day" if often == 1 else "more than one dose a day"


def _for_weight(bedside: Bedside, line: Line, limit: DoseLimit) -> str:
    weight, daily = bedside.kidneys.weight, daily_in(limit.unit, line.charted)
    single = single_in(limit.unit, line.charted)
    if limit.per_kg_single is not None and weight is not None and single is not None:
        at_once = f"{plain(single)} mg at once written at {plain(weight.value)} kg"
        return at_once if single > limit.per_kg_single * weight.value else ""
    if daily is None or weight is None:
        return ""
    most, least = limit.per_kg_daily, limit.least_per_kg_daily
    is_too_much = most is not None and daily > most * weight.value
    is_too_little = least is not None and limit.treats_from < daily < least * weight.value
    if is_too_much or (is_too_little and _clears(bedside)):
        return f"{plain(daily)} mg a day written at {plain(weight.value)} kg"
    return ""


def _clears(bedside: Bedside) -> bool:
    """Tell whether the kidneys are known to clear a full dose."""
    return bool(bedside.kidneys.results) and not bedside.aki_now.stage and not _function_is_low(bedside)


def _beside(bedside: Bedside, line: Line, limit: DoseLimit) -> str:
    """Compare a dose with the largest of the other orders of the same medicine, in force or ended."""
    single = single_in(limit.unit, line.charted)
    if limit.times_last is None or single is None:
        return ""
    others = [
        dose
        for name in line.medicine.ingredients
        for dose, order in bedside.largest_doses.get((name, limit.unit), ())
        if order != line.order
    ]
    if not others or single < limit.times_last * max(others):
        return ""
    return f"{plain(single)} {_UNITS[limit.unit]} written, {plain(max(others))} in the other order"


def _of_dose(bedside: Bedside, line: Line, limit: DoseLimit, said: str) -> MetTrigger:
    weight = bedside.kidneys.weight
    rests_on: tuple[Origin, ...] = ()
    by_weight = (limit.below_kg, limit.per_kg_daily, limit.per_kg_single, limit.least_per_kg_daily)
    if weight is not None and any(each is not None for each in by_weight):
        rests_on = (weight.origin,)
    if limit.criteria is not None:
        criteria = _met(bedside, limit.criteria)
        met = listed([words for words, _ in criteria]) if criteria else "none of its criteria"
        said = f"{said} with {met}"
        rests_on = tuple(origin for _, origin in criteria if origin is not None)
    return MetTrigger(
        trigger=Trigger.WRITTEN_DOSE,
        short=said,
        said=said,
        origins=rests_on,
        since=_since(bedside, line, limit),
        sources=(limit.sources[0],),
    )


def _since(bedside: Bedside, line: Line, limit: DoseLimit) -> datetime | None:
    """Return since when: of several lines the last made the sum, of doses given the one too many."""
    if limit.given_more:
        given, allowed = _given_of_a_day(bedside, line), _allowed(line)
        return given[int(allowed)].at if allowed is not None and len(given) > allowed else line.since
    if limit.summed and _given_together(bedside, limit):
        return bedside.paracetamol.given_until or line.since
    if limit.for_hours and line.since is not None:
        return line.since + timedelta(hours=limit.for_hours)
    return bedside.paracetamol.since if limit.summed else line.since
