"""Medicines whose level decides the next dose: what a high or a low one asks for, and how old it may be.

The range that comes with a result decides whether it is high or low. Where none is sent the
toxic limits of `drug_levels` do, and here the limits of what is measured before a dose.
"""

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.knowledge.medicines.rules import ways_back
from weatherglass.knowledge.medicines.rules.rule import Action, RestartPlan, RuleCondition, Step
from weatherglass.model.clauses import Window
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Mark, Source, common_practice, our_choice
from weatherglass.model.tables.bands import Compare, Cutoff


@dataclass(frozen=True, slots=True, kw_only=True)
class BeforeDose:
    """The limit of a level that is measured before the next dose.

    Attributes:
        limit: Beyond it the next dose waits.
        after: A level counts as measured before a dose this long after the last one.
        unless_known: Whether it counts so too when no dose is recorded before it.
    """

    limit: Cutoff
    after: timedelta
    unless_known: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelRule:
    """One medicine and its level.

    Attributes:
        ingredient: International name of the medicine.
        signal: Its level.
        overdue: In acute kidney injury a level older than this is overdue; None where none is asked for.
        reason: Why the level matters, in one sentence of ours.
        when_high: What a high level suggests.
        high_reason: What a high level means, in one sentence of ours.
        source: What says so.
        team: Who decides on the next dose.
        eases: What makes it milder.
        before_dose: The limit of a level before the next dose, where it has one.
        too_early: A high level measured so soon after a dose is in doubt; None where it is not.
        worse_with: What makes a toxic level an emergency: any of these beyond its limit now.
    """

    ingredient: str
    signal: Signal
    overdue: Window | None
    reason: str
    when_high: Action
    high_reason: str
    source: Source
    team: str
    eases: tuple[Step, ...] = ()
    before_dose: BeforeDose | None = None
    too_early: Window | None = None
    worse_with: tuple[tuple[Signal, Cutoff], ...] = ()

    @property
    def restart(self) -> RestartPlan:
        """What brings the medicine back after a high level."""
        return RestartPlan(conditions=(ways_back.LEVEL_IN_RANGE,), who=self.team)


_DAY: Final = Window(
    length=timedelta(hours=24),
    source=our_choice("24 hours for medicines dosed by level every day; no publication sets it"),
)
_THREE_DAYS: Final = Window(
    length=timedelta(hours=72), source=our_choice("72 hours for the others; no publication sets it")
)
_MILLIGRAM: Final = Unit.MILLIGRAM_PER_LITRE
_SOUTH_TEES: Final = publication("south-tees-gentamicin")
_FIFE: Final = publication("fife-tobramycin")
_LOTHIAN: Final = publication("lothian-vancomycin")
_WARD: Final = "senior ward review, with the ward pharmacist"
_TRANSPLANT: Final = "the team that looks after the transplant, with the ward pharmacist"
_WITH_THE_TEAM: Final = our_choice("the team that knows the graft decides; a hold is never suggested")
_NEUROLOGY: Final = "neurology or the epilepsy team, with the ward pharmacist"
_WITH_THE_NEUROLOGIST: Final = our_choice("the team that treats the epilepsy decides on the next dose")
_NOT_FALLEN: Final = "A level that has not fallen harms kidney and ear."


def _before_dose(
    compare: Compare, number: str, source: Source, *, hours: int, unless_known: bool
) -> BeforeDose:
    limit = Cutoff(compare=compare, limit=Quantity(Decimal(number), _MILLIGRAM), source=source)
    return BeforeDose(limit=limit, after=timedelta(hours=hours), unless_known=unless_known)


def _worse(number: str, compare: Compare, unit: Unit, what: str) -> Cutoff:
    source = common_practice(f"digoxin poisoning with {what} is an emergency")
    return Cutoff(compare=compare, limit=Quantity(Decimal(number), unit), source=source)


