"""How soon somebody should look at a medicine: by how bad the trigger is and what is suggested.

Ours throughout; the publications say what to do and rarely how soon. The degrees stand in
`triggers.toml`, what holds of each action in `actions.toml`.
"""

from collections.abc import Mapping
from datetime import timedelta
from typing import Final, get_args

from weatherglass.knowledge.data_files import length
from weatherglass.knowledge.medicines.rules.actions import ACTIONS, PRECEDENCE, Action
from weatherglass.knowledge.medicines.rules.rule import Trigger
from weatherglass.knowledge.medicines.rules.triggers import TRIGGERS, TriggerRow, with_numbers
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.plain import Plain
from weatherglass.model.tables.scores import UrgencyWord


class Grade(Plain, frozen=True, kw_only=True):
    """One degree of one trigger.

    Attributes:
        means: When it is reached, in words.
        hold: How soon a hold suggested at this degree should be looked at.
        otherwise: How soon anything else should, where that is sooner than its action asks for.
    """

    means: str
    hold: UrgencyWord
    otherwise: UrgencyWord = "routine"


def _grades(trigger: Trigger, row: TriggerRow) -> tuple[Grade, ...]:
    return tuple(
        Grade(
            means=with_numbers(trigger, degree.means),
            hold=degree.hold,
            otherwise=degree.hold if row.whatever_is_suggested else "routine",
        )
        for degree in row.degrees
    )


#: Degrees of each trigger, the mildest first.
GRADES: Final[Mapping[Trigger, tuple[Grade, ...]]] = {
    trigger: _grades(trigger, row) for trigger, row in TRIGGERS.items()
}
_ROWS: Final = PrintedRows("medicines/rules/urgencies-rows", globals())

#: By when a suggestion is looked at again, at the latest: before the next dose where that is sooner.
LOOK_AGAIN: Final[Mapping[UrgencyWord, timedelta]] = {
    "emergency": timedelta(hours=1),
    "urgent": timedelta(hours=4),
    "prompt": timedelta(hours=12),
    "routine": timedelta(hours=24),
}
#: Sooner than the urgency says, whatever is suggested: what these bring back comes back within hours.
LOOK_AGAIN_FOR: Final[Mapping[Trigger, timedelta]] = {
    trigger: soon for trigger, row in TRIGGERS.items() if (soon := length(row.look_again)) is not None
}
#: A value in doubt is repeated urgently, and its answer waits for somebody.
LOOK_AGAIN_IN_DOUBT: Final = timedelta(hours=4)


def _check() -> None:
    """Refuse a trigger without degrees or an action without an urgency."""
    if set(GRADES) != set(Trigger) or not all(GRADES.values()):
        raise ValueError("A trigger has no degree.")
    others = [ACTIONS[action] for action in PRECEDENCE if action is not Action.HOLD]
    if not all(row.soon and row.soon_when_bad for row in others):
        raise ValueError("An action has no urgency.")
    times = list(LOOK_AGAIN.values())
    if set(LOOK_AGAIN) != set(get_args(UrgencyWord)) or times != sorted(times):
        raise ValueError("An urgency has no time to look again, or one that is out of order.")


_check()
