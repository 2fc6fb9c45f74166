"""Rules for a low glucose and for a raised lactate or an acidosis."""

from datetime import timedelta
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
from weatherglass.model.sources import Mark, common_practice, our_choice

_C = MedicineClass

_LOW_GLUCOSE: Final = (
    MedicineRule(
        key="hypoglycaemia-insulin-releasers",
        trigger=Trigger.HYPOGLYCAEMIA,
        classes=(_C.SULFONYLUREA, _C.GLINIDE),
        action=Action.HOLD,
        reason="It goes on releasing insulin: hypoglycaemia may come back for 24 to 36 hours, longer when "
        "the kidneys are impaired.",
        monitor=("capillary glucose every hour at first, then every 4 hours",),
        restart=RestartPlan(
            conditions=("glucose steady", ways_back.EATING),
            then=("review dose and need with the diabetes team",),
        ),
        sources=(cited.HYPOGLYCAEMIA.at("sulfonylureas: prolonged hypoglycaemia", Mark.SECONDARY),),
    ),
    MedicineRule(
        key="hypoglycaemia-insulin",
        trigger=Trigger.HYPOGLYCAEMIA,
        classes=(_C.INSULIN,),
        unless=(RuleCondition.INTRAVENOUS,),
        action=Action.REVIEW,
        also=(Action.CONTINUE,),
        soon=("prompt", "urgent"),
        rank=Rank(1, "nothing else lowers glucose so fast"),
        reason="Once the glucose is corrected the next due insulin is given, at a reviewed dose.",
        caution="In type 1 diabetes basal insulin is never left out. Poor intake, kidney injury and liver "
        "failure lower the need.",
        monitor=("capillary glucose",),
        sources=(cited.HYPOGLYCAEMIA.at("do not omit the next insulin, review the dose", Mark.SECONDARY),),
    ),
    MedicineRule(
        key="hypoglycaemia-insulin-infusion",
        trigger=Trigger.HYPOGLYCAEMIA,
        classes=(_C.INSULIN,),
        only_when=(RuleCondition.INTRAVENOUS,),
        action=Action.HOLD,
        eases=(Step(action=Action.REVIEW, when=(RuleCondition.GLUCOSE_RECOVERED,)),),
        says="Consider pausing {0}, treating the glucose and measuring it again in 10 to 15 minutes, then "
        "restarting",
        soon=("urgent", "emergency"),
        reason="An insulin infusion that runs on goes on lowering the glucose; once paused it is gone within "
        "minutes.",
        caution="Basal insulin goes on. In type 1 diabetes an infusion is not left off: ketones rise within "
        "an hour.",
        monitor=("capillary glucose every 10 to 15 minutes until 4.0 mmol/L or more, then every hour",),
        restart=RestartPlan(
            conditions=("glucose 4.0 mmol/L or more",),
            then=("restart at once at a reviewed rate",),
            who="the doctor who reviews the infusion, with the diabetes team",
            within=timedelta(hours=1),
        ),
        sources=(
            common_practice("an insulin infusion is paused, the low glucose treated, and it is restarted"),
            our_choice("below 3.0 mmol/L on a running infusion is an emergency"),
        ),
        rank=Rank(1, "nothing else lowers glucose so fast"),
    ),
    MedicineRule(
        key="hypoglycaemia-unlikely-cause",
        trigger=Trigger.HYPOGLYCAEMIA,
        classes=(_C.METFORMIN, _C.GLP1_AGONIST, _C.DPP4_INHIBITOR, _C.GLITAZONE),
        action=Action.MONITOR,
        reason="On its own it hardly ever causes hypoglycaemia; look for another cause.",
        monitor=("capillary glucose",),
        sources=(cited.HYPOGLYCAEMIA.at("agents unlikely to cause hypoglycaemia alone", Mark.SECONDARY),),
    ),
    MedicineRule(
        key="hypoglycaemia-contributor",
        trigger=Trigger.HYPOGLYCAEMIA,
        classes=(_C.HYPOGLYCAEMIA_CONTRIBUTOR, _C.SULFONAMIDE),
        action=Action.REVIEW,
        reason="Quinine, pentamidine and sulfamethoxazole can make the pancreas release insulin.",
        monitor=("capillary glucose",),
        sources=(cited.memory("other medicines that lower glucose"),),
    ),
    MedicineRule(
        key="hypoglycaemia-beta-blocker",
        trigger=Trigger.HYPOGLYCAEMIA,
        classes=(_C.BETA_BLOCKER,),
        action=Action.MONITOR,
        reason="It can hide the pulse and the tremor that warn of hypoglycaemia.",
        monitor=("capillary glucose rather than symptoms",),
        sources=(cited.memory("beta-blockers mask hypoglycaemia"),),
    ),
    MedicineRule(
        key="hypoglycaemia-steroid",
        trigger=Trigger.HYPOGLYCAEMIA,
        classes=(_C.GLUCOCORTICOID,),
        action=Action.CONTINUE,
        reason="Missed steroid doses, or a need that has outgrown them, can be the cause of a low glucose.",
        sources=(
            cited.memory("steroid withdrawal and hypoglycaemia"),
            cited.STEROID_CARD.at("adrenal crisis"),
        ),
    ),
)

