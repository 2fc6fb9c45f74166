"""Rules for vomiting, diarrhoea and fluid depletion on the problem list.

Only what is published for people in hospital, and lithium: the advice that people at home
follow on a sick day is a different thing and is not used here.
"""

from typing import Final

from weatherglass.knowledge import publications as cited
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.rules import ways_back
from weatherglass.knowledge.medicines.rules.forms import Form
from weatherglass.knowledge.medicines.rules.rule import (
    Action,
    Caution,
    MedicineRule,
    RestartPlan,
    RuleCondition,
    Trigger,
)
from weatherglass.model.sources import Mark

_C = MedicineClass

RULES: Final = (
    MedicineRule(
        key="fluid-loss-raas",
        trigger=Trigger.FLUID_LOSS,
        classes=(_C.ACE_INHIBITOR, _C.ARB, _C.ARNI, _C.RENIN_INHIBITOR),
        action=Action.HOLD,
        reason="With fluid lost the kidney needs angiotensin to keep its filtration.",
        only_for=(
            Caution(
                text="For heart failure decide with its team.",
                classes=(_C.ACE_INHIBITOR, _C.ARB, _C.ARNI),
            ),
        ),
        monitor=("creatinine and potassium", "blood pressure", "fluid balance"),
        restart=RestartPlan(
            conditions=(ways_back.EATING, ways_back.VOLUME, ways_back.PRESSURE, ways_back.KIDNEYS_RECOVERED)
        ),
        sources=(cited.NICE_AKI.at("consider a pause in diarrhoea, vomiting or sepsis", Mark.FROM_MEMORY),),
    ),
    MedicineRule(
        key="fluid-loss-sglt2",
        trigger=Trigger.FLUID_LOSS,
        classes=(_C.SGLT2_INHIBITOR,),
        action=Action.HOLD,
        also=(Action.MONITOR,),
        reason="It takes more fluid away, and without food it can bring ketoacidosis with a normal glucose.",
        monitor=("blood ketones, even when glucose is normal",),
        restart=RestartPlan(conditions=(ways_back.EATING, ways_back.KETONES)),
        sources=(cited.MHRA_SGLT2.at("interrupt during acute serious illness"),),
    ),
    MedicineRule(
        key="fluid-loss-lithium",
        trigger=Trigger.FLUID_LOSS,
        classes=(_C.LITHIUM,),
        action=Action.LEVEL,
        also=(Action.REVIEW,),
        reason="The kidney keeps lithium back when it saves salt and water, and vomiting can be poisoning.",
        monitor=("lithium level", "creatinine and sodium"),
        sources=(cited.memory("lithium in dehydration"),),
    ),
    MedicineRule(
        key="fluid-loss-steroid",
        trigger=Trigger.FLUID_LOSS,
        classes=(_C.GLUCOCORTICOID, _C.MINERALOCORTICOID),
        only_when=(RuleCondition.LONG_TERM_STEROID,),
        action=Action.CONTINUE,
        reason="A long-term user who vomits or loses fluid may need more, and by injection.",
        only_for=(Caution(text="A tablet that is vomited does not count.", forms=(Form.SWALLOWED,)),),
        caution="Ask about sick-day rules and the steroid card.",
        monitor=("blood pressure, sodium, potassium and glucose",),
        sources=(cited.STEROID_CARD.at("adrenal crisis"), cited.memory("steroids by injection in vomiting")),
    ),
)
