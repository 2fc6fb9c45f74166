"""Medicines whose doses must not be late or left out, and what is taken at home and was not ordered.

The rows stand in `time_critical.toml`. A dose without a recorded administration is a question: it may have
been given and written down elsewhere.
"""

from datetime import timedelta
from typing import Final

from weatherglass.knowledge.data_files import Columns, cite, toml_rows
from weatherglass.knowledge.medicines.groups import Members, members_of
from weatherglass.knowledge.plain import Plain
from weatherglass.model.clauses import Window
from weatherglass.model.sources import Source, common_practice, our_choice

PUBLIC_KEY: Final = "time-critical-medicines"


class _Row(Columns, frozen=True):
    who: tuple[str, ...]
    harm: str
    sources: tuple[str, ...]
    late_minutes: int | None = None
    home: bool = True


class TimeCritical(Plain, frozen=True, kw_only=True):
    """One group of medicines.

    Attributes:
        late: From when a dose that is due at a time counts as late; None where doses are not looked at.
        home: Whether one that is taken at home and not ordered here is asked about soon.
        harm: What lateness brings.
    """

    key: str
    who: Members
    late: timedelta | None
    home: bool
    harm: str
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
        source=sources[0],
        sources=sources,
    )


TIME_CRITICAL: Final = tuple(
    _critical(key, row) for key, row in toml_rows("medicines/time_critical.toml", _Row).items()
)
#: Where no times of a day are written: doses are spread over the waking hours.
GAP_SOURCE: Final = our_choice(
    "without times of a day a dose is missed after twice its interval, or its interval and 4 hours where "
    "that is less for a dose once a day"
)
LEAST_GAP: Final = Window(length=timedelta(hours=4), source=GAP_SOURCE)
#: Doses are asked about only where somebody records any.
RECORDED_LATELY: Final = Window(
    length=timedelta(hours=24),
    source=our_choice("doses are asked about where any was recorded in the last 24 hours"),
)
#: A dose this much before its time counts for it.
EARLY: Final = Window(
    length=timedelta(hours=1), source=our_choice("a dose up to an hour before its time counts for it")
)
RECONCILED_WITHIN: Final = Window(
    length=timedelta(hours=24),
    source=common_practice("medicines taken at home are compared with the chart within 24 hours"),
)
URGENCY_SOURCE: Final = our_choice(
    "a late dose is prompt, urgent with any acute trigger; a home medicine that was not ordered is routine, "
    "and prompt where its sudden end harms"
)
