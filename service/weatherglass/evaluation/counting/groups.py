"""The same figures for parts of the patients and of the day: age, sex, ward, hour.

A round, an alert and an hour belong to the group of their own moment, an outcome to that of
the last ward time before it: so the groups of one division add up to the whole.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from weatherglass.evaluation.counting.alerts import first_warning, rearmed
from weatherglass.evaluation.counting.intervals import Proportion, proportion
from weatherglass.evaluation.counting.thresholds import per_100_days
from weatherglass.evaluation.counting.ward_time import DAY, local, pieces, spell_at
from weatherglass.evaluation.trace import Trace, Watched

_SIX_HOURS = timedelta(hours=6)
#: Ours: the ages at which the groups begin.
_AGES = ((80, "80 and over"), (65, "65 to 79"), (40, "40 to 64"), (16, "16 to 39"), (0, "under 16"))
#: Ours: more wards than this are told together, smallest first.
_MOST_WARDS = 12
OTHER_WARDS = "other wards"


@dataclass(frozen=True, slots=True)
class GroupAt:
    """A group at one threshold in use; see `AtThreshold`."""

    threshold: int
    armed_per_100_days: float | None
    sensitivity: Proportion
    predictive_value: Proportion
    outcomes_warned: Proportion


@dataclass(frozen=True, slots=True)
class Group:
    """One group.

    Attributes:
        division: What was divided by: "age", "sex", "ward" or "hour of day".
        days: Its patient-days on wards.
        rounds: How many rounds.
        outcomes: How many outcomes.
        thresholds: Its figures at each threshold in use.
    """

    division: str
    name: str
    days: float
    rounds: int
    outcomes: int
    thresholds: tuple[GroupAt, ...]


#: A threshold, and what became of a round, an alert or an outcome at it.
_Cell = tuple[int, str]
#: An outcome, whatever the threshold.
_EVENT: _Cell = (0, "event")


@dataclass(slots=True)
class _Sum:
    days: float = 0.0
    rounds: int = 0
    outcomes: int = 0
    cells: dict[int, Counter[_Cell]] = field(default_factory=dict)  # By patient.

    def at(self, place: int) -> Counter[_Cell]:
        """Return the counts of one patient."""
        return self.cells.setdefault(place, Counter())


Belongs = Callable[[Trace, datetime], str]


def groups(
    key: str, held: Sequence[Watched], thresholds: Sequence[int], horizon: timedelta, rearm: timedelta
) -> tuple[Group, ...]:
    """Divide a ladder's figures by age, sex, ward and hour of day.

    Args:
        key: Which ladder.
        held: The patients that have it.
        thresholds: Those in use.
        horizon: How long before an outcome a warning counts.
        rearm: How long an alert silences the next.
    """
    if not thresholds:
        return ()
    divisions: tuple[tuple[str, Belongs], ...] = (
        ("age", _age), ("sex", _sex), ("ward", _wards(held)), ("hour of day", _hour),
    )  # fmt: skip
    return tuple(
        _group(name, label, found, thresholds)
        for name, belongs in divisions
        for label, found in sorted(
            _summed(key, held, belongs, thresholds, horizon, rearm).items(), key=lambda item: _place(item[0])
        )
    )


def _place(label: str) -> tuple[int, str]:
    """Sort ages from young to old, and what is not recorded, or other, last."""
    ages = {name: -at for at, (_, name) in enumerate(_AGES)}
    return ages.get(label, 1 if label == OTHER_WARDS or label.endswith("not recorded") else 0), label


def _summed(
    key: str,
    held: Sequence[Watched],
    belongs: Belongs,
    thresholds: Sequence[int],
    horizon: timedelta,
    rearm: timedelta,
) -> dict[str, _Sum]:
    found: dict[str, _Sum] = {}
    for place, one in enumerate(held):
        trace, steps = one.trace, one.steps(key)
        for piece in pieces(trace, _SIX_HOURS):
            found.setdefault(belongs(trace, piece.starts), _Sum()).days += (piece.ends - piece.starts) / DAY
        for step in steps:
            own = found.setdefault(belongs(trace, step.at), _Sum())
            own.rounds += 1
            before = one.followed(step.at, horizon)
            own.at(place).update((t, _cell(said=step.level >= t, before=before)) for t in thresholds)
        for threshold in thresholds:
            for alert in rearmed(steps, threshold, rearm):
                found[belongs(trace, alert)].at(place)[threshold, "alert"] += 1
        for event in one.events:
            own = found.setdefault(belongs(trace, event.at), _Sum())
            own.outcomes += 1
            own.at(place)[_EVENT] += 1
            own.at(place).update(
                (t, "warned") for t in thresholds if first_warning(steps, t, event.at, horizon) is not None
            )
    return found


def _cell(*, said: bool, before: bool) -> str:
    return ("hit" if before else "false") if said else ("missed" if before else "quiet")


def _group(division: str, name: str, found: _Sum, thresholds: Iterable[int]) -> Group:
    rows = tuple(_group_at(found, t, list(found.cells.values())) for t in thresholds)
    return Group(division, name, found.days, found.rounds, found.outcomes, rows)


def _group_at(found: _Sum, t: int, each: Sequence[Counter[_Cell]]) -> GroupAt:
    return GroupAt(
        threshold=t,
        armed_per_100_days=per_100_days(sum(n[t, "alert"] for n in each), found.days),
        sensitivity=_proportion(each, (t, "hit"), (t, "missed"), found.outcomes),
        predictive_value=_proportion(each, (t, "hit"), (t, "false"), found.outcomes),
        outcomes_warned=proportion(((n[t, "warned"], n[_EVENT]) for n in each), outcomes=found.outcomes),
    )


def _proportion(each: Sequence[Counter[_Cell]], counted: _Cell, other: _Cell, outcomes: int) -> Proportion:
    return proportion(((n[counted], n[counted] + n[other]) for n in each), outcomes=outcomes)


def _age(trace: Trace, moment: datetime) -> str:
    age = spell_at(trace, moment).age
    return "age not recorded" if age is None else next(name for least, name in _AGES if age >= least)


def _sex(trace: Trace, moment: datetime) -> str:  # noqa: ARG001 - every division is asked alike
    return trace.sex if trace.sex != "unknown" else "sex not recorded"


def _hour(trace: Trace, moment: datetime) -> str:
    start = local(trace, moment).hour // 6 * 6
    return f"{start:02}:00 to {start + 5:02}:59"


def _wards(held: Iterable[Watched]) -> Belongs:
    time: Counter[str] = Counter()
    for one in held:
        for spell in one.trace.spells:
            time[spell.ward] += int((spell.ends - spell.starts).total_seconds())
    kept = {name for name, _ in time.most_common(_MOST_WARDS)}

    def ward(trace: Trace, moment: datetime) -> str:
        name = spell_at(trace, moment).ward
        return (name or "ward not recorded") if name in kept else OTHER_WARDS

    return ward
