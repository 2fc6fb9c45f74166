"""Rules for acute kidney injury and for a low stable eGFR: anti-infectives, and what builds up."""

from typing import Final

from weatherglass.knowledge import publications as cited
from weatherglass.knowledge.kidneys import kdigo_aki_2012
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.rules import ways_back
from weatherglass.knowledge.medicines.rules.forms import Form
from weatherglass.knowledge.medicines.rules.rule import (
    Action,
    Caution,
    MedicineRule,
    RestartPlan,
    RuleCondition,
    Step,
    Trigger,
)
from weatherglass.model.sources import Mark, our_choice

_C = MedicineClass

_KIDNEYS = "creatinine and potassium daily"
_RECOVERED = RestartPlan(conditions=(ways_back.KIDNEYS_RECOVERED,), then=(ways_back.CHECK_INDICATION,))

_INFECTION: Final = (
    MedicineRule(
        key="aki-aminoglycoside",
        trigger=Trigger.AKI,
        classes=(_C.AMINOGLYCOSIDE,),
        action=Action.LEVEL,
        also=(Action.REVIEW, Action.AVOID),
        reason="It is toxic to the tubule and the inner ear, the more so the longer it stays.",
        caution="Ask every day whether it is still needed and whether another antibacterial would do.",
        monitor=("level before the next dose", _KIDNEYS),
        sources=(
            cited.NICE_AKI.at("risk medicines: aminoglycosides"),
            kdigo_aki_2012.PUBLICATION.at("chapter 3.8, aminoglycosides", Mark.FROM_MEMORY),
        ),
    ),
    MedicineRule(
        key="aki-glycopeptide",
        trigger=Trigger.AKI,
        classes=(_C.GLYCOPEPTIDE,),
        action=Action.LEVEL,
        also=(Action.REVIEW,),
        reason="It builds up, and high levels add to the injury.",
        monitor=("level before the next dose", _KIDNEYS),
        sources=(
            cited.PHARMACY_REVIEW.at("glycopeptides"),
            cited.memory("levels of vancomycin and teicoplanin in kidney injury"),
        ),
    ),
    MedicineRule(
        key="aki-nephrotoxic-anti-infective",
        trigger=Trigger.AKI,
        classes=(_C.POLYMYXIN, _C.AMPHOTERICIN),
        action=Action.REVIEW,
        reason="It is toxic to the tubule; another agent may spare the kidney.",
        only_for=(Caution(text="A lipid formulation may spare the kidney.", classes=(_C.AMPHOTERICIN,)),),
        monitor=(_KIDNEYS, "magnesium"),
        sources=(
            cited.PHARMACY_REVIEW.at("polymyxins and amphotericin"),
            kdigo_aki_2012.PUBLICATION.at("chapter 3.8, amphotericin", Mark.FROM_MEMORY),
        ),
    ),
    MedicineRule(
        key="aki-aciclovir",
        trigger=Trigger.AKI,
        classes=(_C.ACICLOVIR_LIKE,),
        action=Action.REDUCE,
        reason="It crystallises in the tubule and, when it builds up, confuses.",
        caution="Keep the patient well hydrated.",
        only_for=(Caution(text="In encephalitis dose with microbiology.", ingredients=("aciclovir",)),),
        sources=(cited.AKI_PHARMACY.at("aciclovir and relatives"),),
    ),
    MedicineRule(
        key="aki-trimethoprim",
        trigger=Trigger.AKI,
        classes=(_C.TRIMETHOPRIM,),
        action=Action.REDUCE,
        also=(Action.AVOID, Action.MONITOR),
        reason="It raises potassium, and raises creatinine without a fall in filtration.",
        monitor=("potassium",),
        sources=(
            cited.AKI_PHARMACY.at("trimethoprim, co-trimoxazole"),
            cited.memory("trimethoprim blocks the secretion of creatinine"),
        ),
    ),
    MedicineRule(
        key="aki-nitrofurantoin",
        trigger=Trigger.AKI,
        classes=(_C.NITROFURAN,),
        action=Action.REVIEW,
        also=(Action.AVOID,),
        reason="Too little reaches the urine to work, and what stays in the body can harm nerves.",
        sources=(cited.memory("nitrofurantoin below an eGFR of 45"),),
    ),
    MedicineRule(
        key="low-egfr-nitrofurantoin",
        trigger=Trigger.LOW_EGFR,
        classes=(_C.NITROFURAN,),
        only_when=(RuleCondition.EGFR_BELOW_45,),
        action=Action.REVIEW,
        also=(Action.AVOID,),
        reason="Below an eGFR of 45 it works poorly; between 30 and 44 only a short course with no "
        "alternative.",
        sources=(cited.memory("nitrofurantoin below an eGFR of 45"),),
    ),
    MedicineRule(
        key="aki-beta-lactam-early",
        trigger=Trigger.AKI,
        classes=(_C.BETA_LACTAM,),
        only_when=(RuleCondition.FIRST_48_HOURS_OF_TREATMENT,),
        action=Action.CONTINUE,
        reason="In the first 48 hours of an infection full doses are kept: too little harms more, and half "
        "of these kidney injuries are over by then.",
        sources=(
            cited.EARLY_FULL_DOSE,
            our_choice("the 48 hours count from the first dose or the order, whatever the score"),
        ),
    ),
    MedicineRule(
        key="aki-beta-lactam",
        trigger=Trigger.AKI,
        classes=(_C.BETA_LACTAM,),
        only_when=(RuleCondition.AKI_STAGE_2_OR_MORE,),
        unless=(RuleCondition.FIRST_48_HOURS_OF_TREATMENT,),
        except_for=frozenset({"ceftriaxone", "phenoxymethylpenicillin", "flucloxacillin", "cloxacillin"}),
        action=Action.REDUCE,
        reason="After the first two days the dose follows kidney function.",
        sources=(
            cited.memory("beta-lactam doses in kidney injury"),
            our_choice("from stage 2 on; some beta-lactams need no change"),
        ),
    ),
)

