"""Points of a score whose parts may stay open: what is known gives a least and a most.

Every score with open parts is worked out here: organ failure, bleeding from the gut, pneumonia,
coagulation, heparin. An input that is known can only raise the least or lower the most, so that more
data never makes a closed answer open.
"""

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, timedelta
from decimal import Decimal

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.series.limits_met import current
from weatherglass.facts.series.runs import first_of_run
from weatherglass.knowledge.scores.points.point_rows import PointRow
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin
from weatherglass.model.times.known_times import latest
from weatherglass.model.words.lists import listed
from weatherglass.model.words.value_words import named_value

_NEVER = datetime.max.replace(tzinfo=UTC)


class Known(Plain, frozen=True):
    """What is known of one input.

    Attributes:
        shown: As it is said.
        numbers: A number with its own past, oldest first, the newest last; empty of a fact.
        is_there: Whether a fact is there.
        began: When a fact began; of a number its own past tells.
    """

    shown: str
    numbers: tuple[tuple[datetime, Decimal], ...] = ()
    origins: tuple[Origin, ...] = ()
    is_there: bool = True
    began: datetime | None = None

    @property
    def at(self) -> datetime | None:
        """When it was measured."""
        return self.numbers[-1][0] if self.numbers else self.began


class Points(Plain, frozen=True):
    """The points of one part.

    Attributes:
        lowest: What it surely has.
        highest: What it could have.
        began: When its present points were first reached without a break; None at no points.
        baseline: The points of its own past; 0 where nothing is known.
        shown: The value that decided, or that it is not recorded.
        missing: What is not recorded; empty where something is known.
        is_stand_in: Whether another answer stands in for the one that the row asks for.
        now: What the worse of its two newest values surely has; None where nobody can say.
    """

    part: str
    lowest: int
    highest: int
    began: datetime | None
    baseline: int
    shown: str
    at: datetime | None = None
    origins: tuple[Origin, ...] = ()
    missing: str = ""
    is_stand_in: bool = False
    now: int | None = None

    @property
    def is_open(self) -> bool:
        """Whether an input is missing that could add points."""
        return self.lowest != self.highest


class OpenTotal(Plain, frozen=True):
    """All parts of one score."""

    score: str
    parts: tuple[Points, ...]

    @property
    def lowest(self) -> int:
        """The total that is sure."""
        return sum(one.lowest for one in self.parts)

    @property
    def highest(self) -> int:
        """The total that is possible."""
        return sum(one.highest for one in self.parts)

    @property
    def baseline(self) -> int:
        """The total of the own past, 0 where nothing is known."""
        return sum(one.baseline for one in self.parts)

    @property
    def gained_now(self) -> int:
        """How far above the own past the newest values are."""
        return sum((one.lowest if one.now is None else one.now) - one.baseline for one in self.parts)

    @property
    def unknown(self) -> tuple[Points, ...]:
        """The parts that leave the total open."""
        return tuple(one for one in self.parts if one.is_open)

    def reached_since(self, least: int) -> datetime | None:
        """When so many points above the baseline were first reached by what is there now.

        What has no beginning (an age) was there before everything else. None below so many points,
        and where nothing that counts has a beginning.
        """
        gained = sum(min(0, one.lowest - one.baseline) for one in self.parts)
        worse = [one for one in self.parts if one.lowest > one.baseline]
        gained += sum(one.lowest - one.baseline for one in worse if one.began is None)
        for one in sorted(worse, key=lambda each: each.began or _NEVER):
            if one.began is None:
                continue
            gained += one.lowest - one.baseline
            if gained >= least:
                return one.began
        return None


def unknown_points(part: str, what: str, highest: int) -> Points:
    """Return a part of which nothing is known."""
    return Points(part, 0, highest, None, 0, f"{what} not recorded", missing=what)


def points_of_part(
    part: str, rows: Sequence[PointRow], known: Mapping[str, Known | None], *, what: str = ""
) -> Points:
    """Return the points of one part.

    Args:
        part: Which.
        rows: Of the whole score.
        known: By input; None or not there is not known.
        what: What is not recorded, in words; empty where the inputs say it.
    """
    own = [row for row in rows if row.part == part]
    met = [row for row in own if (one := known.get(row.input)) is not None and _is_met(row, one)]
    missing = [row for row in own if known.get(row.input) is None]
    best = max(met, key=lambda row: row.points, default=None)
    lowest = best.points if best is not None else 0
    highest = max((row.points for row in missing), default=0)
    if best is None:
        return _without_points(part, own, known, highest, what)
    one = known[best.input]
    assert one is not None  # noqa: S101 - it met the row
    began = _began([row for row in own if row.input == best.input and row.points >= lowest], one)
    return Points(part, lowest, max(lowest, highest), began, 0, one.shown, one.at, one.origins)


def _without_points(
    part: str, own: Sequence[PointRow], known: Mapping[str, Known | None], highest: int, what: str
) -> Points:
    inputs = dict.fromkeys(row.input for row in own)
    there = [one for name in inputs if (one := known.get(name)) is not None]
    gone = [name.replace("-", " ") for name in inputs if known.get(name) is None]
    missing = (what or listed(gone)) if highest else ""
    shown = f"{missing} not recorded" if missing else listed([one.shown for one in there])
    at = latest(one.at for one in there)
    origins = tuple(dict.fromkeys(origin for one in there for origin in one.origins))
    return Points(part, 0, highest, None, 0, shown, at, origins, missing)


def _is_met(row: PointRow, one: Known) -> bool:
    if row.cutoff is None:
        return one.is_there
    return bool(one.numbers) and row.cutoff.is_met_by(one.numbers[-1][1])


def _began(rows: Sequence[PointRow], one: Known) -> datetime | None:
    """Return since when a number has met any of these rows without a break."""
    if not one.numbers:
        return one.began
    cutoffs = [row.cutoff for row in rows if row.cutoff is not None]
    first = first_of_run(one.numbers, lambda each: any(cutoff.is_met_by(each[1]) for cutoff in cutoffs))
    return (first or one.numbers[-1])[0]


def number_known(bedside: Bedside, signal: Signal, counts_for: timedelta) -> Known | None:
    """Return what is known of a signal: its newest exact value, where that still counts."""
    return newest_known(signal, current(bedside.record.series(signal).items, bedside.as_of, counts_for))


def newest_known(signal: Signal, items: Sequence[Measurement]) -> Known | None:
    """Return what is known of a signal by its exact values, oldest first; None where there are none."""
    if not items:
        return None
    return Known(
        named_value(signal, items[-1]), tuple((one.at, one.value) for one in items), (items[-1].origin,)
    )


def either_of(first: Points, second: Points) -> Points:
    """Return what holds where either of two readings may be the right one."""
    lowest, highest = min(first.lowest, second.lowest), max(first.highest, second.highest)
    least = first if first.lowest <= second.lowest else second
    return replace(least, lowest=lowest, highest=highest)