_ACID: Final = (
    MedicineRule(
        key="lactate-metformin",
        trigger=Trigger.LACTATE_OR_ACIDOSIS,
        classes=(_C.METFORMIN,),
        action=Action.HOLD,
        reason="Metformin slows the clearance of lactate.",
        caution="Look for the cause of the lactate first: perfusion, sepsis, liver, bowel.",
        monitor=("lactate and blood gas again", "kidney function"),
        restart=RestartPlan(conditions=("lactate normal", "its cause dealt with", ways_back.KIDNEYS_STABLE)),
        sources=(
            cited.NICE_DIABETES.at("metformin and lactic acidosis"),
            cited.memory("metformin in a raised lactate"),
        ),
    ),
    MedicineRule(
        key="lactate-sglt2",
        trigger=Trigger.LACTATE_OR_ACIDOSIS,
        classes=(_C.SGLT2_INHIBITOR,),
        action=Action.HOLD,
        also=(Action.MONITOR,),
        reason="An acidosis may be ketoacidosis, which an SGLT2 inhibitor can bring with a normal glucose.",
        monitor=("blood ketones now, even when glucose is normal",),
        restart=RestartPlan(conditions=(ways_back.EATING, ways_back.KETONES)),
        sources=(cited.MHRA_SGLT2.at("ketoacidosis"),),
    ),
    MedicineRule(
        key="lactate-other-cause",
        trigger=Trigger.LACTATE_OR_ACIDOSIS,
        classes=(_C.LINEZOLID, _C.NUCLEOSIDE_RTI, _C.BETA_AGONIST, _C.PROPOFOL),
        action=Action.REVIEW,
        reason="It is a known cause of a raised lactate.",
        only_for=(
            Caution(
                text="Nebulised beta-agonists raise lactate as well, and are not on this list.",
                classes=(_C.BETA_AGONIST,),
            ),
        ),
        monitor=("lactate again",),
        sources=(cited.memory("linezolid, nucleoside inhibitors, beta-agonists and propofol"),),
    ),
)

_KETONES: Final = (
    MedicineRule(
        key="ketones-sglt2",
        trigger=Trigger.RAISED_KETONES,
        classes=(_C.SGLT2_INHIBITOR,),
        action=Action.HOLD,
        also=(Action.MONITOR,),
        reason="It can bring ketoacidosis with a normal glucose, and goes on doing so for days after a dose.",
        caution="A normal glucose does not reassure.",
        monitor=("blood ketones and a venous gas now, and again within 2 hours",),
        restart=RestartPlan(
            conditions=(ways_back.EATING, ways_back.KETONES),
            then=("after ketoacidosis only with the diabetes team",),
        ),
        sources=(cited.MHRA_SGLT2.at("ketoacidosis"),),
    ),
    MedicineRule(
        key="ketones-insulin",
        trigger=Trigger.RAISED_KETONES,
        classes=(_C.INSULIN,),
        action=Action.CONTINUE,
        also=(Action.REVIEW,),
        reason="Raised ketones mean that there is too little insulin, whatever the glucose.",
        caution="Look at the sites and the last doses.",
        only_for=(
            Caution(
                text="A pump that fails leaves no depot.",
                ingredients=(
                    "insulin",
                    "insulin aspart",
                    "insulin lispro",
                    "insulin glulisine",
                    "insulin human",
                ),
            ),
        ),
        monitor=("blood ketones, glucose and a venous gas",),
        sources=(
            cited.KETOACIDOSIS.at("long-acting insulin is continued", Mark.FROM_MEMORY),
            cited.OMITTED_MEDICINES.at("insulin"),
        ),
    ),
)

RULES: Final = (*_LOW_GLUCOSE, *_ACID, *_KETONES)
