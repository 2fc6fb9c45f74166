"""How does the fluid balance stand: in, out, cumulative, urine an hour, weight, and gaps of the chart?

For information: it is shown where it explains something, an injured kidney, a failing heart, or where
it is far from even. It calls somebody only where much urine follows an obstruction.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime
from decimal import ROUND_CEILING, Decimal
from typing import Final

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.fluid_balance import Balance, FluidBalance, HourlyUrine
from weatherglass.facts.kidneys.urine import at_any_weight, rate_words
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.knowledge.kidneys import kdigo_aki_2012 as kdigo
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.ward import fluid_balance as ours
from weatherglass.model.findings import Finding, Kind, Measure, Missing, MissingReason, Urgency
from weatherglass.model.numbers.quantities import Unit, plain, round_half_up
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import Origin
from weatherglass.model.words.lists import capital, inside_a_sentence

KEY: Final = "fluid-balance"
_OBSTRUCTED: Final = (ConditionKind.URINARY_OBSTRUCTION, ConditionKind.URINARY_RETENTION)
_WHOLE, _TENTH = Decimal(1), Decimal("0.1")
_EXPLAINS: Final = (ConditionKind.HEART_FAILURE, ConditionKind.FLUID_OVERLOAD, ConditionKind.DEHYDRATION)


def assess_fluid_balance(bedside: Bedside) -> Iterator[Finding]:
    """Show the balance where it explains something or is far from even."""
    found = bedside.fluid_balance
    parts = list(_parts(bedside, found))
    much = _much_after_obstruction(bedside, found)
    if much is not None:
        yield much
    elif parts and _is_worth_showing(bedside, found):
        yield _shown(bedside, found, parts)


def _much_after_obstruction(bedside: Bedside, found: FluidBalance) -> Finding | None:
    """Ask about much urine where what obstructed it was let go; a diuretic on the chart explains it."""
    obstructed = [
        one
        for one in bedside.record.told_of(*_OBSTRUCTED)
        if one.at is not None and bedside.as_of - one.at <= ours.AFTER_OBSTRUCTION.length
    ]
    urine, since = found.urine, _much_since(bedside)
    if not obstructed or urine is None or since is None or bedside.on_chart((MedicineClass.LOOP_DIURETIC,)):
        return None
    name = inside_a_sentence(obstructed[0].text)
    return tell(
        About(Kind.METABOLIC, "urine-after-obstruction", Letter.CIRCULATION),
        Urgency.PROMPT,
        rests_on(bedside, since, *urine.passed.origins, obstructed[0].origin, at=urine.passed.ended),
        brief=f"Urine {_ml(urine.passed.per_hour)} mL/h over {_hours(urine)} after {name}",
        asks=ours.MUCH_ASKS.text,
        sources=(ours.MUCH_URINE, ours.MUCH_ASKS),
        decided_by="much urine after an obstruction",
    )


def _much_since(bedside: Bedside) -> datetime | None:
    """Return since when the charted hours have been of much urine; None where the newest are not, or old."""
    chart = bedside.kidneys.urine
    since = None
    for end in reversed(chart.ends):
        passed = chart.over(end, ours.URINE_OVER.length)
        is_much = passed.seconds and ours.MUCH_URINE.is_met_by(passed.per_hour)
        if not is_much or passed.seconds < ours.MUCH_FOR.length.total_seconds():
            break
        since = end
    newest = chart.ends[-1] if chart.ends else None
    is_old = newest is None or bedside.as_of - newest > ours.URINE_OVER.length
    return None if is_old else since


def _shown(bedside: Bedside, found: FluidBalance, parts: Sequence[str]) -> Finding:
    return tell(
        About(Kind.CONTEXT, KEY, Letter.CIRCULATION),
        Urgency.ROUTINE,
        rests_on(bedside, None, *_origins(found), at=bedside.as_of),
        brief=_brief(bedside, found),
        sentence=f"Fluid: {'; '.join(parts)}.",
        measures=_measures(found),
        missing=tuple(_missing(found)),
        sources=(ours.A_DAY, ours.COVERED, kdigo.URINE_CRITERIA[0]),
    )


def fluid_on_record(bedside: Bedside) -> str:
    """Return what the record shows of fluid gained or lost; empty where it shows nothing.

    Examples:
        "balance -2100 mL in 24 hours; weight 81 kg, -5 since 02:00 on 17 November"
    """
    found = bedside.fluid_balance
    return "; ".join(filter(None, (_of_the_day(found), _weight(bedside, found))))


def _brief(bedside: Bedside, found: FluidBalance) -> str:
    if day := _of_the_day(found):
        return f"Fluid {day}"
    if found.urine is None:
        return capital(_weight(bedside, found)) or "Fluid balance not known"
    return f"Urine {_ml(found.urine.passed.per_hour)} mL/h over {_hours(found.urine)}, balance not known"


def _is_worth_showing(bedside: Bedside, found: FluidBalance) -> bool:
    if bedside.aki_now.stage or bedside.record.has(*_EXPLAINS) or found.gaps:
        return True
    day = found.day.difference if found.day is not None else None
    moved = found.weight_change
    return (day is not None and (day >= ours.GAIN.value or day <= ours.LOSS.value)) or (
        moved is not None and abs(moved) >= ours.WEIGHT_MOVED.value
    )


def _parts(bedside: Bedside, found: FluidBalance) -> Iterator[str]:
    if found.day is not None:
        yield _balance(found.day, "in 24 hours")
    if found.cumulative is not None and found.cumulative.difference is not None:
        since = bedside.clock.full(found.cumulative.start)
        yield f"cumulative {_signed(found.cumulative.difference)} mL since {since}"
    if found.urine is not None:
        yield _urine(found.urine)
    if weight := _weight(bedside, found):
        yield weight
    for gap in found.gaps:
        yield f"urine not charted from {bedside.clock.full(gap.start)} to {bedside.clock.full(gap.end)}"


def _of_the_day(found: FluidBalance) -> str:
    difference = found.day.difference if found.day is not None else None
    return f"balance {_signed(difference)} mL in 24 hours" if difference is not None else ""


def _weight(bedside: Bedside, found: FluidBalance) -> str:
    if found.weights is None or found.weight_change is None:
        return ""
    before, now = found.weights
    change = _signed(found.weight_change, _TENTH)
    return f"weight {plain(now.value)} kg, {change} since {bedside.clock.full(before.at)}"


def _balance(one: Balance, when: str) -> str:
    out = "urine" if one.is_urine_alone else "out"
    sides = f"in {_ml(one.taken.volume)}, {out} {_ml(one.given_off.volume)} mL {when}"
    if one.difference is not None:
        return f"{sides}, balance {_signed(one.difference)} mL"
    hours = f"{one.taken.hours} hours in and {one.given_off.hours} hours out"
    return f"{sides}, balance not known: {hours} are charted"


def _urine(one: HourlyUrine) -> str:
    said = f"urine {_ml(one.passed.per_hour)} mL/h over {_hours(one)}"
    if one.per_kilogram is not None:
        return f"{said}, {rate_words(one.per_kilogram)}"
    if not ours.BOUND_SAYS_SOMETHING.is_met_by(one.bound):
        return f"{said}, no weight"
    bound = int(one.bound.to_integral_value(ROUND_CEILING))
    return f"{said}, no weight: less than {kdigo.LEAST_RATE.limit.value} mL/kg/h {at_any_weight(bound)}"


def _hours(one: HourlyUrine) -> str:
    hours = max(1, round(one.passed.seconds / 3600))
    return f"{hours} hour{'s' if hours > 1 else ''}"


def _ml(volume: Decimal) -> str:
    return plain(round_half_up(volume, _WHOLE))


def _signed(volume: Decimal, step: Decimal = _WHOLE) -> str:
    shown = plain(round_half_up(volume, step))
    return shown if shown.startswith("-") else f"+{shown}"


def _measures(found: FluidBalance) -> Iterator[Measure]:
    for name, one in (("day", found.day), ("cumulative", found.cumulative)):
        if one is not None and one.difference is not None:
            yield Measure(
                f"fluid-balance-{name}",
                f"fluid balance, {name}",
                round_half_up(one.difference, _WHOLE),
                Unit.MILLILITRE,
                one.end,
            )
    if found.weights is not None:
        yield measure_of(Signal.WEIGHT, found.weights[1])


def _origins(found: FluidBalance) -> Iterator[Origin]:
    for one in (found.day, found.cumulative):
        if one is not None:
            yield from (*one.taken.origins, *one.given_off.origins)
    if found.urine is not None:
        yield from found.urine.passed.origins
    for weight in found.weights or ():
        yield weight.origin


def _missing(found: FluidBalance) -> Iterator[Missing]:
    """Name the side of the balance that is not charted for most of the day."""
    if found.day is None:
        return
    for key, label, side in (
        ("fluid-intake", "fluid intake of 24 hours", found.day.taken),
        ("fluid-output", "fluid output of 24 hours", found.day.given_off),
    ):
        if not side.is_covered:
            yield Missing(key=key, label=label, reason=MissingReason.NOT_RECORDED)
