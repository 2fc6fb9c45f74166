"""What a ladder is worth on the data: alerts, hits, misses, and how early, at every threshold.

Three ways of counting, because each answers another question. By round: of all rounds,
which are at or above the threshold, and which come before an outcome. By alert: rounds
at or above the threshold that follow each other are one alert, because they are one
call. By outcome: was there an alert in time, and how early.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import timedelta

from weatherglass.evaluation.counting.discrimination import Area, Tally, area, tally
from weatherglass.evaluation.counting.intervals import Share, Spread, bare_share, share, spread
from weatherglass.evaluation.events import Watched
from weatherglass.evaluation.trace import Step

_HOUR = timedelta(hours=1)
#: Ours: how long an alert silences the next one where alerts are counted re-armed.
REARMED_AFTER = timedelta(hours=8)
#: Ours: from fewer outcomes than this no interval is given.
FEWEST_OUTCOMES = 10


@dataclass(frozen=True, slots=True)
class AtThreshold:
    """A ladder at one threshold.

    Attributes:
        threshold: At least this level.
        sensitivity: Of rounds before an outcome, those at or above.
        specificity: Of other rounds, those below.
        predictive_value: Of rounds at or above, those before an outcome.
        outcomes_warned: Of outcomes, those with a round at or above within the horizon.
        alerts: How many alerts, and how many of them before an outcome.
        alerts_per_100_days: Alerts for each 100 patient-days on the ward; None without ward time.
        rounds_per_100_days: Rounds at or above for each 100 patient-days; never rises with the threshold.
        armed_per_100_days: Alerts for each 100 patient-days when one silences those of the next
            `REARMED_AFTER`; never rises with the threshold.
        lead: From the first round at or above within the horizon to the outcome, in hours.
        lead_hours: The same, counted in whole hours.
    """

    threshold: int
    sensitivity: Share
    specificity: Share
    predictive_value: Share
    outcomes_warned: Share
    alerts: Share
    alerts_per_100_days: float | None
    rounds_per_100_days: float | None
    armed_per_100_days: float | None
    lead: Spread | None
    lead_hours: dict[int, int]


@dataclass(frozen=True, slots=True)
class Incomplete:
    """How often something was missing.

    Attributes:
        rounds: Incomplete rounds among all.
        reasons: How often each input was missing, by input and reason.
        could_reach: By threshold, incomplete rounds below it that could have reached it.
    """

    rounds: Share
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
        thresholds: Each level that occurs, from low to high.
        incomplete: What was missing.
    """

    key: str
    patients: int
    rounds: int
    area: Area
    area_complete: Area
    area_highest: Area
    thresholds: tuple[AtThreshold, ...]
    incomplete: Incomplete


def patient_days(watched: Iterable[Watched]) -> float:
    """Return the time on wards, in days."""
    total = sum((stretch.length for one in watched for stretch in one.trace.stretches), start=timedelta())
    return total / timedelta(days=1)


def measure(key: str, watched: Sequence[Watched], horizon: timedelta, *, repeats: int, seed: int) -> Ladder:
    """Measure one ladder.

    Args:
        key: Which.
        watched: The patients with the outcomes that count.
        horizon: How long before an outcome a warning counts.
        repeats: How often patients are drawn for the intervals of the area.
        seed: Where the drawing starts.
    """
    held = [one for one in watched if one.steps(key)]
    levels = sorted({step.level for one in held for step in one.steps(key)})
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
        thresholds=tuple(_at(level, key, held, horizon, days) for level in levels if level > 0),
        incomplete=_incomplete(key, held, levels),
    )


def _tally(one: Watched, key: str, horizon: timedelta, *, complete: bool = False) -> Tally:
    steps = (step for step in one.steps(key) if step.is_complete or not complete)
    return tally((step.level, one.followed(step.at, horizon)) for step in steps)


def _highest(one: Watched, key: str) -> Tally:
    return tally([(max(step.level for step in one.steps(key)), bool(one.events))])


def _at(threshold: int, key: str, held: Sequence[Watched], horizon: timedelta, days: float) -> AtThreshold:
    rounds: Counter[tuple[bool, bool]] = Counter()
    alerts: Counter[bool] = Counter()
    lead: list[float] = []
    warned = outcomes = armed = 0
    for one in held:
        steps = one.steps(key)
        rounds.update((step.level >= threshold, one.followed(step.at, horizon)) for step in steps)
        alerts.update(
            any(one.followed(step.at, horizon) for step in run) for run in runs_of(steps, threshold)
        )
        armed += rearmed(steps, threshold)
        for event in one.events:
            outcomes += 1
            early = next(
                (s.at for s in steps if s.level >= threshold and event.at - horizon <= s.at < event.at), None
            )
            if early is not None:
                warned += 1
                lead.append((event.at - early) / _HOUR)
    made = share if outcomes >= FEWEST_OUTCOMES else bare_share
    hit, missed = rounds[True, True], rounds[False, True]
    false, quiet = rounds[True, False], rounds[False, False]
    return AtThreshold(
        threshold=threshold,
        sensitivity=made(hit, hit + missed),
        specificity=made(quiet, quiet + false),
        predictive_value=made(hit, hit + false),
        outcomes_warned=made(warned, outcomes),
        alerts=made(alerts[True], alerts.total()),
        alerts_per_100_days=100 * alerts.total() / days if days else None,
        rounds_per_100_days=100 * (hit + false) / days if days else None,
        armed_per_100_days=100 * armed / days if days else None,
        lead=spread(lead),
        lead_hours=dict(sorted(Counter(int(hours) for hours in lead).items())),
    )


def runs_of(steps: Sequence[Step], threshold: int) -> list[list[Step]]:
    """Return the runs of neighbouring steps at or above a threshold."""
    runs: list[list[Step]] = []
    above = False
    for step in steps:
        if step.level >= threshold:
            if not above:
                runs.append([])
            runs[-1].append(step)
        above = step.level >= threshold
    return runs


def rearmed(steps: Iterable[Step], threshold: int) -> int:
    """Count alerts of which each silences the ward for `REARMED_AFTER`.

    Taken from the left these are the most rounds that lie that far apart, and more rounds never
    allow fewer: so a lower threshold never counts fewer alerts.
    """
    number, silent_until = 0, None
    for step in steps:
        if step.level >= threshold and (silent_until is None or step.at >= silent_until):
            number, silent_until = number + 1, step.at + REARMED_AFTER
    return number


def _incomplete(key: str, held: Sequence[Watched], levels: Sequence[int]) -> Incomplete:
    steps = [step for one in held for step in one.steps(key)]
    open_steps = [step for step in steps if not step.is_complete]
    reasons = Counter((missed.key, missed.reason) for step in open_steps for missed in step.missed)
    could = {
        level: sum(step.level < level <= step.highest for step in open_steps) for level in levels if level > 0
    }
    return Incomplete(share(len(open_steps), len(steps)), dict(sorted(reasons.items())), could)
