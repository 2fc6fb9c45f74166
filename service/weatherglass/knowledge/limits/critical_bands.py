"""Read the limits of single results from the CSV files beside this module: one row a limit.

The columns: the key of the series, what is measured, when the limit is met (">= 6.5", in the unit that
the signal has in the program), what the result is called, how urgent it is, the source, what to know
before acting, and a remark for whoever reviews the file, which is never shown.
"""

from weatherglass.knowledge.data_files import Columns, cite, csv_table, cutoff
from weatherglass.model.signals import Signal
from weatherglass.model.tables.critical_band import CriticalBand
from weatherglass.model.tables.scores import UrgencyWord


class _Row(Columns, frozen=True):
    key: str
    signal: Signal
    when: str
    label: str
    urgency: UrgencyWord
    source: str
    note: str = ""
    remark: str = ""


def critical_bands(name: str) -> tuple[CriticalBand, ...]:
    """Return the rows of `limits/NAME.csv`; inside one key the most severe comes first.

    Raises:
        TableError: If a row does not fit.
    """
    return csv_table(f"limits/{name}.csv", _Row, _band)


def _band(row: _Row) -> CriticalBand:
    return CriticalBand(
        key=row.key,
        signal=row.signal,
        label=row.label,
        cutoff=cutoff(row.signal, row.when, cite(row.source)),
        urgency=row.urgency,
        note=row.note,
    )
