"""Doses that are given only in an emergency, and what each asks for while all numbers are calm.

The rows stand in `rescue-doses.toml`. Each is a question: a record says that a dose was given and seldom why.
"""

from datetime import timedelta
from functools import cached_property
from typing import Final

from weatherglass.knowledge.data_files import Hours, cutoff, toml_members
from weatherglass.knowledge.limits.asking_rows import AskingRow
from weatherglass.model.record.medicines import Route
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Signal
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.tables.scores import UrgencyWord

PUBLIC_KEY: Final = "rescue-doses"


class RescueDose(AskingRow, frozen=True, kw_only=True, dict=True):
    """What a dose of a rescue medicine asks for.

    Attributes:
        asked: What the sentence begins with.
        names: Ingredients of which one was given,
        routes: by one of these ways,
        strength: whose words have this pattern; any where it is empty.
        strength_without_route: The same where no route is recorded.
        hours: For how long a dose asks.
        unless: Problems on record that say what it was for.
        measured: What answers it once it is measured after the dose.
        soon: How soon.
        back: A sign, with its limit, that shows what it was given for to be back: an emergency,
        back_hours: for so long after the dose.
    """

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
