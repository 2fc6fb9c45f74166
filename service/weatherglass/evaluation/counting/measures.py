"""What a ladder is worth on the data: all that is measured of one score, or of the review as a whole."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta

from weatherglass.evaluation.counting.alerts import first_warning
from weatherglass.evaluation.counting.burden import USUAL, Burden, Staffing, burdens
from weatherglass.evaluation.counting.calibration import Band, bands
from weatherglass.evaluation.counting.discrimination import Area, Tally, area, tally
from weatherglass.evaluation.counting.groups import Group, groups
from weatherglass.evaluation.counting.intervals import FEWEST_OUTCOMES, Part, Proportion, proportion
from weatherglass.evaluation.counting.thresholds import AtThreshold, at_threshold
from weatherglass.evaluation.counting.ward_time import patient_days
from weatherglass.evaluation.trace import Watched


@dataclass(frozen=True, slots=True)
class OfKind:
    """One kind of outcome at one threshold; an interval from its own number of outcomes."""

    kind: str
    threshold: int
    warned: Proportion


def warned_by_kind(
    key: str, held: Sequence[Watched], thresholds: Sequence[int], horizon: timedelta
) -> tuple[OfKind, ...]:
    """Count the outcomes of each kind, and those with a round at or above within the horizon.

    Args:
        key: Which ladder.
        held: The patients that have it.
        thresholds: Those in use.
        horizon: How long before an outcome a warning counts.
    """
    every = Counter(event.kind for one in held for event in one.events)
    return tuple(
        OfKind(kind, threshold, proportion(_parts(kind, key, held, threshold, horizon), outcomes=number))
        for kind, number in sorted(every.items())
        for threshold in thresholds
    )


def _parts(
    kind: str, key: str, held: Sequence[Watched], threshold: int, horizon: timedelta
) -> Iterator[Part]:
    for one in held:
        own = [event.at for event in one.events if event.kind == kind]
        early = (first_warning(one.steps(key), threshold, at, horizon) for at in own)
        yield sum(first is not None for first in early), len(own)


@dataclass(frozen=True, slots=True)
class Incomplete:
    """How often something was missing.

    Attributes:
        rounds: Incomplete rounds among all.
        reasons: How often each input was missing, by input and reason.
        could_reach: By threshold, incomplete rounds below it that could have reached it.
    """

    rounds: Proportion
    reasons: dict[tuple[str, str], int]
    could_reach: dict[int, int]


@dataclass(frozen=True, slots=True)
class Ladder:
    """One score, or the review as a whole.

    Attributes:
        key: The score's key, or "review".
        patients: Patients with at least one round; only they and their time count here.
        rounds: How many rounds.
        area: Area under the curve over all rounds, at the lowest possible total.
        area_complete: The same over complete rounds only.
        area_highest: By patient: the highest level of the stay against any outcome.
        thresholds: Each level that occurs, and each in use, from low to high.
        incomplete: What was missing.
        bands: What followed at the levels between the thresholds in use.
        kinds: Outcomes warned of by kind.
        groups: The figures of parts of the patients and of the day.
        burdens: What each threshold in use asks of staff.
    """

    key: str
    patients: int
    rounds: int
    area: Area
    area_complete: Area
    area_highest: Area
    thresholds: tuple[AtThreshold, ...]
    incomplete: Incomplete
    bands: tuple[Band, ...]
    kinds: tuple[OfKind, ...]
    groups: tuple[Group, ...]
    burdens: tuple[Burden, ...]


def measure(
    key: str,
    watched: Sequence[Watched],
    horizon: timedelta,
    *,
    in_use: Sequence[int] = (),
    staffing: Staffing = USUAL,
    repeats: int,
    seed: int,
) -> Ladder:
    """Measure one ladder.

    Args:
        key: Which.
        watched: The patients with the outcomes that count.
        horizon: How long before an outcome a warning counts.
        in_use: Thresholds at which somebody is asked for something.
        staffing: Who looks after how many, and how long an alert silences the next.
        repeats: How often patients are drawn for the intervals of the area.
        seed: Where the drawing starts.
    """
    held = [one for one in watched if one.steps(key)]
    levels = sorted({step.level for one in held for step in one.steps(key)} | set(in_use if held else ()))
    days = patient_days(held)
    repeats = repeats if sum(len(one.events) for one in held) >= FEWEST_OUTCOMES else 0
    return Ladder(
        key=key,
        patients=len(held),
        rounds=sum(len(one.steps(key)) for one in held),
        area=area([_tally(one, key, horizon) for one in held], repeats=repeats, seed=seed),
        area_complete=area(
            [_tally(one, key, horizon, complete=True) for one in held], repeats=repeats, seed=seed
        ),
        area_highest=area([_highest(one, key) for one in held], repeats=repeats, seed=seed),
        thresholds=tuple(
            at_threshold(level, key, held, horizon, days, staffing.rearm) for level in levels if level > 0
        ),
        incomplete=_incomplete(key, held, levels),
        bands=bands(key, held, in_use, horizon),
        kinds=warned_by_kind(key, held, in_use, horizon),
        groups=groups(key, held, in_use, horizon, staffing.rearm),
        burdens=burdens(key, held, in_use, staffing),
    )


def _tally(one: Watched, key: str, horizon: timedelta, *, complete: bool = False) -> Tally:
    steps = (step for step in one.steps(key) if step.is_complete or not complete)
    return tally((step.level, one.followed(step.at, horizon)) for step in steps)


def _highest(one: Watched, key: str) -> Tally:
    return tally([(max(step.level for step in one.steps(key)), bool(one.events))])


def _incomplete(key: str, held: Sequence[Watched], levels: Sequence[int]) -> Incomplete:
    steps = [step for one in held for step in one.steps(key)]
    open_steps = [step for step in steps if not step.is_complete]
    reasons = Counter((missed.key, missed.reason) for step in open_steps for missed in step.missed)
    could = {
        level: sum(step.level < level <= step.highest for step in open_steps) for level in levels if level > 0
    }
    parts = [(sum(not s.is_complete for s in one.steps(key)), len(one.steps(key))) for one in held]
    rounds = proportion(parts, outcomes=sum(len(one.events) for one in held))
    return Incomplete(rounds, dict(sorted(reasons.items())), could)
