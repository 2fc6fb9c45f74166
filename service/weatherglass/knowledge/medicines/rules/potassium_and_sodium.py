"""Rules for a high or low potassium, a low magnesium and a low sodium."""

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
from weatherglass.model.sources import Mark, our_choice

_C = MedicineClass

_REPEAT = "potassium again, and a 12-lead ECG from 6.0 mmol/L"
_AT_6 = Step(action=Action.HOLD, when=(RuleCondition.POTASSIUM_AT_LEAST_6,))
#: A haemolysed sample may read falsely high: nothing is held on it alone.
_SPURIOUS = Step(action=Action.REVIEW, when=(RuleCondition.HAEMOLYSED_SAMPLE,))
_BELOW_5 = RestartPlan(
    conditions=(ways_back.POTASSIUM_BELOW_5, "the cause of the high potassium dealt with"),
    then=("chronic benefit is lost if it stays off",),
)
_LIST = cited.HYPERKALAEMIA.at("medicines that raise potassium", Mark.SECONDARY)

_HIGH_POTASSIUM: Final = (
    MedicineRule(
        key="potassium-supplement",
        trigger=Trigger.HYPERKALAEMIA,
        classes=(_C.POTASSIUM_SUPPLEMENT,),
        action=Action.REVIEW,
        steps=(_AT_6,),
        eases=(_SPURIOUS,),
        reason="It adds the potassium that is already too high.",
        caution="Look for potassium in infusions and feeds as well.",
        monitor=(_REPEAT,),
        restart=RestartPlan(conditions=("potassium below the lower limit of the laboratory",)),
        sources=(_LIST,),
        rank=Rank(1, "it adds the potassium that is already too high"),
    ),
    MedicineRule(
        key="potassium-raas",
        trigger=Trigger.HYPERKALAEMIA,
        classes=(_C.ACE_INHIBITOR, _C.ARB, _C.ARNI, _C.RENIN_INHIBITOR),
        action=Action.REVIEW,
        steps=(_AT_6,),
        eases=(_SPURIOUS,),
        reason="Less aldosterone means that less potassium is cleared.",
        caution="Not to be started above 5.0 mmol/L. In heart failure or proteinuric kidney disease plan the "
        "restart now, with the team that knows the patient.",
        monitor=(_REPEAT,),
        restart=_BELOW_5,
        sources=(
            cited.HYPERKALAEMIA.at("6.0 mmol/L or more", Mark.SECONDARY),
            cited.NICE_CKD.at("potassium of 6.0 mmol/L or more", Mark.SECONDARY),
            our_choice("review from 5.5, hold from 6.0 mmol/L"),
        ),
        rank=Rank(3, "it keeps potassium in through aldosterone"),
    ),
    MedicineRule(
        key="potassium-retaining",
        trigger=Trigger.HYPERKALAEMIA,
        classes=(_C.MRA, _C.POTASSIUM_SPARING),
        action=Action.REVIEW,
        steps=(_AT_6,),
        eases=(_SPURIOUS,),
        reason="It keeps the kidney from clearing potassium.",
        only_for=(
            Caution(
                text="In heart failure tell the heart failure team and plan the restart.", classes=(_C.MRA,)
            ),
        ),
        monitor=(_REPEAT,),
        restart=_BELOW_5,
        sources=(cited.HYPERKALAEMIA.at("6.0 mmol/L or more", Mark.SECONDARY),),
        rank=Rank(2, "nothing else keeps so much potassium in"),
    ),
    MedicineRule(
        key="potassium-other-causes",
        trigger=Trigger.HYPERKALAEMIA,
        classes=(
            _C.NSAID,
            _C.TRIMETHOPRIM,
            _C.NON_SELECTIVE_BETA_BLOCKER,
            _C.HEPARIN,
            _C.CALCINEURIN_INHIBITOR,
        ),
        action=Action.REVIEW,
        reason="It is a known cause of a raised potassium.",
        only_for=(
            Caution(
                text="Do not leave a patient without the anticoagulant they need: look for another "
                "contributor first.",
                classes=(_C.HEPARIN,),
            ),
            Caution(
                text="Do not leave a patient without the beta-blocker they need: look for another "
                "contributor first.",
                classes=(_C.NON_SELECTIVE_BETA_BLOCKER,),
            ),
            Caution(
                text="Do not leave a patient without the transplant medicine they need: look for another "
                "contributor first.",
                classes=(_C.CALCINEURIN_INHIBITOR,),
            ),
        ),
        monitor=(_REPEAT,),
        sources=(_LIST, cited.memory("NSAIDs, trimethoprim, heparin, calcineurin inhibitors, beta-blockers")),
    ),
    MedicineRule(
        key="potassium-digoxin",
        trigger=Trigger.HYPERKALAEMIA,
        classes=(_C.DIGITALIS,),
        action=Action.REVIEW,
        also=(Action.LEVEL,),
        reason="A high potassium can be the sign of digoxin poisoning.",
        monitor=("digoxin level", "12-lead ECG"),
        sources=(cited.memory("hyperkalaemia in digoxin toxicity"),),
    ),
)

