"""Rules for acute kidney injury: what harms or strains the kidney, and medicines for diabetes.

Left out, with reasons:
    Dose tables by clearance: a dose is the prescriber's; the rule says that it needs a look.
    eGFR in acute kidney injury: not reliable, see `triggers.UNRELIABLE_EGFR`.
"""

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

_KIDNEYS = "creatinine and potassium daily"
_RECOVERED = RestartPlan(conditions=(ways_back.KIDNEYS_RECOVERED,), then=(ways_back.CHECK_INDICATION,))

_STRAIN: Final = (
    MedicineRule(
        key="aki-nsaid",
        trigger=Trigger.AKI,
        classes=(_C.NSAID,),
        action=Action.HOLD,
        also=(Action.AVOID,),
        reason="An NSAID takes away the prostaglandins that keep blood flowing into the glomerulus, "
        "and can inflame the kidney itself.",
        caution="Plan another analgesic.",
        monitor=(_KIDNEYS,),
        restart=RestartPlan(conditions=(ways_back.KIDNEYS_RECOVERED, ways_back.NO_SAFER_ANALGESIC)),
        sources=(
            cited.NICE_AKI.at("risk medicines: NSAIDs"),
            cited.AKI_PHARMACY.at("NSAIDs"),
        ),
        rank=Rank(1, "the first to go where it meets a renin-angiotensin blocker and a diuretic"),
    ),
    MedicineRule(
        key="aki-salicylate",
        trigger=Trigger.AKI,
        classes=(_C.SALICYLATE_ANALGESIC,),
        action=Action.REVIEW,
        reason="A salicylate in an analgesic dose acts on the kidney as an NSAID does.",
        sources=(our_choice("analgesic-dose salicylates are reviewed as NSAIDs"),),
    ),
    MedicineRule(
        key="aki-raas",
        trigger=Trigger.AKI,
        classes=(_C.ACE_INHIBITOR, _C.ARB, _C.ARNI, _C.RENIN_INHIBITOR),
        action=Action.REVIEW,
        steps=(
            Step(
                action=Action.HOLD,
                when=(
                    RuleCondition.HYPOTENSION,
                    RuleCondition.HYPOVOLAEMIA,
                    RuleCondition.SEPSIS,
                    RuleCondition.POTASSIUM_AT_LEAST_6,
                    RuleCondition.AKI_STAGE_2_OR_MORE,
                ),
            ),
        ),
        reason="Blocking the renin-angiotensin system lowers the pressure that drives filtration "
        "and raises potassium.",
        caution="In heart failure or proteinuric kidney disease plan the restart now, with the team that "
        "knows the patient.",
        monitor=(_KIDNEYS, "blood pressure"),
        restart=RestartPlan(
            conditions=(
                ways_back.PRESSURE,
                ways_back.VOLUME,
                ways_back.POTASSIUM_IN_RANGE,
                ways_back.KIDNEYS_SETTLING,
            ),
            then=(ways_back.CHECK_INDICATION, "re-titrate"),
        ),
        sources=(
            cited.NICE_AKI.at("risk medicines: ACE inhibitors, angiotensin receptor blockers"),
            cited.AKI_PHARMACY.at("ACE inhibitors and angiotensin receptor blockers"),
            cited.AKI_RESTART.at("restart of ACE inhibitors and angiotensin receptor blockers"),
            our_choice("stage 1 with normal pressure and potassium asks for a review, not a hold"),
        ),
        rank=Rank(2, "with the NSAID it takes away what keeps filtration going"),
    ),
    MedicineRule(
        key="aki-potassium-retaining",
        trigger=Trigger.AKI,
        classes=(_C.MRA, _C.POTASSIUM_SPARING),
        action=Action.HOLD,
        reason="It keeps potassium in while the kidney cannot clear it, and takes volume away.",
        only_for=(
            Caution(
                text="In heart failure tell the heart failure team and plan the restart.", classes=(_C.MRA,)
            ),
        ),
        monitor=(_KIDNEYS,),
        restart=RestartPlan(conditions=(ways_back.POTASSIUM_BELOW_5, ways_back.KIDNEYS_SETTLING)),
        sources=(
            cited.AKI_PHARMACY.at("potassium-sparing diuretics"),
            cited.HYPERKALAEMIA.at("medicines that raise potassium", Mark.SECONDARY),
        ),
        rank=Rank(3, "a diuretic is the third of the three that meet in the kidney"),
    ),
    MedicineRule(
        key="aki-diuretic",
        trigger=Trigger.AKI,
        classes=(_C.LOOP_DIURETIC, _C.THIAZIDE),
        action=Action.REVIEW,
        steps=(Step(action=Action.HOLD, when=(RuleCondition.HYPOVOLAEMIA,)),),
        eases=(Step(action=Action.REVIEW, when=(RuleCondition.FLUID_OVERLOAD,)),),
        reason="Whether a diuretic harms or helps depends on the volume state: consider holding it in "
        "someone who is dry, keep it in someone who is overloaded.",
        caution="Examine the volume state first; the record may not show it.",
        monitor=("fluid balance and weight daily", _KIDNEYS),
        restart=RestartPlan(conditions=(ways_back.VOLUME_OR_OVERLOAD,)),
        sources=(
            cited.NICE_AKI.at("risk medicines: diuretics"),
            cited.AKI_RESTART.at("restart of diuretics"),
            cited.memory("loop diuretics are not a treatment of acute kidney injury, only of overload"),
        ),
        rank=Rank(3, "a diuretic is the third of the three that meet in the kidney"),
    ),
    MedicineRule(
        key="aki-antihypertensive",
        trigger=Trigger.AKI,
        classes=(
            _C.DIHYDROPYRIDINE,
            _C.RATE_LIMITING_CALCIUM_BLOCKER,
            _C.ALPHA_BLOCKER,
            _C.ARTERIOLAR_VASODILATOR,
            _C.OTHER_ANTIHYPERTENSIVE,
            _C.NITRATE,
            _C.NICORANDIL,
        ),
        action=Action.REVIEW,
        steps=(Step(action=Action.HOLD, when=(RuleCondition.HYPOTENSION,)),),
        reason="An injured kidney needs pressure to be perfused.",
        only_for=(
            Caution(
                text="Keep it where it controls angina, unless the pressure forbids it.",
                classes=(_C.DIHYDROPYRIDINE, _C.NITRATE, _C.NICORANDIL),
            ),
            Caution(
                text="Keep it where it controls angina or a heart rate, unless the pressure forbids it.",
                classes=(_C.RATE_LIMITING_CALCIUM_BLOCKER,),
            ),
        ),
        monitor=("blood pressure",),
        restart=RestartPlan(conditions=(ways_back.PRESSURE,)),
        sources=(cited.AKI_PHARMACY.at("quick guide, antihypertensives and nitrates"),),
    ),
    MedicineRule(
        key="aki-central-antihypertensive",
        trigger=Trigger.AKI,
        classes=(_C.CENTRAL_ANTIHYPERTENSIVE,),
        action=Action.REVIEW,
        also=(Action.CONTINUE,),
        reason="It lowers pressure and builds up in kidney injury, but pressure rebounds when doses are "
        "missed.",
        sources=(cited.AKI_PHARMACY.at("quick guide, antihypertensives"),),
    ),
    MedicineRule(
        key="aki-beta-blocker",
        trigger=Trigger.AKI,
        classes=(_C.BETA_BLOCKER,),
        action=Action.REVIEW,
        also=(Action.CONTINUE,),
        reason="A beta-blocker that the kidney clears builds up and slows the heart.",
        only_for=(
            Caution(text="The kidney clears it.", ingredients=("atenolol", "sotalol", "nadolol")),
            Caution(text="The kidney clears it in part.", ingredients=("bisoprolol",)),
        ),
        monitor=("pulse and blood pressure",),
        sources=(
            cited.AKI_PHARMACY.at("beta-blockers"),
            cited.FDA_BETA_BLOCKERS.at("boxed warning"),
        ),
    ),
    MedicineRule(
        key="aki-contrast",
        trigger=Trigger.AKI,
        classes=(_C.IODINATED_CONTRAST,),
        action=Action.AVOID,
        reason="Contrast adds to the injury; give it only when the result matters more, with volume "
        "restored.",
        monitor=("creatinine at 48 to 72 hours",),
        sources=(cited.NICE_AKI.at("risk: iodinated contrast"),),
    ),
    MedicineRule(
        key="aki-ppi",
        trigger=Trigger.AKI,
        classes=(_C.PPI,),
        action=Action.REVIEW,
        reason="A proton-pump inhibitor is a cause of interstitial nephritis; think of it when the injury "
        "has no other cause.",
        sources=(cited.memory("interstitial nephritis from proton-pump inhibitors"),),
    ),
    MedicineRule(
        key="aki-iv-bisphosphonate",
        trigger=Trigger.AKI,
        classes=(_C.BISPHOSPHONATE,),
        only_when=(RuleCondition.INTRAVENOUS,),
        action=Action.HOLD,
        reason="Into a vein it is toxic to the tubules.",
        restart=RestartPlan(
            conditions=(ways_back.KIDNEYS_RECOVERED,), then=("check calcium and vitamin D first",)
        ),
        sources=(cited.memory("intravenous bisphosphonates in kidney injury"),),
    ),
    MedicineRule(
        key="aki-bisphosphonate",
        trigger=Trigger.AKI,
        classes=(_C.BISPHOSPHONATE,),
        unless=(RuleCondition.INTRAVENOUS,),
        action=Action.REVIEW,
        reason="It builds up when the kidney does not clear it.",
        sources=(cited.memory("oral bisphosphonates at low clearance"),),
    ),
    MedicineRule(
        key="aki-fibrate",
        trigger=Trigger.AKI,
        classes=(_C.FIBRATE,),
        action=Action.HOLD,
        reason="It raises creatinine and, when it builds up, harms muscle.",
        monitor=("creatine kinase if muscles hurt",),
        restart=_RECOVERED,
        sources=(cited.memory("fibrates in kidney injury"),),
    ),
    MedicineRule(
        key="aki-tenofovir",
        trigger=Trigger.AKI,
        classes=(_C.TENOFOVIR_DISOPROXIL,),
        action=Action.REVIEW,
        also=(Action.CONTINUE,),
        reason="Tenofovir disoproxil is toxic to the proximal tubule.",
        caution="Change treatment only with the team that treats the infection.",
        monitor=("phosphate and urinary protein",),
        sources=(cited.memory("tenofovir disoproxil and the proximal tubule"),),
    ),
)

