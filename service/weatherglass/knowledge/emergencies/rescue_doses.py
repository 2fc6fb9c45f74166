"""Doses that are given only in an emergency, and what each asks for while all numbers are calm.

The rows stand in `rescue-doses.toml`. Each is a question: a record says that a dose was given and seldom why.
"""

from datetime import timedelta
from typing import Final

from weatherglass.knowledge.data_files import Hours, cutoff, toml_members
from weatherglass.knowledge.limits.asking_rows import AskingRow
from weatherglass.model.once import cached_property
from weatherglass.model.record.medicines import Route
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Signal
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.tables.scores import UrgencyWord

PUBLIC_KEY: Final = "rescue-doses"


class RescueDose(AskingRow, frozen=True, kw_only=True, dict=True):
    """What a dose of a rescue medicine asks for; its columns are explained in `rescue-doses.toml`."""

    asked: str
    names: frozenset[str]
    routes: frozenset[Route]
    strength: str = ""
    strength_without_route: str = ""
    hours: Hours
    unless: tuple[ConditionKind, ...] = ()
    measured: tuple[Signal, ...] = ()
    soon: UrgencyWord
    back: str = ""
    back_hours: Hours = timedelta(0)

    @cached_property
    def sign(self) -> tuple[Signal, Cutoff] | None:
        """That sign and its limit."""
        name, _, when = self.back.partition(" ")
        return (Signal(name), cutoff(Signal(name), when, self.sources[0])) if name else None


RESCUE_DOSES: Final = toml_members("emergencies/rescue-doses.toml", RescueDose)
