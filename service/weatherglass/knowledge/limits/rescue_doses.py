"""Doses that are given only in an emergency, and what each asks for while all numbers are calm.

The rows stand in `rescue-doses.toml`. Each is a question: a record says that a dose was given and seldom why.
"""

from collections.abc import Callable
from datetime import timedelta
from re import Pattern
from typing import Final

from weatherglass.knowledge.data_files import Columns, cite, toml_rows
from weatherglass.model.letters import Letter
from weatherglass.model.patterns import when_asked
from weatherglass.model.plain import Plain
from weatherglass.model.record import ConditionKind, Route
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source
from weatherglass.model.tables.scores import UrgencyWord

PUBLIC_KEY: Final = "rescue-doses"


class _Row(Columns, frozen=True):
    asked: str
    names: tuple[str, ...]
    routes: tuple[Route, ...]
    hours: int
    letter: Letter
    soon: UrgencyWord
    asks: str
    sources: tuple[str, ...]
    strength: str = ""
    unless: tuple[ConditionKind, ...] = ()
    measured: tuple[Signal, ...] = ()
    at_once: str = ""


class RescueDose(Plain, frozen=True, kw_only=True):
    """What a dose of a rescue medicine asks for.

    Attributes:
        key: Stable key.
        asked: What the sentence begins with.
        names: Ingredients of which one was given,
        routes: by one of these ways,
        strength: whose words have this pattern; any where it is empty.
        within: For how long a dose asks.
        unless: Problems on record that say what it was for.
        measured: What answers it once it is measured after the dose.
        letter: Where it is told.
        soon: How soon.
        at_once: What is done at the bedside before anybody comes.
        asks: What the sentence goes on with.
        sources: Where it is stated, the first one first.
    """

    key: str
    asked: str
    names: frozenset[str]
    routes: frozenset[Route]
    strength: Callable[[], Pattern[str]]
    within: timedelta
    unless: tuple[ConditionKind, ...]
    measured: tuple[Signal, ...]
    letter: Letter
    soon: UrgencyWord
    at_once: str
    asks: str
    sources: tuple[Source, ...]


def _rescue_dose(key: str, row: _Row) -> RescueDose:
    return RescueDose(
        key=key,
        asked=row.asked,
        names=frozenset(row.names),
        routes=frozenset(row.routes),
        strength=when_asked(row.strength),
        within=timedelta(hours=row.hours),
        unless=row.unless,
        measured=row.measured,
        letter=row.letter,
        soon=row.soon,
        at_once=row.at_once,
        asks=row.asks,
        sources=tuple(cite(line) for line in row.sources),
    )


RESCUE_DOSES: Final = tuple(
    _rescue_dose(key, row) for key, row in toml_rows("limits/rescue-doses.toml", _Row).items()
)