_BUILD_UP: Final = (
    MedicineRule(
        key="aki-digoxin",
        trigger=Trigger.AKI,
        classes=(_C.DIGITALIS,),
        action=Action.LEVEL,
        also=(Action.REDUCE, Action.MONITOR),
        reason="Digoxin builds up, and a disturbed potassium makes it toxic.",
        monitor=("digoxin level at least 6 hours after a dose", "potassium and magnesium", "pulse"),
        sources=(
            cited.NICE_AKI_MEDICINES.at("medicines cleared by the kidney"),
            cited.PHARMACY_REVIEW.at("digoxin"),
        ),
    ),
    MedicineRule(
        key="aki-lithium",
        trigger=Trigger.AKI,
        classes=(_C.LITHIUM,),
        action=Action.HOLD,
        also=(Action.LEVEL,),
        reason="Lithium is cleared by the kidney and is toxic to it and to the brain when it builds up.",
        caution="Tell psychiatry and the renal team; a long gap brings relapse.",
        monitor=("lithium level now", "sodium"),
        restart=RestartPlan(
            conditions=(ways_back.LEVEL_IN_RANGE, ways_back.KIDNEYS_SETTLING),
            who="psychiatry with the renal team and the ward pharmacist",
        ),
        sources=(
            cited.NICE_AKI_MEDICINES.at("medicines cleared by the kidney"),
            cited.memory("lithium in kidney injury"),
        ),
    ),
    MedicineRule(
        key="aki-calcineurin",
        trigger=Trigger.AKI,
        classes=(_C.CALCINEURIN_INHIBITOR, _C.MTOR_INHIBITOR),
        action=Action.LEVEL,
        also=(Action.CONTINUE,),
        reason="A high level can be the cause of the injury, a low one lets the graft be rejected.",
        caution="Call the transplant or specialist team before any change.",
        monitor=("trough level",),
        sources=(cited.memory("calcineurin and mTOR inhibitors in kidney injury"),),
    ),
    MedicineRule(
        key="aki-methotrexate",
        trigger=Trigger.AKI,
        classes=(_C.METHOTREXATE,),
        action=Action.HOLD,
        reason="Methotrexate that is not cleared poisons the marrow and the gut.",
        caution="Ask about folinic acid when a dose was taken recently.",
        monitor=("full blood count", "liver tests"),
        restart=RestartPlan(
            conditions=(ways_back.KIDNEYS_RECOVERED, "blood count recovered"),
            who="the specialist who prescribes it",
        ),
        sources=(cited.memory("methotrexate in kidney injury"),),
    ),
    MedicineRule(
        key="aki-allopurinol",
        trigger=Trigger.AKI,
        classes=(_C.ALLOPURINOL,),
        action=Action.REDUCE,
        reason="Its active metabolite builds up and can bring severe skin reactions.",
        sources=(cited.PHARMACY_REVIEW.at("allopurinol"), cited.memory("allopurinol dose and clearance")),
    ),
    MedicineRule(
        key="aki-colchicine",
        trigger=Trigger.AKI,
        classes=(_C.COLCHICINE,),
        action=Action.REDUCE,
        steps=(Step(action=Action.HOLD, when=(RuleCondition.AKI_STAGE_3,)),),
        reason="It builds up and can suppress the marrow and damage muscle.",
        monitor=("full blood count",),
        restart=_RECOVERED,
        sources=(cited.PHARMACY_REVIEW.at("colchicine"), cited.memory("colchicine in severe kidney injury")),
    ),
    MedicineRule(
        key="aki-opioid",
        trigger=Trigger.AKI,
        classes=(_C.RENALLY_CLEARED_OPIOID,),
        action=Action.REDUCE,
        reason="Active metabolites build up and bring drowsiness and slow breathing.",
        caution="An opioid that the kidney hardly clears may suit, with advice.",
        only_for=(
            Caution(
                text="A long-acting form goes on building up: a short-acting one may be safer.",
                forms=(Form.SLOW_RELEASE,),
            ),
        ),
        monitor=("sedation and breathing rate",),
        sources=(cited.AKI_PHARMACY.at("opioids"),),
    ),
    MedicineRule(
        key="aki-gabapentinoid",
        trigger=Trigger.AKI,
        classes=(_C.GABAPENTINOID,),
        action=Action.REDUCE,
        also=(Action.CONTINUE,),
        reason="It is cleared by the kidney alone and sedates when it builds up.",
        sources=(cited.AKI_PHARMACY.at("gabapentin and pregabalin"),),
    ),
    MedicineRule(
        key="aki-baclofen-levetiracetam",
        trigger=Trigger.AKI,
        classes=(_C.BACLOFEN, _C.LEVETIRACETAM),
        action=Action.REDUCE,
        also=(Action.CONTINUE,),
        reason="It is cleared by the kidney and brings drowsiness and confusion when it builds up.",
        sources=(cited.memory("baclofen and levetiracetam in kidney injury"),),
    ),
    MedicineRule(
        key="aki-phenytoin",
        trigger=Trigger.AKI,
        classes=(_C.PHENYTOIN,),
        action=Action.LEVEL,
        also=(Action.CONTINUE,),
        reason="Uraemia and a low albumin free more of it, so that a total level reads falsely low.",
        monitor=("level, corrected for albumin, or a free level",),
        sources=(cited.AKI_PHARMACY.at("phenytoin"),),
    ),
    MedicineRule(
        key="aki-sedative",
        trigger=Trigger.AKI,
        classes=(_C.BENZODIAZEPINE, _C.Z_DRUG),
        action=Action.REVIEW,
        reason="Sedation is deeper and longer in kidney injury.",
        sources=(cited.PHARMACY_REVIEW.at("benzodiazepines"),),
    ),
    MedicineRule(
        key="aki-anticoagulant",
        trigger=Trigger.AKI,
        classes=(_C.LMWH, _C.FONDAPARINUX, _C.DIRECT_THROMBIN_INHIBITOR, _C.FACTOR_XA_INHIBITOR),
        action=Action.REVIEW,
        reason="It builds up and bleeding becomes likelier; another agent or dose may be safer.",
        caution="Do not leave a patient at high risk of thrombosis without cover.",
        only_for=(
            Caution(
                text="Dabigatran is contraindicated below a clearance of 30 mL/min.",
                ingredients=("dabigatran etexilate",),
            ),
            Caution(
                text="Low-molecular-weight heparin needs less, or a change to unfractionated heparin.",
                classes=(_C.LMWH,),
            ),
            Caution(text="Fondaparinux is avoided at a low clearance.", classes=(_C.FONDAPARINUX,)),
        ),
        sources=(cited.LABELS.at("renal impairment", Mark.FROM_MEMORY),),
    ),
    MedicineRule(
        key="low-egfr-anticoagulant",
        trigger=Trigger.LOW_EGFR,
        classes=(_C.LMWH, _C.FONDAPARINUX, _C.DIRECT_THROMBIN_INHIBITOR, _C.FACTOR_XA_INHIBITOR),
        only_when=(RuleCondition.EGFR_BELOW_30,),
        action=Action.REVIEW,
        reason="Below a clearance of 30 mL/min another agent or dose may be safer.",
        sources=(cited.LABELS.at("renal impairment", Mark.FROM_MEMORY),),
    ),
    MedicineRule(
        key="aki-h2-antagonist",
        trigger=Trigger.AKI,
        classes=(_C.H2_ANTAGONIST,),
        action=Action.REVIEW,
        reason="It is cleared by the kidney and can confuse when it builds up.",
        sources=(cited.memory("H2-receptor antagonists at low clearance"),),
    ),
)

RULES: Final = (*_INFECTION, *_BUILD_UP)
