"""From which result on a trigger of the drug chart is met.

The rows stand in `laboratory_triggers.csv`; the words of a trigger, in `triggers.toml`, name their numbers by
degree.
"""

from typing import Final

from weatherglass.knowledge.data_files import Columns, TableError, cite, csv_table, cutoff
from weatherglass.knowledge.limits.critical_results import CRITICAL_RESULTS
from weatherglass.knowledge.medicines.rules.rule import Trigger
from weatherglass.model.plain import Plain
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.tables.critical_band import CriticalBand
from weatherglass.model.tables.scores import UrgencyWord


class ResultLimit(Plain, frozen=True, kw_only=True):
    """From which result on a trigger is met, and how bad that is.

    Attributes:
        cutoff: As it is published.
        as_in: Key and urgency of the critical result that has the number, of which a site may have its own;
            None where the number stands here.
    """

    trigger: Trigger
    signal: Signal
    cutoff: Cutoff
    grade: int
    source: Source
    as_in: tuple[str, UrgencyWord] | None = None


class _LimitRow(Columns, frozen=True):
    trigger: Trigger
    signal: Signal
    when: str
    grade: int
    source: str = ""


def _result_limit(row: _LimitRow) -> ResultLimit:
    """Make one limit; "as KEY URGENCY" names a row of the critical results, where the number stands."""
    band = _critical(row) if row.when.startswith("as ") else None
    limit = band.cutoff if band is not None else cutoff(row.signal, row.when, cite(row.source))
    return ResultLimit(
        trigger=row.trigger,
        signal=row.signal,
        cutoff=limit,
        grade=row.grade,
        source=limit.source,
        as_in=(band.key, band.urgency) if band is not None else None,
    )


def _critical(row: _LimitRow) -> CriticalBand:
    for band in CRITICAL_RESULTS:
        if row.when == f"as {band.key} {band.urgency}" and band.signal is row.signal:
            return band
    raise TableError(f"{row.when!r} is no row of the critical results; write 'as KEY URGENCY' or '>= 6.5'.")


RESULT_LIMITS: Final = csv_table("medicines/limits/laboratory_triggers.csv", _LimitRow, _result_limit)
