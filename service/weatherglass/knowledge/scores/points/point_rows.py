"""Read the rows of scores whose parts may stay open: one CSV row a value that brings points.

The columns: the score where a file holds several, the part, the points, the input, when the row is met
(">= 25" in the unit of the input, or "recorded" of what is a fact and no number), what it needs besides,
and the source. Rows of one part: the most points first; of those that are met the most count.
"""

from collections.abc import Mapping
from typing import Final, NamedTuple

from weatherglass.knowledge.data_files import Columns, cite, csv_table, limit
from weatherglass.model.numbers.quantities import Unit
from weatherglass.model.plain import Plain
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source
from weatherglass.model.tables.bands import Cutoff

RECORDED: Final = "recorded"


class PointRow(Plain, frozen=True, kw_only=True):
    """The points that one value brings.

    Attributes:
        cutoff: When a number brings them; None of what is a fact.
        needs: What has to be there besides; empty when nothing.
    """

    score: str
    part: str
    points: int
    input: str
    cutoff: Cutoff | None
    source: Source
    needs: str = ""


class Band(NamedTuple):
    """What a total means, from a number of points on."""

    at_least: int
    label: str
    source: Source


class _Row(Columns, frozen=True):
    part: str
    points: int
    input: str
    when: str
    source: str
    score: str = ""
    needs: str = ""


def point_rows(name: str, units: Mapping[str, Unit] | None = None) -> tuple[PointRow, ...]:
    """Return the rows of `scores/NAME.csv`.

    Args:
        name: The file.
        units: Of inputs that are worked out and no signal of a record.
    """
    own = units or {}

    def made(row: _Row) -> PointRow:
        source = cite(row.source)
        when = None if row.when == RECORDED else _cutoff(row, own, source)
        return PointRow(
            score=row.score,
            part=row.part,
            points=row.points,
            input=row.input,
            cutoff=when,
            source=source,
            needs=row.needs,
        )

    return csv_table(f"scores/points/{name}.csv", _Row, made)


def _cutoff(row: _Row, units: Mapping[str, Unit], source: Source) -> Cutoff:
    unit = units[row.input] if row.input in units else Signal(row.input).unit
    return limit(row.when, unit, source)


def parts_of(rows: tuple[PointRow, ...]) -> tuple[str, ...]:
    """Return the parts of a score in the order of the file."""
    return tuple(dict.fromkeys(row.part for row in rows))


def band_of(bands: tuple[Band, ...], lowest: int, highest: int) -> Band | None:
    """Return the band that a total lies in; None where both ends do not agree.

    Examples:
        >>> from weatherglass.model.sources import our_choice
        >>> bands = (Band(3, "high", our_choice("x")), Band(0, "low", our_choice("x")))
        >>> band_of(bands, 3, 5).label, band_of(bands, 2, 3)
        ('high', None)
    """
    least, most = (next(b for b in bands if total >= b.at_least) for total in (lowest, highest))
    return least if least is most else None
