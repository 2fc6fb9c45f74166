"""One ladder at one threshold: alerts, hits, misses, and how early.

Ways of counting, because each answers another question. By round: of all rounds, which
are at or above the threshold, and which come before an outcome. By alert: rounds at or
above the threshold that follow each other are one alert, because they are one call. By
time: how long patients are at or above it. By outcome: was there an alert in time, and
how early. Rounds, hours and re-armed alerts never rise with the threshold; runs may.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta

from weatherglass.evaluation.counting.alerts import first_warning, rearmed, runs_of, time_above
from weatherglass.evaluation.counting.intervals import Proportion, Quartiles, proportion, quartiles
from weatherglass.evaluation.trace import Watched

_HOUR = timedelta(hours=1)
#: Of a round: whether it is at or above, and whether an outcome followed.
_HIT, _MISSED, _FALSE, _QUIET = (True, True), (False, True), (True, False), (False, False)


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
        hours_per_100_days: Hours at or above for each 100 patient-days, a round standing until the next or
            until the ward is left; never rises with the threshold.
        armed_per_100_days: Alerts for each 100 patient-days when one silences those that follow it for
            a while; never rises with the threshold.
        lead: From the first round at or above within the horizon to the outcome, in hours.
        lead_hours: The same, counted in whole hours.
    """

    threshold: int
    sensitivity: Proportion
    specificity: Proportion
    predictive_value: Proportion
    outcomes_warned: Proportion
    alerts: Proportion
    alerts_per_100_days: float | None
    rounds_per_100_days: float | None
    hours_per_100_days: float | None
    armed_per_100_days: float | None
    lead: Quartiles | None
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
    rounds = [
        Counter((step.level >= threshold, one.followed(step.at, horizon)) for step in one.steps(key))
        for one in held
    ]
    alerts = [
        Counter(any(one.followed(s.at, horizon) for s in run) for run in runs_of(one.steps(key), threshold))
        for one in held
    ]
    armed = sum(len(rearmed(one.steps(key), threshold, rearm)) for one in held)
    above = sum((time_above(one.steps(key), threshold, one.trace.stretches) for one in held), timedelta())
    leads = [lead_times(threshold, key, one, horizon) for one in held]
    lead = [hours for each in leads for hours in each]
    outcomes = sum(len(one.events) for one in held)
    warned = ((len(each), len(one.events)) for one, each in zip(held, leads, strict=True))
    return AtThreshold(
        threshold=threshold,
        sensitivity=proportion(((n[_HIT], n[_HIT] + n[_MISSED]) for n in rounds), outcomes=outcomes),
        specificity=proportion(((n[_QUIET], n[_QUIET] + n[_FALSE]) for n in rounds), outcomes=outcomes),
        predictive_value=proportion(((n[_HIT], n[_HIT] + n[_FALSE]) for n in rounds), outcomes=outcomes),
        outcomes_warned=proportion(warned, outcomes=outcomes),
        alerts=proportion(((n[True], n.total()) for n in alerts), outcomes=outcomes),
        alerts_per_100_days=per_100_days(sum(n.total() for n in alerts), days),
        rounds_per_100_days=per_100_days(sum(n[_HIT] + n[_FALSE] for n in rounds), days),
        hours_per_100_days=per_100_days(above / _HOUR, days),
        armed_per_100_days=per_100_days(armed, days),
        lead=quartiles(lead),
        lead_hours=dict(sorted(Counter(int(hours) for hours in lead).items())),
    )


def per_100_days(number: float, days: float) -> float | None:
    """Return how many for each 100 patient-days; None without any."""
    return 100 * number / days if days else None


def lead_times(threshold: int, key: str, one: Watched, horizon: timedelta) -> list[float]:
    """Return how many hours before its outcome each of a patient's warned outcomes was first warned of."""
    found = ((event.at, first_warning(one.steps(key), threshold, event.at, horizon)) for event in one.events)
    return [(at - early) / _HOUR for at, early in found if early is not None]
