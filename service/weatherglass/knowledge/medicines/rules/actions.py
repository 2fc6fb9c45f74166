"""What may be suggested of a medicine, never an order: a row of `actions.toml` with all that is known of it.

Rules, sentences, lists, cards and Tasks read its columns.
"""

from collections.abc import Mapping
from enum import StrEnum
from typing import Final, Literal

from weatherglass.knowledge.data_files import Columns, toml_rows
from weatherglass.model.sources import our_choice
from weatherglass.model.tables.scores import UrgencyWord


class Action(StrEnum):
    """What is suggested; never an order."""

    # These key dictionaries of the hot path; the enum's own hash is slower code.
    __hash__ = str.__hash__

    HOLD = "hold"
    REDUCE = "reduce"
    REVIEW = "review"
    AVOID = "avoid"
    LEVEL = "measure level"
    MONITOR = "monitor"
    CONTINUE = "continue"
    RESTART = "consider restarting"
    NOT_REVIEWED = "not reviewed"


class ActionRow(Columns, frozen=True):
    """What is said of one action, and how soon: a row of `actions.toml`, which says what each is."""

    label: str
    words: str = ""
    lead: str = ""
    then: str = ""
    also: str = ""
    says: tuple[Action, ...] = ()
    soon: UrgencyWord | Literal[""] = ""
    soon_when_bad: UrgencyWord | Literal[""] = ""
    asks: str = ""
    task: Literal["", "suspend", "change", "resume"] = ""
    withholds: bool = False
    may_withhold: bool = False
    shared: bool = False


#: Every action, in the order of precedence: which one leads when several reasons meet in one medicine,
#: strongest first. `CONTINUE` stands last because it does not compete: its note is kept beside what leads.
ACTIONS: Final[Mapping[str, ActionRow]] = {
    Action(key): row for key, row in toml_rows("medicines/rules/actions.toml", ActionRow).items()
}
#: Those that a rule can suggest, the strongest first.
PRECEDENCE: Final = tuple(Action(action) for action, row in ACTIONS.items() if row.lead)
#: The place of each among all.
RANK: Final[Mapping[str, int]] = {action: rank for rank, action in enumerate(ACTIONS)}

PRECEDENCE_SOURCE: Final = our_choice(
    "a note on continuing is always kept; hold before reduce or review before avoid before monitor"
)
