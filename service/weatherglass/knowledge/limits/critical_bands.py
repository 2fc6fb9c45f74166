"""Limits of results as their files have them, with what tells one result before or under another.

It knows no record, so that whoever lays findings out may ask it.
"""

from typing import Final, Literal

from weatherglass.knowledge.data_files import Columns, cite, csv_table, cutoff
from weatherglass.model.signals import Signal
from weatherglass.model.tables.critical_band import CriticalBand
from weatherglass.model.tables.scores import UrgencyWord


class _Row(Columns, frozen=True):
    """A limit; the remark is for whoever reviews the file, and never shown.

    Attributes:
        first: The place of its analyte among results that are as urgent: what kills within the hour.
        by_stage: Whether a stage of kidney injury says it with what it means.
    """

    key: str
    signal: Signal
    when: str
    label: str
    urgency: UrgencyWord
    source: str
    note: str = ""
    remark: str = ""
    first: int = 0
    by_stage: Literal["yes", ""] = ""


def of(name: str) -> tuple[CriticalBand, ...]:
    """Return the rows of `limits/NAME.csv`; inside one key the most severe comes first."""
    return csv_table(f"limits/{name}.csv", _Row, _band)


def _band(row: _Row) -> CriticalBand:
    return CriticalBand(
        key=row.key,
        signal=row.signal,
        label=row.label,
        cutoff=cutoff(row.signal, row.when, cite(row.source)),
        urgency=row.urgency,
        note=row.note,
        first=row.first,
        by_stage=bool(row.by_stage),
    )


RESULTS: Final = of("critical-results")
#: The keys that come first among equally urgent results, in their order.
FIRST: Final = tuple(band.key for band in sorted(RESULTS, key=lambda band: band.first) if band.first)
#: The keys that a stage of kidney injury says.
BY_STAGE: Final = frozenset(band.key for band in RESULTS if band.by_stage)
