"""The evaluation as one value that is written as JSON and shown as a page.

Only counts and shares leave this module. No patient, no single time.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import timedelta

from weatherglass.evaluation import extra
from weatherglass.evaluation.beside.counting import Beside
from weatherglass.evaluation.counting.burden import USUAL, Staffing
from weatherglass.evaluation.counting.calibration import After, after_findings
from weatherglass.evaluation.counting.measures import Ladder, measure
from weatherglass.evaluation.counting.practice import Meeting, Practice, meetings, practices
from weatherglass.evaluation.counting.ward_time import patient_days
from weatherglass.evaluation.inputs.gathering import Gathered
from weatherglass.evaluation.inputs.own_rules import OwnRules
from weatherglass.evaluation.trace import REVIEW, Tallied, Trace, Watched, watch

CAUTIONS = (
    "These figures describe the data that were given and nothing else.",
    ("A record written afterwards knows more than the ward knew: conditions and orders "
    "without a date of their own are visible from the start."),
    ("Outcomes were prevented where somebody acted in time, and such a stay counts here "
    "as one without an outcome; alerts that helped look false."),
    ("Intervals are drawn by patient, because rounds of one patient resemble each other; the shares "
    "themselves still count more of whoever was measured more often."),
    "Small counts can point to single people: share this page as you would share the data.",
)  # fmt: skip
_REVIEW_RUNGS = {1: "prompt", 2: "urgent", 3: "emergency"}
#: The urgencies of a review at which somebody is asked for something.
_ASKED = (1, 2, 3)


@dataclass(frozen=True, slots=True)
class Calls:
    """What became of the calls of a list.

    Attributes:
        counted: Calls made while their patient was on a ward.
        not_on_ward: Calls made while it was not.
        unmatched: Calls for patients who are not in the data.
    """

    counted: int
    not_on_ward: int
    unmatched: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Scope:
    """What was asked for.

    Attributes:
        horizon: How long before an outcome a warning counts.
        outcomes: Where the outcomes come from, in words.
        unmatched: Outcomes of a list whose patient is not in the data.
        staffing: Who looks after how many, and how long an alert silences the next.
        calls: What became of a list of the present practice's calls; None without one.
        repeats: How often patients were drawn for the intervals of the areas.
        seed: Where the drawing started.
    """

    horizon: timedelta
    outcomes: str
    unmatched: int = 0
    staffing: Staffing = USUAL
    calls: Calls | None = None
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
        findings: What followed when a finding newly reached an urgency.
        practices: The calls of the present practice, by kind.
        meetings: The review at each urgency beside these calls.
        issues: Inputs not used or used with a reservation, by our code.
        cautions: What has to be read first.
        beside: The rules that these are held beside; None without any.
        tables: Rows of each table that was written; empty where none was.
        left_out: What is not told because an extra is not installed; empty where all is there.
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
    findings: tuple[After, ...]
    practices: tuple[Practice, ...]
    meetings: tuple[Meeting, ...]
    issues: Mapping[str, int]
    cautions: tuple[str, ...] = CAUTIONS
    beside: Beside | None = None
    tables: Mapping[str, int] = field(default_factory=dict)
    left_out: str = ""

    @property
    def is_test_data(self) -> bool:
        """Whether any of the patients is marked as test data."""
        return self.patients["marked as test data"] > 0


def report(gathered: Gathered, scope: Scope, own: OwnRules) -> Report:
    """Measure everything.

    Args:
        gathered: The replayed patients.
        scope: What was asked for.
        own: The rules in use.
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
    in_use = {**own.published, REVIEW: _ASKED}
    rearm = scope.staffing.rearm
    return Report(
        software=own.software,
        rules=own.rules,
        scope=scope,
        lines=gathered.lines,
        patients=_patients(gathered),
        days=days,
        days_without_stay=patient_days(every) - days,
        first=_month(with_stay, first=True),
        last=_month(with_stay, first=False),
        outcomes=tallied,
        ladders=tuple(
            measure(
                key,
                watched,
                scope.horizon,
                in_use=in_use.get(key, ()),
                staffing=scope.staffing,
                repeats=scope.repeats,
                seed=scope.seed,
            )
            for key in (REVIEW, *keys)
        ),
        names={**own.names, REVIEW: "Urgency of the whole review"},
        published=in_use,
        onsets=_onsets(watched, days),
        findings=after_findings(watched, scope.horizon, days),
        practices=practices(watched, scope.horizon, rearm) if scope.calls is not None else (),
        meetings=meetings(REVIEW, watched, _ASKED, scope.horizon, rearm) if scope.calls is not None else (),
        issues=dict(gathered.issues.most_common()),
        left_out="" if extra.is_installed() else extra.LEFT_OUT,
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
        total.update(onset.kind for onset in one.trace.onsets if onset.is_new)
    return {kind: 100 * number / days for kind, number in total.most_common()} if days else {}


def rung(key: str, level: int) -> str:
    """Name a level of a ladder: a number for a score, a word for the review."""
    return _REVIEW_RUNGS.get(level, "routine") if key == REVIEW else str(level)