_DIABETES: Final = (
    MedicineRule(
        key="aki-metformin",
        trigger=Trigger.AKI,
        classes=(_C.METFORMIN,),
        action=Action.HOLD,
        reason="Metformin is cleared by the kidney alone; when it builds up, lactate rises.",
        monitor=("glucose", "lactate if unwell"),
        restart=RestartPlan(conditions=(ways_back.EGFR_30, ways_back.EATING, ways_back.NO_SEPSIS)),
        sources=(
            cited.NICE_DIABETES.at("metformin and kidney function"),
            cited.NICE_AKI_MEDICINES.at("medicines cleared by the kidney"),
            our_choice("held while the injury is active, because an eGFR is not reliable then"),
        ),
    ),
    MedicineRule(
        key="low-egfr-metformin",
        trigger=Trigger.LOW_EGFR,
        classes=(_C.METFORMIN,),
        action=Action.REVIEW,
        steps=(Step(action=Action.HOLD, when=(RuleCondition.EGFR_BELOW_30,)),),
        reason="Metformin is not for an eGFR below 30, and its dose needs a look below 45.",
        restart=RestartPlan(conditions=(ways_back.EGFR_30,)),
        sources=(cited.NICE_DIABETES.at("metformin: below 30, and below 45"),),
    ),
    MedicineRule(
        key="aki-sglt2",
        trigger=Trigger.AKI,
        classes=(_C.SGLT2_INHIBITOR,),
        action=Action.HOLD,
        also=(Action.MONITOR,),
        reason="It takes volume away, and in acute illness can bring ketoacidosis with a normal glucose.",
        monitor=("blood ketones, even when glucose is normal",),
        restart=RestartPlan(conditions=(ways_back.EATING, ways_back.KETONES)),
        sources=(cited.MHRA_SGLT2.at("interrupt during acute serious illness"),),
    ),
    MedicineRule(
        key="aki-insulin-releasers",
        trigger=Trigger.AKI,
        classes=(_C.SULFONYLUREA, _C.GLINIDE),
        action=Action.REVIEW,
        also=(Action.REDUCE,),
        reason="It and its metabolites build up, and hypoglycaemia can then last for a day or more.",
        monitor=("capillary glucose every 4 hours",),
        sources=(cited.HYPOGLYCAEMIA.at("sulfonylureas and kidney impairment", Mark.SECONDARY),),
    ),
    MedicineRule(
        key="aki-insulin",
        trigger=Trigger.AKI,
        classes=(_C.INSULIN,),
        action=Action.REVIEW,
        also=(Action.REDUCE, Action.CONTINUE),
        reason="Insulin lasts longer when the kidney does not clear it.",
        caution="In type 1 diabetes basal insulin is never left out.",
        monitor=("capillary glucose every 4 hours",),
        sources=(
            cited.HYPOGLYCAEMIA.at("insulin and kidney impairment", Mark.SECONDARY),
            cited.memory("insulin clearance in kidney injury"),
        ),
    ),
)

RULES: Final = (*_STRAIN, *_DIABETES)
