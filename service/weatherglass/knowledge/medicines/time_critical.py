"""Medicines whose doses must not be late or left out, and what is taken at home and was not ordered.

The rows stand in `time_critical.toml`. A dose without a recorded administration is a question: it may have
been given and written down elsewhere.
"""

from datetime import timedelta
from typing import Final

from weatherglass.knowledge.data_files import Columns, cite, toml_rows
from weatherglass.knowledge.medicines.groups import Members, members_of
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.plain import Plain
from weatherglass.model.sources import Source

PUBLIC_KEY: Final = "time-critical-medicines"
_ROWS: Final = PrintedRows("medicines/time-critical-rows")


class _Row(Columns, frozen=True):
    who: tuple[str, ...]
    harm: str
    sources: tuple[str, ...]
    late_minutes: int | None = None
    home: bool = True
    urgent_after_hours: int | None = None


class TimeCritical(Plain, frozen=True, kw_only=True):
    """One group of medicines.

    Attributes:
        late: From when a dose that is due at a time counts as late; None where doses are not looked at.
        home: Whether one that is taken at home and not ordered here is asked about soon.
        harm: What lateness brings.
        urgent_after: How long without a dose that was due makes it urgent; None where that alone never does.
    """

    key: str
    who: Members
    late: timedelta | None
    home: bool
    harm: str
    urgent_after: timedelta | None
    source: Source
    sources: tuple[Source, ...]


def _critical(key: str, row: _Row) -> TimeCritical:
    sources = tuple(cite(line) for line in row.sources)
    return TimeCritical(
        key=key,
        who=members_of(row.who),
        late=timedelta(minutes=row.late_minutes) if row.late_minutes is not None else None,
        home=row.home,
        harm=row.harm,
        urgent_after=timedelta(hours=row.urgent_after_hours) if row.urgent_after_hours is not None else None,
        source=sources[0],
        sources=sources,
    )


TIME_CRITICAL: Final = tuple(
    _critical(key, row) for key, row in toml_rows("medicines/time_critical.toml", _Row).items()
)
GAP_SOURCE: Final = _ROWS.source("gap-source")
LEAST_GAP: Final = _ROWS.window("least-gap")
RECORDED_LATELY: Final = _ROWS.window("recorded-lately")
EARLY: Final = _ROWS.window("early")
RECONCILED_WITHIN: Final = _ROWS.window("reconciled-within")
URGENCY_SOURCE: Final = _ROWS.source("urgency-source")
