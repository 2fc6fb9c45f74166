"""The evaluation as one value that is written as JSON and shown as a page.

Only counts and shares leave this module. No patient, no single time.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import timedelta
from typing import Any

from weatherglass.evaluation.counting.measures import Incomplete, Ladder, measure, patient_days
from weatherglass.evaluation.events import Tallied, Watched, watch
from weatherglass.evaluation.gathering import Gathered
from weatherglass.evaluation.trace import REVIEW, Trace

CAUTIONS = (
    "These figures describe the data that were given and nothing else.",
    ("A record written afterwards knows more than the ward knew: conditions and orders "
    "without a date of their own are visible from the start."),
    ("Outcomes were prevented where somebody acted in time, and such a stay counts here "
    "as one without an outcome; alerts that helped look false."),
    ("Intervals of shares treat rounds and alerts as independent of each other and are too narrow "
    "where few patients give many; intervals of areas are drawn by patient."),
    "Small counts can point to single people: share this page as you would share the data.",
)  # fmt: skip
_REVIEW_RUNGS = {1: "prompt", 2: "urgent", 3: "emergency"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Scope:
    """What was asked for.

    Attributes:
        horizon: How long before an outcome a warning counts.
        outcomes: Where the outcomes come from, in words.
        unmatched: Outcomes of a list whose patient is not in the data.
        repeats: How often patients were drawn for the intervals of the areas.
        seed: Where the drawing started.
    """

    horizon: timedelta
    outcomes: str
    unmatched: int = 0
    repeats: int
    seed: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """The whole evaluation.

    Attributes:
        software: Version of the software.
        rules: Version of each rule set.
        scope: What was asked for.
        lines: Lines of the input.
        patients: Patients by what became of them.
        days: Patient-days on wards, of patients with a recorded stay.
        days_without_stay: Patient-days between values of patients without any Encounter; in no figure here.
        first: Month of the first moment, last the month of the last ("2026-03").
        outcomes: What became of the outcomes.
        ladders: Each score, and the review as a whole.
        names: What each ladder is called.
        published: Totals at which the publication of a score asks for a response.
        onsets: How often each kind of finding newly appeared, for each 100 patient-days.
        issues: Inputs not used or used with a reservation, by our code.
    """

    software: str
    rules: Mapping[str, str]
    scope: Scope
    lines: int
    patients: Mapping[str, int]
    days: float
    days_without_stay: float
    first: str
    last: str
    outcomes: Tallied
    ladders: tuple[Ladder, ...]
    names: Mapping[str, str]
    published: Mapping[str, tuple[int, ...]]
    onsets: Mapping[str, float]
    issues: Mapping[str, int]
    cautions: tuple[str, ...] = CAUTIONS

    @property
    def is_test_data(self) -> bool:
        """Whether any of the patients is marked as test data."""
        return self.patients["marked as test data"] > 0


def report(
    gathered: Gathered,
    scope: Scope,
    *,
    software: str,
    rules: Mapping[str, str],
    names: Mapping[str, str],
    published: Mapping[str, tuple[int, ...]],
) -> Report:
    """Measure everything.

    Args:
        gathered: The replayed patients.
        scope: What was asked for.
        software: Version of the software.
        rules: Version of each rule set.
        names: What each score is called.
        published: Totals at which the publication of a score asks for a response.
    """
    with_stay = [trace for trace in gathered.traces if trace.has_stay]
    watched, tallied = watch(with_stay, scope.horizon)
    rounds: Counter[str] = Counter()
    for trace in with_stay:
        rounds.update({key: len(steps) for key, steps in trace.ladders.items() if key != REVIEW})
    # The score of most rounds first; of two alike, by name.
    keys = sorted(rounds, key=lambda key: (-rounds[key], key != "news2", key))
    days = patient_days(watched)
    every, _ = watch(gathered.traces, scope.horizon)
    return Report(
        software=software,
        rules=rules,
        scope=scope,
        lines=gathered.lines,
        patients=_patients(gathered),
        days=days,
        days_without_stay=patient_days(every) - days,
        first=_month(with_stay, first=True),
        last=_month(with_stay, first=False),
        outcomes=tallied,
        ladders=tuple(
            measure(key, watched, scope.horizon, repeats=scope.repeats, seed=scope.seed)
            for key in (REVIEW, *keys)
        ),
        names={**names, REVIEW: "Urgency of the whole review"},
        published={**published, REVIEW: (2, 3)},
        onsets=_onsets(watched, days),
        issues=dict(gathered.issues.most_common()),
    )


def _patients(gathered: Gathered) -> dict[str, int]:
    traces = gathered.traces
    return {
        "replayed": len(traces),
        "never on a ward": gathered.never_on_ward,
        "could not be read": gathered.unreadable,
        "without a recorded stay": sum(not trace.has_stay for trace in traces),
        "marked as test data": sum(trace.is_test_data for trace in traces),
    }


def _month(traces: Sequence[Trace], *, first: bool) -> str:
    """Return the month of the first or last moment; a day would be too much to tell."""
    moments = [each for trace in traces for s in trace.stretches for each in (s.starts, s.ends)]
    if not moments:
        return ""
    return (min(moments) if first else max(moments)).strftime("%Y-%m")


def _onsets(watched: Sequence[Watched], days: float) -> dict[str, float]:
    total: Counter[str] = Counter()
    for one in watched:
        total.update(one.trace.onsets)
    return {kind: 100 * number / days for kind, number in total.most_common()} if days else {}


def rung(key: str, level: int) -> str:
    """Name a level of a ladder: a number for a score, a word for the review."""
    return _REVIEW_RUNGS.get(level, "routine") if key == REVIEW else str(level)


# As JSON


def as_json(whole: Report) -> dict[str, Any]:
    """Return the report as plain values, rounded to what can be meant."""
    return {
        "software": whole.software,
        "ruleSets": dict(whole.rules),
        "cautions": list(whole.cautions),
        "scope": {
            "horizonHours": whole.scope.horizon / timedelta(hours=1),
            "outcomes": whole.scope.outcomes,
            "listedForUnknownPatients": whole.scope.unmatched,
            "intervalRepeats": whole.scope.repeats,
            "intervalSeed": whole.scope.seed,
        },
        "input": {"lines": whole.lines, "notUsedOrWithReservation": dict(whole.issues)},
        "patients": dict(whole.patients),
        "patientDays": round(whole.days, 2),
        "patientDaysWithoutStay": round(whole.days_without_stay, 2),
        "firstMonth": whole.first,
        "lastMonth": whole.last,
        "outcomes": {
            "counted": dict(whole.outcomes.counted),
            "notPrecededByWardTime": whole.outcomes.not_on_ward,
            "sameEventAgain": whole.outcomes.same_again,
            "dayOnly": whole.outcomes.day_only,
        },
        "newFindingsPer100PatientDays": {kind: round(rate, 2) for kind, rate in whole.onsets.items()},
        "ladders": [_ladder(one, whole) for one in whole.ladders],
    }


def _ladder(ladder: Ladder, whole: Report) -> dict[str, Any]:
    return {
        "key": ladder.key,
        "name": whole.names.get(ladder.key, ladder.key),
        "patients": ladder.patients,
        "rounds": ladder.rounds,
        "publishedThresholds": list(whole.published.get(ladder.key, ())),
        "areaUnderCurve": {
            "allRounds": _rounded(asdict(ladder.area)),
            "completeRounds": _rounded(asdict(ladder.area_complete)),
            "highestOfStay": _rounded(asdict(ladder.area_highest)),
        },
        "thresholds": [
            {
                "atLeast": one.threshold,
                "name": rung(ladder.key, one.threshold),
                "sensitivity": _rounded(one.sensitivity._asdict()),
                "specificity": _rounded(one.specificity._asdict()),
                "positivePredictiveValue": _rounded(one.predictive_value._asdict()),
                "outcomesWarned": _rounded(one.outcomes_warned._asdict()),
                "alertsBeforeOutcome": _rounded(one.alerts._asdict()),
                "alertsPer100PatientDays": _round(one.alerts_per_100_days, 2),
                "roundsPer100PatientDays": _round(one.rounds_per_100_days, 2),
                "rearmedAlertsPer100PatientDays": _round(one.armed_per_100_days, 2),
                "leadHours": _rounded(one.lead._asdict()) if one.lead is not None else None,
                "leadHoursCounted": {str(hour): number for hour, number in one.lead_hours.items()},
            }
            for one in ladder.thresholds
        ],
        "incomplete": _incomplete(ladder.incomplete),
    }


def _incomplete(found: Incomplete) -> dict[str, Any]:
    return {
        "rounds": _rounded(found.rounds._asdict()),
        "reasons": [
            {"input": key, "reason": reason, "rounds": number}
            for (key, reason), number in found.reasons.items()
        ],
        "couldHaveReached": {str(level): number for level, number in found.could_reach.items()},
    }


def _rounded(values: Mapping[str, Any]) -> dict[str, Any]:
    return {name: _round(value, 4) for name, value in values.items()}


def _round(value: Any, places: int) -> Any:
    return round(value, places) if isinstance(value, float) else value
