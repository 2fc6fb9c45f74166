"""Medicines whose level decides the next dose, and how old a level may be in kidney injury."""

from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from weatherglass.clinical.clauses import Window
from weatherglass.clinical.signals import Signal
from weatherglass.clinical.sources import our_choice


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelRule:
    """One medicine and its level.

    Attributes:
        ingredient: International name of the medicine.
        signal: Its level.
        overdue: In acute kidney injury a level older than this is overdue.
        reason: Why the level matters, in one sentence of ours.
    """

    ingredient: str
    signal: Signal
    overdue: Window
    reason: str


_DAY: Final = Window(
    length=timedelta(hours=24),
    source=our_choice("24 hours for medicines dosed by level every day; no publication sets it"),
)
_THREE_DAYS: Final = Window(
    length=timedelta(hours=72), source=our_choice("72 hours for the others; no publication sets it")
)

LEVEL_RULES: Final = (
    LevelRule(
        ingredient="gentamicin",
        signal=Signal.GENTAMICIN_LEVEL,
        overdue=_DAY,
        reason="A level that has not fallen harms kidney and ear.",
    ),
    LevelRule(
        ingredient="tobramycin",
        signal=Signal.TOBRAMYCIN_LEVEL,
        overdue=_DAY,
        reason="A level that has not fallen harms kidney and ear.",
    ),
    LevelRule(
        ingredient="vancomycin",
        signal=Signal.VANCOMYCIN_LEVEL,
        overdue=_DAY,
        reason="A high level harms the kidney, a low one leaves the infection untreated.",
    ),
    LevelRule(
        ingredient="digoxin",
        signal=Signal.DIGOXIN_LEVEL,
        overdue=_THREE_DAYS,
        reason="A high level disturbs the rhythm.",
    ),
    LevelRule(
        ingredient="lithium",
        signal=Signal.LITHIUM_LEVEL,
        overdue=_THREE_DAYS,
        reason="A high level poisons the brain and the kidney.",
    ),
    LevelRule(
        ingredient="phenytoin",
        signal=Signal.PHENYTOIN_LEVEL,
        overdue=_THREE_DAYS,
        reason="A high level sedates, a low one lets seizures through; correct for albumin.",
    ),
    LevelRule(
        ingredient="tacrolimus",
        signal=Signal.TACROLIMUS_LEVEL,
        overdue=_THREE_DAYS,
        reason="A high level harms the kidney, a low one lets a graft be rejected.",
    ),
    LevelRule(
        ingredient="ciclosporin",
        signal=Signal.CICLOSPORIN_LEVEL,
        overdue=_THREE_DAYS,
        reason="A high level harms the kidney, a low one lets a graft be rejected.",
    ),
)
