"""What a comparison on the past comes to: how much is said otherwise, and which outcomes that would meet."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import timedelta

from weatherglass.comparison.both_sides import other_rule_sets
from weatherglass.comparison.differences import Course, Criterion, Turn
from weatherglass.evaluation.beside.said import About, Said
from weatherglass.evaluation.beside.spans import Span
from weatherglass.evaluation.counting.alerts import first_warning, rearmed, time_above
from weatherglass.evaluation.counting.intervals import Part, Proportion, Quartiles, proportion, quartiles
from weatherglass.evaluation.counting.thresholds import per_100_days
from weatherglass.evaluation.trace import Step, Watched

_HOUR = timedelta(hours=1)
#: The urgencies at which somebody is asked for something.
ASKED = (1, 2, 3)


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """What one side costs at one urgency, for each 100 patient-days, and how early it was."""

    armed_per_100_days: float | None
    hours_per_100_days: float | None
    warned: Proportion
    lead: Quartiles | None


@dataclass(frozen=True, slots=True, kw_only=True)
class AtUrgency:
    """Both sides at one urgency.

    Attributes:
        threshold: At least this urgency.
        old: The rules that are compared with.
        new: The rules that are compared.
        both: Outcomes that both warn of in time.
        only_old: Of all outcomes, those that the old rules alone warn of.
        only_new: Of all outcomes, those that the new rules alone warn of.
        neither: Outcomes that neither warns of.
    """

    threshold: int
    old: Load
    new: Load
    both: int
    only_old: Proportion
    only_new: Proportion
    neither: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """Two sets of rules on one past.

    Attributes:
        compared: Patients of both sides.
        different: Patients of whom something is said otherwise at some moment.
        only_old: Patients that only the old side has.
        only_new: Patients that only the new side has.
        courses: Patients by the worst of their spans.
        hours: Hours of such spans for each 100 patient-days; None without ward time.
        criteria: By criterion, in how many patients it turned in which way.
        urgencies: Both sides at each urgency.
        warnings: What a reader has to know first.
    """

    old: About
    new: About
    compared: int
    different: int
    only_old: int
    only_new: int
    courses: Mapping[Course, int]
    hours: Mapping[Course, float | None]
    criteria: Mapping[Criterion, Counter[Turn]]
    urgencies: tuple[AtUrgency, ...]
    warnings: tuple[str, ...]

    @property
    def rule_sets(self) -> tuple[str, ...]:
        """Rule sets that are not the same on both sides; a policy alone changes none."""
        return other_rule_sets(self.old.rules, self.new.rules)


@dataclass(slots=True)
class Tally:
    """Counts patient after patient; rates and outcomes of those with a recorded stay alone."""

    horizon: timedelta
    rearm: timedelta
    compared: int = 0
    different: int = 0
    courses: Counter[Course] = field(default_factory=Counter)
    hours: Counter[Course] = field(default_factory=Counter)
    criteria: dict[Criterion, Counter[Turn]] = field(default_factory=dict)
    sides: dict[int, tuple["_Side", "_Side"]] = field(
        default_factory=lambda: {urgency: (_Side(), _Side()) for urgency in ASKED}
    )
    pairs: dict[int, list[tuple[int, int, int, int]]] = field(
        default_factory=lambda: {urgency: [] for urgency in ASKED}
    )

    def add(self, spans: Sequence[Span]) -> None:
        """Count what is said otherwise of one patient."""
        self.compared += 1
        if not spans:
            return
        self.different += 1
        worst = min((span.first for span in spans), key=lambda one: one.order)
        self.courses[worst.course] += 1
        for criterion, turn in dict.fromkeys((f.criterion, f.turn) for s in spans for f in s.first.findings):
            self.criteria.setdefault(criterion, Counter())[turn] += 1

    def add_time(self, one: Watched, spans: Sequence[Span], old: Said, new: Said) -> None:
        """Count the time, the alerts and the outcomes of one patient with a recorded stay."""
        for span in spans:
            self.hours[span.first.course] += int(span.length.total_seconds())
        steps = old.steps, new.steps
        for urgency in ASKED:
            early = [
                [first_warning(side, urgency, event.at, self.horizon) for event in one.events]
                for side in steps
            ]
            for side, own, first in zip(self.sides[urgency], steps, early, strict=True):
                side.add(one, own, urgency, self.rearm)
                side.lead += [
                    (e.at - at) / _HOUR for e, at in zip(one.events, first, strict=True) if at is not None
                ]
            seen = Counter((a is not None, b is not None) for a, b in zip(*early, strict=True))
            self.pairs[urgency].append(
                (seen[True, True], seen[True, False], seen[False, True], len(one.events))
            )

    def at(self, urgency: int, days: float) -> AtUrgency:
        """Return both sides at one urgency."""
        pairs = self.pairs[urgency]
        outcomes = sum(of for *_, of in pairs)
        both, only_old, only_new = (sum(pair[place] for pair in pairs) for place in range(3))
        old, new = (
            side.load(days, [(pair[0] + pair[place], pair[3]) for pair in pairs], outcomes)
            for place, side in zip((1, 2), self.sides[urgency], strict=True)
        )
        return AtUrgency(
            threshold=urgency,
            old=old,
            new=new,
            both=both,
            only_old=proportion(((pair[1], pair[3]) for pair in pairs), outcomes=outcomes),
            only_new=proportion(((pair[2], pair[3]) for pair in pairs), outcomes=outcomes),
            neither=outcomes - both - only_old - only_new,
        )


@dataclass(slots=True)
class _Side:
    armed: int = 0
    above: timedelta = timedelta()
    lead: list[float] = field(default_factory=list)

    def add(self, one: Watched, steps: Sequence[Step], urgency: int, rearm: timedelta) -> None:
        self.armed += len(rearmed(steps, urgency, rearm))
        self.above += time_above(steps, urgency, one.trace.stretches)

    def load(self, days: float, warned: Iterable[Part], outcomes: int) -> Load:
        return Load(
            armed_per_100_days=per_100_days(self.armed, days),
            hours_per_100_days=per_100_days(self.above / _HOUR, days),
            warned=proportion(warned, outcomes=outcomes),
            lead=quartiles(self.lead),
        )