_LOW_POTASSIUM: Final = (
    MedicineRule(
        key="low-potassium-losers",
        trigger=Trigger.LOW_POTASSIUM,
        classes=(_C.LOOP_DIURETIC, _C.THIAZIDE, _C.INSULIN, _C.BETA_AGONIST),
        action=Action.REVIEW,
        reason="It drives potassium out in the urine or into the cells.",
        caution="Consider replacing potassium.",
        only_for=(
            Caution(
                text="Insulin in type 1 diabetes or ketoacidosis goes on while potassium is given, under "
                "senior advice.",
                classes=(_C.INSULIN,),
            ),
        ),
        monitor=("potassium and magnesium", "ECG"),
        sources=(cited.memory("causes of a low potassium"),),
    ),
    MedicineRule(
        key="low-potassium-digoxin",
        trigger=Trigger.LOW_POTASSIUM,
        classes=(_C.DIGITALIS,),
        action=Action.LEVEL,
        reason="A low potassium makes an ordinary digoxin level toxic.",
        monitor=("digoxin level", "potassium and magnesium"),
        sources=(cited.memory("digoxin and a low potassium"),),
    ),
    MedicineRule(
        key="low-potassium-qt",
        trigger=Trigger.LOW_POTASSIUM,
        classes=(_C.QT_PROLONGING,),
        action=Action.REVIEW,
        reason="A low potassium and a medicine that lengthens the QT interval together invite torsade.",
        monitor=("12-lead ECG with QTc", "potassium and magnesium"),
        sources=(cited.memory("QT-prolonging medicines and a low potassium"),),
    ),
    MedicineRule(
        key="low-magnesium-losers",
        trigger=Trigger.LOW_MAGNESIUM,
        classes=(_C.LOOP_DIURETIC, _C.THIAZIDE),
        action=Action.REVIEW,
        reason="It drives magnesium out in the urine, and potassium will not recover without it.",
        monitor=("magnesium and potassium",),
        sources=(cited.memory("causes of a low magnesium"),),
    ),
    MedicineRule(
        key="low-magnesium-digoxin",
        trigger=Trigger.LOW_MAGNESIUM,
        classes=(_C.DIGITALIS,),
        action=Action.LEVEL,
        reason="A low magnesium makes an ordinary digoxin level toxic.",
        monitor=("digoxin level", "magnesium and potassium"),
        sources=(cited.memory("digoxin and a low magnesium"),),
    ),
    MedicineRule(
        key="low-magnesium-qt",
        trigger=Trigger.LOW_MAGNESIUM,
        classes=(_C.QT_PROLONGING,),
        action=Action.REVIEW,
        reason="A low magnesium and a medicine that lengthens the QT interval together invite torsade.",
        monitor=("12-lead ECG with QTc", "magnesium and potassium"),
        sources=(cited.memory("QT-prolonging medicines and a low magnesium"),),
    ),
)

_LOW_SODIUM: Final = (
    MedicineRule(
        key="low-sodium-thiazide",
        trigger=Trigger.LOW_SODIUM,
        classes=(_C.THIAZIDE,),
        action=Action.HOLD,
        reason="A thiazide is a common cause of a low sodium and can make it fall fast.",
        monitor=("sodium every 4 to 6 hours at first; too fast a rise harms the brain",),
        restart=RestartPlan(conditions=("sodium recovered", "no other diuretic will do")),
        sources=(cited.memory("thiazides and a low sodium"),),
    ),
    MedicineRule(
        key="low-sodium-antidepressant",
        trigger=Trigger.LOW_SODIUM,
        classes=(_C.SSRI, _C.SNRI),
        action=Action.REVIEW,
        also=(Action.CONTINUE,),
        reason="It can make the body keep water, most often in the first weeks.",
        sources=(cited.memory("SSRIs and SNRIs and a low sodium"),),
    ),
    MedicineRule(
        key="low-sodium-carbamazepine",
        trigger=Trigger.LOW_SODIUM,
        classes=(_C.CARBAMAZEPINE,),
        action=Action.REVIEW,
        also=(Action.CONTINUE,),
        reason="It makes the kidney keep water.",
        caution="Seizures threaten both from the low sodium and from a missed dose: ask neurology.",
        sources=(cited.memory("carbamazepine and a low sodium"),),
    ),
    MedicineRule(
        key="low-sodium-other",
        trigger=Trigger.LOW_SODIUM,
        classes=(_C.PPI, _C.TRIMETHOPRIM),
        action=Action.REVIEW,
        reason="It is a known, less common cause of a low sodium.",
        sources=(cited.memory("proton-pump inhibitors and trimethoprim and a low sodium"),),
    ),
    MedicineRule(
        key="low-sodium-desmopressin",
        trigger=Trigger.LOW_SODIUM,
        classes=(_C.DESMOPRESSIN,),
        action=Action.REVIEW,
        eases=(Step(action=Action.CONTINUE, when=(RuleCondition.DIABETES_INSIPIDUS,)),),
        reason="It makes the kidney keep water.",
        caution="In arginine vasopressin deficiency a missed dose can kill: call endocrinology before any "
        "change.",
        sources=(cited.memory("desmopressin and a low sodium"),),
    ),
)

#: For an order that is not signed yet, above 5.0 and below the limit of the rules above.
NOT_TO_BE_STARTED: Final = MedicineRule(
    key="potassium-do-not-start",
    trigger=Trigger.HYPERKALAEMIA,
    classes=(_C.ACE_INHIBITOR, _C.ARB, _C.ARNI, _C.RENIN_INHIBITOR, _C.MRA),
    action=Action.AVOID,
    reason="Above 5.0 mmol/L a blocker of the renin-angiotensin system is not started as a rule.",
    monitor=(_REPEAT,),
    sources=(cited.NICE_CKD.at("do not routinely offer a renin-angiotensin antagonist", Mark.SECONDARY),),
)

RULES: Final = (*_HIGH_POTASSIUM, *_LOW_POTASSIUM, *_LOW_SODIUM)
