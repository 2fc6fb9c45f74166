"""How soon somebody should look at a medicine: by how bad the trigger is and what is suggested.

Ours throughout; the publications say what to do and rarely how soon.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Final, get_args

from weatherglass.knowledge.medicines.rules.rule import Action, Trigger
from weatherglass.model.sources import our_choice
from weatherglass.model.tables.scores import UrgencyWord


@dataclass(frozen=True, slots=True, kw_only=True)
class Grade:
    """One degree of one trigger.

    Attributes:
        means: When it is reached, in words.
        hold: How soon a hold suggested at this degree should be looked at.
        otherwise: How soon anything else should, where that is sooner than its action asks for.
    """

    means: str
    hold: UrgencyWord
    otherwise: UrgencyWord = "routine"


def _grades(*rows: tuple[str, UrgencyWord]) -> tuple[Grade, ...]:
    return tuple(Grade(means=means, hold=hold) for means, hold in rows)


def _whatever_is_suggested(*rows: tuple[str, UrgencyWord]) -> tuple[Grade, ...]:
    """Return degrees that ask for somebody as soon where no hold is suggested."""
    return tuple(Grade(means=means, hold=soon, otherwise=soon) for means, soon in rows)


#: Degrees of each trigger, the mildest first.
GRADES: Final[Mapping[Trigger, tuple[Grade, ...]]] = {
    Trigger.ANY: _grades(("any", "prompt")),
    Trigger.AKI: _grades(("stage 1", "prompt"), ("stage 2", "prompt"), ("stage 3", "urgent")),
    Trigger.LOW_EGFR: _grades(("below 45", "prompt")),
    Trigger.HYPERKALAEMIA: _grades(
        ("5.5 to 5.9 mmol/L", "prompt"), ("6.0 to 6.4 mmol/L", "urgent"), ("6.5 mmol/L or more", "emergency")
    ),
    Trigger.HYPOTENSION: _grades(("100 mmHg or less, or a fall", "prompt"), ("90 mmHg or less", "urgent")),
    Trigger.SLOW_PULSE: _grades(("41 to 49", "prompt")),
    Trigger.BRADYCARDIA: _grades(("below 50 with a low pressure", "prompt"), ("40 or less", "urgent")),
    Trigger.BLEEDING: _grades(
        ("one sign", "prompt"),
        (
            "bleeding into the gut, recorded bleeding with a fall, or a fall of 30 g/L or more",
            "urgent",
        ),
        (
            "a fall of 50 g/L or more, or bleeding into the gut or with a fall and shock index 1.0 or more",
            "emergency",
        ),
    ),
    Trigger.CRITICAL_BLEEDING: _whatever_is_suggested(("recorded", "emergency")),
    Trigger.HEAD_INJURY: _whatever_is_suggested(
        ("recorded", "prompt"), ("with a neurological sign", "urgent")
    ),
    Trigger.INR_ABOVE_8: _grades(("above 8.0", "urgent")),
    Trigger.INR_5_TO_8: _grades(("5.0 to 8.0", "prompt")),
    Trigger.INR_ABOVE_TARGET: _grades(("above 4.0", "prompt")),
    Trigger.LOW_PLATELETS: _grades(("below 50", "prompt")),
    Trigger.PLATELETS_HALVED_ON_HEPARIN: _grades(("less than half", "urgent")),
    Trigger.HYPOGLYCAEMIA: _grades(
        ("below 4.0 mmol/L, or lower and recovered since", "prompt"), ("below 3.0 mmol/L now", "urgent")
    ),
    Trigger.REDUCED_CONSCIOUSNESS: _grades(
        ("GCS 9 to 12, slow breathing while drowsy or with retention, or respiratory acidosis", "urgent"),
        ("breathing rate 8 or less, responds only to pain or not at all, GCS 8 or less", "emergency"),
    ),
    Trigger.DROWSINESS: _whatever_is_suggested(("drowsy or newly confused", "prompt")),
    Trigger.LACTATE_OR_ACIDOSIS: _grades(("above 2 with acidosis", "prompt"), ("4 mmol/L or more", "urgent")),
    Trigger.SEPSIS: _grades(("NEWS2 5 or 6, or recorded sepsis", "prompt"), ("NEWS2 7 or more", "urgent")),
    Trigger.RAISED_KETONES: _grades(("above 1.5 mmol/L", "urgent"), ("3.0 mmol/L or more", "emergency")),
    Trigger.FLUID_LOSS: _grades(("recorded", "prompt")),
    Trigger.OPIOID_REVERSED: _grades(("given in the last 6 hours", "urgent")),
    Trigger.CONTRAST_PLANNED: _grades(("asked for or given", "prompt")),
    Trigger.LOW_SODIUM: _grades(("below 125 mmol/L or falling", "prompt")),
    Trigger.LOW_POTASSIUM: _grades(("below 3.0 mmol/L", "prompt")),
    Trigger.LOW_MAGNESIUM: _grades(("below 0.7 mmol/L", "prompt")),
    Trigger.LEVEL_HIGH: _whatever_is_suggested(
        ("above the range that was sent", "prompt"),
        ("at the toxic limit of the medicine", "urgent"),
        ("dangerously high", "emergency"),
    ),
    Trigger.LEVEL_LOW: _whatever_is_suggested(("below the range that was sent", "prompt")),
    Trigger.LEVEL_OVERDUE: _grades(("overdue", "prompt")),
}

#: A suggestion other than a hold: this soon at the mildest degree of its trigger ...
OTHERWISE: Final[Mapping[Action, UrgencyWord]] = {
    Action.REDUCE: "prompt",
    Action.REVIEW: "routine",
    Action.AVOID: "routine",
    Action.LEVEL: "prompt",
    Action.MONITOR: "routine",
    Action.CONTINUE: "routine",
}
#: ... and at least this soon where a hold at that degree would be urgent.
OTHERWISE_WHEN_BAD: Final[Mapping[Action, UrgencyWord]] = {
    Action.REDUCE: "prompt",
    Action.REVIEW: "prompt",
    Action.AVOID: "prompt",
    Action.LEVEL: "prompt",
    Action.MONITOR: "routine",
    Action.CONTINUE: "routine",
}
URGENCY_SOURCE: Final = our_choice(
    "a hold is looked at before the next dose, sooner when the trigger is dangerous; a review waits for "
    "the round"
)

#: By when a suggestion is looked at again, at the latest: before the next dose where that is sooner.
LOOK_AGAIN: Final[Mapping[UrgencyWord, timedelta]] = {
    "emergency": timedelta(hours=1),
    "urgent": timedelta(hours=4),
    "prompt": timedelta(hours=12),
    "routine": timedelta(hours=24),
}
#: Sooner than the urgency says, whatever is suggested: what these bring back comes back within hours.
LOOK_AGAIN_FOR: Final[Mapping[Trigger, timedelta]] = {
    Trigger.REDUCED_CONSCIOUSNESS: timedelta(hours=1),
    Trigger.OPIOID_REVERSED: timedelta(hours=1),
    Trigger.DROWSINESS: timedelta(hours=2),
    Trigger.RAISED_KETONES: timedelta(hours=2),
}
#: A value in doubt is repeated urgently, and its answer waits for somebody.
LOOK_AGAIN_IN_DOUBT: Final = timedelta(hours=4)
LOOK_AGAIN_SOURCE: Final = our_choice(
    "no publication sets these times: again within 1 hour of an emergency, of slow breathing and of "
    "naloxone, 2 hours of drowsiness and of raised ketones, 4 of what is urgent or in doubt, 12 of what is "
    "prompt, 24 of the rest"
)


def _check() -> None:
    """Refuse a trigger without degrees or an action without an urgency."""
    if set(GRADES) != set(Trigger) or not all(GRADES.values()):
        raise ValueError("A trigger has no degree.")
    if set(OTHERWISE) | {Action.HOLD} != set(Action) or set(OTHERWISE) != set(OTHERWISE_WHEN_BAD):
        raise ValueError("An action has no urgency.")
    times = list(LOOK_AGAIN.values())
    if set(LOOK_AGAIN) != set(get_args(UrgencyWord)) or times != sorted(times):
        raise ValueError("An urgency has no time to look again, or one that is out of order.")


_check()
