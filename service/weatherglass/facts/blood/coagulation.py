"""Does coagulation fail: the ISTH score of overt DIC, as far as its inputs are there."""

from collections.abc import Iterator
from decimal import Decimal

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.results.open_points import Known, OpenTotal, number_known, points_of_part
from weatherglass.facts.series.limits_met import counting
from weatherglass.knowledge.scores.points import isth_dic_2001 as score
from weatherglass.knowledge.scores.points.point_rows import parts_of
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.plain import replace
from weatherglass.model.record.problems import Condition
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin
from weatherglass.model.words.clauses import Share

#: What the score judges.
COAGULATION = (Signal.PROTHROMBIN_TIME, Signal.D_DIMER, Signal.FIBRINOGEN)
_FOR = score.COUNTS_FOR.length


def dic_disorder(bedside: Bedside) -> tuple[str, tuple[Origin, ...]] | None:
    """Return the disorder on record that brings DIC, in words, None where there is none."""
    infection = bedside.infection
    if infection is not None and not infection.by_orders_alone:
        return "infection", infection.origins
    known: tuple[Condition, ...] = bedside.record.conditions_of(*score.DISORDERS)
    return (known[0].text, (known[0].origin,)) if known else None


def coagulation_is_asked(bedside: Bedside) -> bool:
    """Tell whether platelets are low and were not so before, or fibrinogen is low."""
    fibrinogen = _newest(bedside, Signal.FIBRINOGEN)
    if fibrinogen is not None and score.ASKED_FIBRINOGEN.is_met_by(fibrinogen.value):
        return True
    platelets = _newest(bedside, Signal.PLATELETS)
    if platelets is None or not score.ASKED_PLATELETS.is_met_by(platelets.value):
        return False
    return not is_of_old(bedside, Signal.PLATELETS, platelets, score.OF_OLD)


def is_of_old(bedside: Bedside, signal: Signal, newest: Measurement, up_to: Share) -> bool:
    """Tell whether the last result of 8 to 365 days ago was hardly higher than the newest one."""
    earlier = bedside.record.series(signal).within(
        bedside.as_of - score.OF_OLD_FROM.length, bedside.as_of - score.OF_OLD_UNTIL.length
    )
    exact = [one.value for one in earlier if one.is_exact]
    return bool(exact) and exact[-1] <= newest.value * up_to.value


def is_dic_asked(bedside: Bedside) -> bool:
    """Tell whether an adult has a disorder that brings DIC and a result that asks for its score."""
    is_adult = bedside.may_use_news2
    return is_adult and dic_disorder(bedside) is not None and coagulation_is_asked(bedside)


def overt_dic(bedside: Bedside) -> OpenTotal:
    """Work the score out from the results of two days."""
    known = dict(_known(bedside))
    words = {"fibrin-marker": "D-dimer with its range", "prothrombin-time": "prothrombin time with its range"}
    parts = parts_of(score.ROWS)
    return OpenTotal(
        score.KEY,
        tuple(points_of_part(part, score.ROWS, known, what=words.get(part, "")) for part in parts),
    )


def _known(bedside: Bedside) -> Iterator[tuple[str, Known | None]]:
    yield "platelets", number_known(bedside, Signal.PLATELETS, _FOR)
    yield "fibrinogen", number_known(bedside, Signal.FIBRINOGEN, _FOR)
    yield score.PROLONGATION, _prolongation(bedside)
    marker = _marker(bedside)
    yield score.MARKER, marker
    # A rise is there or not by the laboratory's own range; how strong it is nobody says.
    yield score.STRONG_RISE, marker if marker is not None and not marker.is_there else None


def _newest(bedside: Bedside, signal: Signal) -> Measurement | None:
    return next(reversed(bedside.exact(signal, _FOR)), None)


def _ranged(bedside: Bedside, signal: Signal) -> tuple[Measurement, ...]:
    """Return the results with the range that each is judged by, oldest first.

    One that was sent without a range is judged by the last range of its own method, where there is one;
    a newer result that nobody can judge takes the place of none.
    """
    ranges: dict[str, Decimal] = {}
    found = []
    for one in bedside.record.series(signal).items:
        if one.reference_high is not None:
            ranges[one.method] = one.reference_high
        if one.is_exact and one.method in ranges:
            found.append(replace(one, reference_high=ranges[one.method]))
    return counting(found, bedside.as_of, _FOR)


def _marker(bedside: Bedside) -> Known | None:
    newest = next(reversed(_ranged(bedside, Signal.D_DIMER)), None)
    if newest is None or newest.reference_high is None:
        return None
    is_raised = newest.value > newest.reference_high
    shown = f"D-dimer {plain(newest.value)} mg/L, {'above' if is_raised else 'inside'} the laboratory's range"
    return Known(shown, ((newest.at, newest.value),), (newest.origin,), is_raised)


def _prolongation(bedside: Bedside) -> Known | None:
    """Return by how many seconds the prothrombin time is longer than the laboratory's own limit."""
    times = _ranged(bedside, Signal.PROTHROMBIN_TIME)
    if times:
        numbers = tuple(
            (one.at, one.value - one.reference_high) for one in times if one.reference_high is not None
        )
        return Known(f"prothrombin time {plain(times[-1].value)} s", numbers, (times[-1].origin,))
    inr = _newest(bedside, Signal.INR)
    if inr is None or not score.INR_IS_SHORT.is_met_by(inr.value):
        return None
    return Known(f"INR {plain(inr.value)}", ((inr.at, Decimal(0)),), (inr.origin,))
