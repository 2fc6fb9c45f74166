"""Rules for sepsis and other acute serious illness, and for planned iodinated contrast."""

from typing import Final

from weatherglass.knowledge import publications as cited
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.rules import ways_back
from weatherglass.knowledge.medicines.rules.rule import (
    Action,
    Caution,
    MedicineRule,
    Rank,
    RestartPlan,
    RuleCondition,
    Step,
    Trigger,
)
from weatherglass.model.sources import our_choice

_C = MedicineClass

_SEPSIS: Final = (
    MedicineRule(
        key="sepsis-sglt2",
        trigger=Trigger.SEPSIS,
        classes=(_C.SGLT2_INHIBITOR,),
        action=Action.HOLD,
        also=(Action.MONITOR,),
        reason="In acute illness it can bring ketoacidosis with a normal glucose.",
        monitor=("blood ketones, even when glucose is normal",),
        restart=RestartPlan(conditions=(ways_back.EATING, ways_back.KETONES)),
        sources=(cited.MHRA_SGLT2.at("interrupt during acute serious illness"),),
    ),
    MedicineRule(
        key="sepsis-metformin",
        trigger=Trigger.SEPSIS,
        classes=(_C.METFORMIN,),
        action=Action.REVIEW,
        steps=(
            Step(
                action=Action.HOLD,
                when=(
                    RuleCondition.HYPOXIA,
                    RuleCondition.SHOCK,
                    RuleCondition.AKI,
                    RuleCondition.CONTRAST_PLANNED,
                ),
            ),
        ),
        reason="When oxygen, pressure or the kidneys fail, lactate rises and metformin slows its clearance.",
        monitor=("lactate", "glucose"),
        restart=RestartPlan(
            conditions=(ways_back.ILLNESS_SETTLED, ways_back.EATING, ways_back.KIDNEYS_STABLE)
        ),
        sources=(cited.memory("metformin in hypoxia, shock, kidney injury and contrast"),),
    ),
    MedicineRule(
        key="sepsis-nsaid",
        trigger=Trigger.SEPSIS,
        classes=(_C.NSAID,),
        action=Action.HOLD,
        reason="In sepsis the kidney depends on the prostaglandins that an NSAID takes away.",
        restart=RestartPlan(conditions=(ways_back.ILLNESS_SETTLED, ways_back.KIDNEYS_RECOVERED)),
        sources=(cited.memory("NSAIDs in sepsis"),),
        rank=Rank(1, "it is the easiest to do without of what harms the kidney"),
    ),
    MedicineRule(
        key="sepsis-immunosuppressant",
        trigger=Trigger.SEPSIS,
        classes=(
            _C.METHOTREXATE,
            _C.BIOLOGIC,
            _C.JAK_INHIBITOR,
            _C.LEFLUNOMIDE,
            _C.AZATHIOPRINE,
            _C.MYCOPHENOLATE,
        ),
        only_when=(RuleCondition.SEPSIS,),
        action=Action.HOLD,
        eases=(Step(action=Action.CONTINUE, when=(RuleCondition.TRANSPLANT,)),),
        reason="It holds back the defence against infection.",
        caution="Tell the specialist who prescribes it.",
        only_for=(
            Caution(
                text="After a transplant never without the transplant team.",
                classes=(_C.AZATHIOPRINE, _C.MYCOPHENOLATE),
            ),
        ),
        monitor=("full blood count",),
        restart=RestartPlan(conditions=("infection treated",), who="the specialist who prescribes it"),
        sources=(cited.memory("immunosuppressants in serious infection"),),
    ),
    MedicineRule(
        key="sepsis-calcineurin",
        trigger=Trigger.SEPSIS,
        classes=(_C.CALCINEURIN_INHIBITOR, _C.MTOR_INHIBITOR),
        action=Action.CONTINUE,
        also=(Action.LEVEL,),
        reason="A graft can be lost within days of a gap; the transplant or specialist team decides.",
        caution="Macrolides and azole antifungals raise its level.",
        monitor=("trough level",),
        sources=(cited.memory("transplant immunosuppression in serious infection"),),
    ),
    MedicineRule(
        key="sepsis-steroid",
        trigger=Trigger.SEPSIS,
        classes=(_C.GLUCOCORTICOID, _C.MINERALOCORTICOID),
        action=Action.CONTINUE,
        reason="A long-term steroid user cannot raise their own cortisol: the dose is usually doubled, or "
        "hydrocortisone given.",
        caution="Ask about sick-day rules and the steroid card.",
        sources=(
            cited.STEROID_CARD.at("acute illness needs more; omission can be fatal"),
            cited.memory("hydrocortisone cover"),
        ),
    ),
    MedicineRule(
        key="sepsis-clozapine",
        trigger=Trigger.SEPSIS,
        classes=(_C.CLOZAPINE,),
        only_when=(RuleCondition.SEPSIS,),
        action=Action.MONITOR,
        also=(Action.CONTINUE,),
        reason="Infection on clozapine may mean that there are no neutrophils; infection also raises its "
        "level.",
        caution="Tell psychiatry; a gap of 48 hours means starting again from the lowest dose.",
        monitor=("neutrophils now", "clozapine level"),
        sources=(cited.memory("clozapine and infection"),),
    ),
    MedicineRule(
        key="sepsis-antibacterial",
        trigger=Trigger.SEPSIS,
        classes=(_C.ANTIBACTERIAL,),
        action=Action.CONTINUE,
        reason="The first dose is time-critical: make sure that it has been given.",
        until_given=True,
        sources=(cited.OMITTED_MEDICINES.at("first dose of an anti-infective"),),
    ),
)

_CONTRAST: Final = (
    MedicineRule(
        key="contrast-nsaid",
        trigger=Trigger.CONTRAST_PLANNED,
        classes=(_C.NSAID,),
        action=Action.HOLD,
        reason="With contrast it adds to the risk of kidney injury.",
        monitor=("eGFR from the last three months before, creatinine at 48 to 72 hours after",),
        restart=RestartPlan(conditions=(ways_back.UNCHANGED_72,)),
        sources=(
            cited.NICE_AKI.at("risk: contrast with other risk medicines"),
            cited.memory("NSAIDs and contrast"),
        ),
        rank=Rank(1, "it is the easiest to do without of what harms the kidney"),
    ),
    MedicineRule(
        key="contrast-metformin",
        trigger=Trigger.CONTRAST_PLANNED,
        classes=(_C.METFORMIN,),
        action=Action.REVIEW,
        steps=(Step(action=Action.HOLD, when=(RuleCondition.EGFR_BELOW_30, RuleCondition.AKI)),),
        reason="If contrast injures the kidney, metformin builds up.",
        monitor=("eGFR from the last three months before, creatinine at 48 hours after",),
        restart=RestartPlan(conditions=(ways_back.UNCHANGED_48,)),
        sources=(cited.memory("metformin and contrast below an eGFR of 30"),),
    ),
    MedicineRule(
        key="contrast-nephrotoxic",
        trigger=Trigger.CONTRAST_PLANNED,
        classes=(_C.AMINOGLYCOSIDE, _C.AMPHOTERICIN, _C.POLYMYXIN),
        action=Action.REVIEW,
        reason="With contrast it adds to the risk of kidney injury.",
        sources=(
            cited.NICE_AKI.at("risk medicines: aminoglycosides"),
            our_choice("other medicines toxic to the kidney are reviewed beside contrast"),
        ),
    ),
)

RULES: Final = (*_SEPSIS, *_CONTRAST)
