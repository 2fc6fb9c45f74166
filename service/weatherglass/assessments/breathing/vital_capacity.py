"""Do the muscles of breathing fail, by vital capacity, in somebody whose nerves or muscles do?

The saturation is normal until they have failed: a vital capacity that is small for the weight, or smaller
by a third than it was, comes before.
"""

from collections.abc import Iterator, Sequence
from decimal import Decimal

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.series.runs import run_at_level
from weatherglass.facts.series.windows import SlidingExtreme
from weatherglass.knowledge.breathing import vital_capacity as criteria
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.numbers.quantities import plain, round_half_up
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.words.lists import capital

_WHOLE = Decimal(1)
_URGENCY = (Urgency.ROUTINE, Urgency.URGENT, Urgency.EMERGENCY)


def assess_vital_capacity(bedside: Bedside) -> Iterator[Finding]:
    """Judge the newest vital capacity of somebody whose breathing muscles may fail."""
    told = bedside.record.told_of(*criteria.WEAK)
    results = [one for one in bedside.record.series(Signal.VITAL_CAPACITY).items if one.is_exact]
    if not told or not results or bedside.ventilation is not None:
        return
    newest = results[-1]
    if bedside.as_of - newest.at > criteria.COUNTS_FOR.length:
        return
    weight = bedside.record.series(Signal.WEIGHT).recent(bedside.as_of, criteria.WEIGHT_COUNTS_FOR.length)
    best = _best_before(results)
    levels = [_level(one, weight, before) for one, before in zip(results, best, strict=True)]
    run = run_at_level([one.at for one in results], levels)
    said = f"vital capacity {_said(newest, weight, best[-1])}"
    what = f"Breathing muscles failing? {told[0].text} with {said}" if levels[-1] else capital(said)
    yield tell(
        About(Kind.METABOLIC, "vital-capacity", Letter.BREATHING),
        _URGENCY[levels[-1]],
        rests_on(
            bedside,
            run.since if run is not None and levels[-1] else None,
            (Signal.VITAL_CAPACITY, newest),
            weight,
            told[0].origin,
            at=newest.at,
        ),
        brief=what,
        asks=criteria.ASKS.text if levels[-1] else "",
        sources=(
            criteria.LOW if weight is not None else criteria.LOW_WITHOUT_WEIGHT,
            criteria.FALL,
            criteria.BEFORE,
        ),
        decided_by="vital capacity for the weight, and its fall" if levels[-1] else "",
    )


def _best_before(results: Sequence[Measurement]) -> list[Measurement | None]:
    """Return the best of the days before each result."""
    best = SlidingExtreme(criteria.BEFORE.length, highest=True)
    found: list[Measurement | None] = []
    for place, one in enumerate(results):
        before = best.before(one.at)
        found.append(results[before] if before is not None else None)
        best.add(one.at, one.value, place)
    return found


def _level(one: Measurement, weight: Measurement | None, before: Measurement | None) -> int:
    """Rank a result: 2 too small, 1 smaller by more than a third of what it was, 0 neither."""
    small = criteria.LOW.is_met_by(one.value / weight.value) if weight is not None and weight.value else None
    if small if small is not None else criteria.LOW_WITHOUT_WEIGHT.is_met_by(one.value):
        return 2
    return int(before is not None and one.value < before.value * (1 - criteria.FALL.value))


def _said(newest: Measurement, weight: Measurement | None, before: Measurement | None) -> str:
    a_kilogram = ""
    if weight is not None and weight.value:
        a_kilogram = f", {plain(round_half_up(newest.value / weight.value, _WHOLE))} mL/kg"
    down = f", down from {plain(before.value)}" if before is not None and before.value > newest.value else ""
    return f"{plain(newest.value)} mL{a_kilogram}{down}"
