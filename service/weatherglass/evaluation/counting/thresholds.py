"""One ladder at one threshold: alerts, hits, misses, and how early.

Three ways of counting, because each answers another question. By round: of all rounds,
which are at or above the threshold, and which come before an outcome. By alert: rounds
at or above the threshold that follow each other are one alert, because they are one
call. By outcome: was there an alert in time, and how early.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta

from weatherglass.evaluation.counting.alerts import first_warning, rearmed, runs_of
from weatherglass.evaluation.counting.intervals import Share, Spread, share, spread
from weatherglass.evaluation.events import Watched

_HOUR = timedelta(hours=1)


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
        armed_per_100_days: Alerts for each 100 patient-days when one silences those that follow it for
            a while; never rises with the threshold.
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


def at_threshold(
    threshold: int, key: str, held: Sequence[Watched], horizon: timedelta, days: float, rearm: timedelta
) -> AtThreshold:
    """Count a ladder at one threshold.

    Args:
        threshold: At least this level.
        key: Which ladder.
        held: The patients that have it.
        horizon: How long before an outcome a warning counts.
        days: Their time on wards.
        rearm: How long an alert silences the next.
    """
    rounds: Counter[tuple[bool, bool]] = Counter()
    alerts: Counter[bool] = Counter()
    armed = 0
    for one in held:
        steps = one.steps(key)
        rounds.update((step.level >= threshold, one.followed(step.at, horizon)) for step in steps)
        alerts.update(any(one.followed(s.at, horizon) for s in run) for run in runs_of(steps, threshold))
        armed += len(rearmed(steps, threshold, rearm))
    lead = lead_times(threshold, key, held, horizon)
    outcomes = sum(len(one.events) for one in held)
    hit, missed = rounds[True, True], rounds[False, True]
    false, quiet = rounds[True, False], rounds[False, False]
    return AtThreshold(
        threshold=threshold,
        sensitivity=share(hit, hit + missed, outcomes=outcomes),
        specificity=share(quiet, quiet + false, outcomes=outcomes),
        predictive_value=share(hit, hit + false, outcomes=outcomes),
        outcomes_warned=share(len(lead), outcomes, outcomes=outcomes),
        alerts=share(alerts[True], alerts.total(), outcomes=outcomes),
        alerts_per_100_days=per_100_days(alerts.total(), days),
        rounds_per_100_days=per_100_days(hit + false, days),
        armed_per_100_days=per_100_days(armed, days),
        lead=spread(lead),
        lead_hours=dict(sorted(Counter(int(hours) for hours in lead).items())),
    )


def per_100_days(number: int, days: float) -> float | None:
    """Return how many for each 100 patient-days; None without any."""
    return 100 * number / days if days else None


def lead_times(threshold: int, key: str, held: Sequence[Watched], horizon: timedelta) -> list[float]:
    """Return how many hours before its outcome each warned outcome was first warned of."""
    found = (
        (event.at, first_warning(one.steps(key), threshold, event.at, horizon))
        for one in held
        for event in one.events
    )
    return [(at - early) / _HOUR for at, early in found if early is not None]