LEVEL_RULES: Final = (
    LevelRule(
        ingredient="gentamicin",
        signal=Signal.GENTAMICIN_LEVEL,
        overdue=_DAY,
        reason=_NOT_FALLEN,
        when_high=Action.HOLD,
        high_reason="The last dose is not cleared: the next waits until a repeat in about 12 hours is low.",
        source=_SOUTH_TEES.at("pre-dose level below 1 mg/L"),
        team=_WARD,
        before_dose=_before_dose(
            Compare.AT_LEAST,
            "1",
            _SOUTH_TEES.at("pre-dose level below 1 mg/L"),
            hours=18,
            unless_known=False,
        ),
    ),
    LevelRule(
        ingredient="tobramycin",
        signal=Signal.TOBRAMYCIN_LEVEL,
        overdue=_DAY,
        reason=_NOT_FALLEN,
        when_high=Action.HOLD,
        high_reason="The last dose is not cleared: the next waits until a repeat in about 12 hours is low.",
        source=_FIFE.at("monitored as gentamicin is"),
        team=_WARD,
        before_dose=_before_dose(
            Compare.AT_LEAST, "1", _FIFE.at("monitored as gentamicin is"), hours=18, unless_known=False
        ),
    ),
    LevelRule(
        ingredient="vancomycin",
        signal=Signal.VANCOMYCIN_LEVEL,
        overdue=_DAY,
        reason="A high level harms the kidney, a low one leaves the infection untreated.",
        when_high=Action.HOLD,
        high_reason="A high level before a dose harms the kidney: the next waits for a lower level.",
        source=common_practice("the next dose of vancomycin waits at a level above 20 mg/L before it"),
        team=_WARD,
        before_dose=_before_dose(
            Compare.ABOVE,
            "20",
            _LOTHIAN.at("targets before a dose reach 20 mg/L"),
            hours=6,
            unless_known=True,
        ),
    ),
    LevelRule(
        ingredient="digoxin",
        signal=Signal.DIGOXIN_LEVEL,
        overdue=_THREE_DAYS,
        reason="A high level disturbs the rhythm.",
        when_high=Action.HOLD,
        high_reason="It slows and disturbs the rhythm; a low potassium or magnesium makes it worse.",
        source=common_practice("digoxin is withheld at a toxic level"),
        team=_WARD,
        too_early=Window(
            length=timedelta(hours=6),
            source=common_practice("a digoxin level counts from 6 hours after a dose"),
        ),
        worse_with=(
            (
                Signal.POTASSIUM,
                _worse("5.0", Compare.ABOVE, Unit.MILLIMOLE_PER_LITRE, "a potassium above 5.0 mmol/L"),
            ),
            (Signal.PULSE, _worse("50", Compare.BELOW, Unit.PER_MINUTE, "a pulse below 50")),
        ),
    ),
    LevelRule(
        ingredient="lithium",
        signal=Signal.LITHIUM_LEVEL,
        overdue=_THREE_DAYS,
        reason="A high level poisons the brain and the kidney.",
        when_high=Action.HOLD,
        high_reason="It poisons the brain and the kidney, and the level may rise after the last dose.",
        source=publication("ggc-lithium-toxicity").at(
            "stop lithium; 1.5 mmol/L or more is a medical emergency", Mark.SECONDARY
        ),
        team="psychiatry with the ward pharmacist",
    ),
    LevelRule(
        ingredient="phenytoin",
        signal=Signal.PHENYTOIN_LEVEL,
        overdue=_THREE_DAYS,
        reason="A high level sedates, a low one lets seizures through; correct for albumin.",
        when_high=Action.HOLD,
        eases=(Step(action=Action.REVIEW, when=(RuleCondition.EPILEPSY,)),),
        high_reason="It brings unsteadiness, sedation and in the end seizures; correct for albumin.",
        source=our_choice("held at a high level; in epilepsy the team that treats it decides"),
        team=_NEUROLOGY,
    ),
    LevelRule(
        ingredient="tacrolimus",
        signal=Signal.TACROLIMUS_LEVEL,
        overdue=_THREE_DAYS,
        reason="A high level harms the kidney, a low one lets a graft be rejected.",
        when_high=Action.REVIEW,
        high_reason="It harms the kidney and the brain: ask the transplant team today what the next dose is.",
        source=_WITH_THE_TEAM,
        team=_TRANSPLANT,
    ),
    LevelRule(
        ingredient="ciclosporin",
        signal=Signal.CICLOSPORIN_LEVEL,
        overdue=_THREE_DAYS,
        reason="A high level harms the kidney, a low one lets a graft be rejected.",
        when_high=Action.REVIEW,
        high_reason="It harms the kidney: ask the transplant team today what the next dose is.",
        source=_WITH_THE_TEAM,
        team=_TRANSPLANT,
    ),
    LevelRule(
        ingredient="carbamazepine",
        signal=Signal.CARBAMAZEPINE_LEVEL,
        overdue=None,
        reason="A high level sedates and unsteadies, a low one lets seizures through.",
        when_high=Action.REVIEW,
        high_reason="It sedates, unsteadies and slows conduction in the heart.",
        source=_WITH_THE_NEUROLOGIST,
        team=_NEUROLOGY,
    ),
    LevelRule(
        ingredient="valproic acid",
        signal=Signal.VALPROATE_LEVEL,
        overdue=None,
        reason="A high level sedates, a low one lets seizures through; the range is wide.",
        when_high=Action.REVIEW,
        high_reason="It can sedate and raise ammonia: look at the patient before the number.",
        source=_WITH_THE_NEUROLOGIST,
        team=_NEUROLOGY,
    ),
    LevelRule(
        ingredient="phenobarbital",
        signal=Signal.PHENOBARBITAL_LEVEL,
        overdue=None,
        reason="A high level sedates, a low one lets seizures through.",
        when_high=Action.REVIEW,
        high_reason="It sedates and slows breathing.",
        source=_WITH_THE_NEUROLOGIST,
        team=_NEUROLOGY,
    ),
    LevelRule(
        ingredient="amikacin",
        signal=Signal.AMIKACIN_LEVEL,
        overdue=_DAY,
        reason=_NOT_FALLEN,
        when_high=Action.HOLD,
        high_reason="The last dose is not cleared: the next waits until a repeat is low.",
        source=common_practice("the next dose of amikacin waits at 5 mg/L or more before it"),
        team=_WARD,
        before_dose=_before_dose(
            Compare.AT_LEAST,
            "5",
            common_practice("the next dose of amikacin waits at 5 mg/L or more before it"),
            hours=18,
            unless_known=False,
        ),
    ),
    LevelRule(
        ingredient="methotrexate",
        signal=Signal.METHOTREXATE_LEVEL,
        overdue=None,
        reason="What is not cleared harms marrow, gut and kidney.",
        when_high=Action.HOLD,
        high_reason="What is not cleared harms marrow, gut and kidney: ask about folinic acid now.",
        source=common_practice("methotrexate is withheld while a level can be measured"),
        team="oncology or rheumatology, with the ward pharmacist",
    ),
    LevelRule(
        ingredient="acetylsalicylic acid",
        signal=Signal.SALICYLATE_LEVEL,
        overdue=None,
        reason="A high level poisons.",
        when_high=Action.HOLD,
        high_reason="It poisons: acid, glucose and kidney function go with it.",
        source=common_practice("salicylates are withheld in salicylate poisoning"),
        team=_WARD,
    ),
)
