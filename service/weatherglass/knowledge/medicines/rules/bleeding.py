"""Rules for suspected bleeding, a raised INR and low platelets.

What is left out on purpose: reversal doses as suggestions. The doses that publications
print are shown as information for the haematology protocol, never as an order.
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

_HAEMOSTASIS = RestartPlan(
    conditions=(
        ways_back.BLEEDING_CONTROLLED,
        "the risk of thrombosis weighed against that of more bleeding",
    ),
    who="senior doctor with haematology, and cardiology where the heart is the reason",
)

#: What is read instead where blood goes into the head or another critical site.
_CRITICAL = (RuleCondition.CRITICAL_BLEEDING,)

_BLEEDING: Final = (
    MedicineRule(
        key="bleeding-vka",
        trigger=Trigger.BLEEDING,
        classes=(_C.VITAMIN_K_ANTAGONIST,),
        unless=_CRITICAL,
        action=Action.HOLD,
        reason="It keeps blood from clotting while somebody may be bleeding.",
        caution="For the haematology protocol: major bleeding, prothrombin complex concentrate 25 to 50 "
        "units/kg with vitamin K 5 mg intravenously; other bleeding, vitamin K 1 to 3 mg intravenously "
        "(British guideline). In gastrointestinal bleeding the American and Canadian guideline advises "
        "against routine vitamin K and plasma. With a mechanical valve ask haematology and cardiology "
        "before any vitamin K.",
        monitor=("INR", "haemoglobin"),
        restart=_HAEMOSTASIS,
        sources=(
            cited.BSH_WARFARIN.at("bleeding on warfarin", Mark.SECONDARY),
            cited.ACG_BLEEDING.at("warfarin: vitamin K, fresh frozen plasma, prothrombin complex"),
        ),
        rank=Rank(1, "nothing else makes a bleed go on so long"),
    ),
    MedicineRule(
        key="bleeding-doac",
        trigger=Trigger.BLEEDING,
        classes=(_C.FACTOR_XA_INHIBITOR, _C.DIRECT_THROMBIN_INHIBITOR),
        unless=_CRITICAL,
        action=Action.HOLD,
        reason="It keeps blood from clotting while somebody may be bleeding.",
        caution="Write down the time of the last dose; reversal follows the haematology protocol.",
        monitor=("haemoglobin", "kidney function, which sets how long it lasts"),
        restart=_HAEMOSTASIS,
        sources=(
            cited.BSG_BLEEDING.at("direct oral anticoagulants", Mark.FROM_MEMORY),
            cited.ESGE_BLEEDING.at("anticoagulants", Mark.FROM_MEMORY),
        ),
        rank=Rank(1, "nothing else makes a bleed go on so long"),
    ),
    MedicineRule(
        key="bleeding-heparin",
        trigger=Trigger.BLEEDING,
        classes=(_C.HEPARIN, _C.FONDAPARINUX),
        unless=_CRITICAL,
        action=Action.HOLD,
        reason="It keeps blood from clotting while somebody may be bleeding.",
        caution="Consider mechanical prophylaxis meanwhile.",
        monitor=("haemoglobin and platelets",),
        restart=_HAEMOSTASIS,
        sources=(cited.memory("heparins while bleeding"),),
        rank=Rank(1, "nothing else makes a bleed go on so long"),
    ),
    MedicineRule(
        key="bleeding-aspirin",
        trigger=Trigger.BLEEDING,
        classes=(_C.ASPIRIN,),
        unless=_CRITICAL,
        action=Action.REVIEW,
        eases=(Step(action=Action.CONTINUE, when=(RuleCondition.SECONDARY_PREVENTION,)),),
        reason="For known arterial disease aspirin goes on, or starts again on the day bleeding is "
        "controlled; for primary prevention consider holding it.",
        caution="Find out why it is given before any dose is left out.",
        monitor=("haemoglobin",),
        sources=(
            cited.ACG_BLEEDING.at("aspirin for secondary prevention"),
            cited.memory("aspirin for primary prevention in bleeding"),
            our_choice("reviewed where no arterial disease is recorded, since the record may be incomplete"),
        ),
        rank=Rank(3, "after the anticoagulant: a stent may depend on it"),
    ),
    MedicineRule(
        key="bleeding-p2y12",
        trigger=Trigger.BLEEDING,
        classes=(_C.P2Y12_INHIBITOR,),
        unless=_CRITICAL,
        action=Action.REVIEW,
        eases=(
            Step(
                action=Action.CONTINUE,
                when=(RuleCondition.CORONARY_STENT, RuleCondition.RECENT_ACUTE_CORONARY_SYNDROME),
            ),
        ),
        reason="With a coronary stent or a recent acute coronary syndrome it goes on until cardiology has "
        "spoken; a stent can clot within hours.",
        caution="Never leave out both antiplatelets.",
        monitor=("haemoglobin",),
        sources=(
            cited.ESGE_BLEEDING.at("dual antiplatelet treatment", Mark.FROM_MEMORY),
            cited.BSG_BLEEDING.at("P2Y12 inhibitors", Mark.FROM_MEMORY),
        ),
        rank=Rank(3, "after the anticoagulant: a stent may depend on it"),
    ),
    MedicineRule(
        key="bleeding-other-antiplatelet",
        trigger=Trigger.BLEEDING,
        classes=(_C.ANTIPLATELET,),
        but_not=(_C.ASPIRIN, _C.P2Y12_INHIBITOR),
        unless=_CRITICAL,
        action=Action.REVIEW,
        reason="It keeps platelets from clumping while somebody may be bleeding.",
        monitor=("haemoglobin",),
        sources=(cited.memory("other antiplatelets while bleeding"),),
        rank=Rank(3, "after the anticoagulant: a stent may depend on it"),
    ),
    MedicineRule(
        key="bleeding-nsaid",
        trigger=Trigger.BLEEDING,
        classes=(_C.NSAID, _C.SALICYLATE_ANALGESIC),
        but_not=(_C.ASPIRIN,),
        action=Action.HOLD,
        also=(Action.AVOID,),
        reason="It ulcerates the gut and weakens platelets.",
        restart=RestartPlan(conditions=(ways_back.BLEEDING_CONTROLLED, ways_back.NO_SAFER_ANALGESIC)),
        sources=(cited.memory("NSAIDs while bleeding"),),
        rank=Rank(2, "it may be the cause, and is easily done without"),
    ),
    MedicineRule(
        key="bleeding-antidepressant",
        trigger=Trigger.BLEEDING,
        classes=(_C.SSRI, _C.SNRI),
        action=Action.REVIEW,
        also=(Action.CONTINUE,),
        reason="It weakens platelets a little; another antidepressant may suit in time.",
        sources=(cited.memory("SSRIs and bleeding"),),
    ),
    MedicineRule(
        key="bleeding-steroid",
        trigger=Trigger.BLEEDING,
        classes=(_C.GLUCOCORTICOID,),
        action=Action.CONTINUE,
        reason="It can add to ulceration, but leaving it out in a long-term user is more dangerous.",
        sources=(cited.memory("steroids while bleeding"), cited.STEROID_CARD.at("omission can be fatal")),
    ),
    MedicineRule(
        key="bleeding-thrombolytic",
        trigger=Trigger.BLEEDING,
        classes=(_C.THROMBOLYTIC,),
        unless=_CRITICAL,
        action=Action.HOLD,
        reason="It dissolves the clots that hold a bleeding vessel closed: a running infusion needs a senior "
        "decision at once.",
        monitor=("fibrinogen", "haemoglobin"),
        restart=_HAEMOSTASIS,
        sources=(cited.memory("thrombolytic infusion while bleeding"),),
        rank=Rank(1, "a running infusion dissolves the clot that holds"),
    ),
)

_REVERSAL = "Reversal: ask haematology now, with the time of the last dose and the filtration rate."

_CRITICAL_BLEEDING: Final = (
    MedicineRule(
        key="critical-bleeding-anticoagulant",
        trigger=Trigger.CRITICAL_BLEEDING,
        classes=(
            _C.VITAMIN_K_ANTAGONIST,
            _C.FACTOR_XA_INHIBITOR,
            _C.DIRECT_THROMBIN_INHIBITOR,
            _C.HEPARIN,
            _C.LMWH,
            _C.FONDAPARINUX,
        ),
        action=Action.HOLD,
        says="Consider holding {0} and asking haematology about its reversal now",
        reason="It lets a bleed into a closed place grow, which kills or maims within hours.",
        caution=f"{_REVERSAL} Neurosurgery or the specialty of the site as well.",
        monitor=("INR, clotting and, where it can be had, the level of the medicine", "consciousness"),
        restart=_HAEMOSTASIS,
        sources=(
            cited.BSH_WARFARIN.at("major bleeding: reversal", Mark.SECONDARY),
            our_choice("bleeding into the head or another critical site on it is an emergency"),
        ),
        rank=Rank(1, "nothing else makes a bleed go on so long"),
    ),
    MedicineRule(
        key="critical-bleeding-thrombolytic",
        trigger=Trigger.CRITICAL_BLEEDING,
        classes=(_C.THROMBOLYTIC,),
        action=Action.HOLD,
        says="Consider ending {0} and asking haematology about its reversal now",
        reason="It dissolves the clot that holds a bleeding vessel closed.",
        caution=_REVERSAL,
        monitor=("fibrinogen", "consciousness"),
        restart=_HAEMOSTASIS,
        sources=(our_choice("bleeding into the head or another critical site on it is an emergency"),),
        rank=Rank(1, "a running infusion dissolves the clot that holds"),
    ),
    MedicineRule(
        key="critical-bleeding-antiplatelet",
        trigger=Trigger.CRITICAL_BLEEDING,
        classes=(_C.ASPIRIN, _C.P2Y12_INHIBITOR, _C.ANTIPLATELET),
        action=Action.HOLD,
        eases=(
            Step(
                action=Action.REVIEW,
                when=(RuleCondition.CORONARY_STENT, RuleCondition.RECENT_ACUTE_CORONARY_SYNDROME),
            ),
        ),
        reason="It keeps platelets from closing the vessel; a bleed into a closed place grows within hours.",
        caution="Ask haematology and the specialty of the site now; with a stent or a recent coronary event "
        "cardiology too, and never both antiplatelets left out.",
        monitor=("consciousness", "platelets"),
        restart=_HAEMOSTASIS,
        sources=(our_choice("bleeding into the head or another critical site on it is an emergency"),),
        rank=Rank(2, "after the anticoagulant: a stent may depend on it"),
    ),
    MedicineRule(
        key="head-injury-antithrombotic",
        trigger=Trigger.HEAD_INJURY,
        classes=(
            _C.VITAMIN_K_ANTAGONIST,
            _C.FACTOR_XA_INHIBITOR,
            _C.DIRECT_THROMBIN_INHIBITOR,
            _C.HEPARIN,
            _C.LMWH,
            _C.FONDAPARINUX,
            _C.ANTIPLATELET,
            _C.ASPIRIN,
            _C.P2Y12_INHIBITOR,
            _C.THROMBOLYTIC,
        ),
        unless=_CRITICAL,
        action=Action.REVIEW,
        reason="A blow to the head can bleed late in somebody who takes it: look before the next dose.",
        caution="CT of the head is considered within 8 hours of the injury, within 1 hour with a sign such "
        "as a low coma scale, a fit, a focal deficit or repeated vomiting.",
        monitor=("coma scale and pupils", "INR where it is a vitamin K antagonist"),
        sources=(
            cited.NICE_HEAD_INJURY.at("CT in people on anticoagulants or antiplatelets", Mark.SECONDARY),
            our_choice("prompt, and urgent with any neurological sign"),
        ),
        rank=Rank(1, "nothing else makes a bleed go on so long"),
    ),
)

_RAISED_INR: Final = (
    MedicineRule(
        key="inr-above-8",
        trigger=Trigger.INR_ABOVE_8,
        classes=(_C.VITAMIN_K_ANTAGONIST,),
        unless=(RuleCondition.BLEEDING,),
        action=Action.HOLD,
        reason="Above an INR of 8 bleeding becomes likely even without an injury.",
        caution="For the haematology protocol: vitamin K 1 to 5 mg by mouth (British guideline). With a "
        "mechanical valve ask haematology and cardiology before a dose is chosen.",
        monitor=("INR again in 24 hours", "haemoglobin"),
        restart=RestartPlan(
            conditions=("INR below 5.0", "its cause found"),
            then=("restart at a lower maintenance dose",),
            who="senior ward review with the anticoagulation service",
        ),
        sources=(cited.BSH_WARFARIN.at("INR > 8.0, no bleeding", Mark.SECONDARY),),
    ),
    MedicineRule(
        key="inr-5-to-8",
        trigger=Trigger.INR_5_TO_8,
        classes=(_C.VITAMIN_K_ANTAGONIST,),
        unless=(RuleCondition.BLEEDING,),
        action=Action.HOLD,
        also=(Action.REDUCE,),
        reason="Consider holding one or two doses and lowering the maintenance dose; look for the cause.",
        monitor=("INR daily",),
        restart=RestartPlan(
            conditions=("INR below 5.0", "its cause found"),
            then=("restart at a lower maintenance dose",),
            who="senior ward review with the anticoagulation service",
        ),
        sources=(cited.BSH_WARFARIN.at("INR 5.0 to 8.0, no bleeding", Mark.SECONDARY),),
    ),
    MedicineRule(
        key="inr-above-target",
        trigger=Trigger.INR_ABOVE_TARGET,
        classes=(_C.VITAMIN_K_ANTAGONIST,),
        unless=(RuleCondition.BLEEDING,),
        action=Action.REVIEW,
        reason="The INR is above every usual target; the dose, a new antibacterial or poor intake may be "
        "why.",
        monitor=("INR daily",),
        sources=(cited.memory("INR above target and below 5"),),
    ),
)

_PLATELETS: Final = (
    MedicineRule(
        key="platelets-heparin",
        trigger=Trigger.LOW_PLATELETS,
        classes=(_C.HEPARIN, _C.FONDAPARINUX),
        action=Action.HOLD,
        reason="Below 50 prophylaxis is more likely to bleed than to help.",
        only_for=(
            Caution(
                text="If heparin was started in the last two weeks think of heparin-induced "
                "thrombocytopenia.",
                classes=(_C.HEPARIN,),
            ),
        ),
        monitor=("platelets daily",),
        restart=RestartPlan(
            conditions=("platelets at least 50 and rising",), then=("decide with haematology",)
        ),
        sources=(cited.memory("heparin prophylaxis and platelets below 50"),),
    ),
    MedicineRule(
        key="platelets-other-antithrombotic",
        trigger=Trigger.LOW_PLATELETS,
        classes=(
            _C.VITAMIN_K_ANTAGONIST,
            _C.FACTOR_XA_INHIBITOR,
            _C.DIRECT_THROMBIN_INHIBITOR,
            _C.ANTIPLATELET,
            _C.THROMBOLYTIC,
        ),
        action=Action.REVIEW,
        reason="Low platelets add to the risk of bleeding.",
        caution="Ask haematology.",
        only_for=(
            Caution(text="A stent may still need it.", classes=(_C.ANTIPLATELET,)),
            Caution(
                text="A mechanical valve or a recent clot may still need it.",
                classes=(_C.VITAMIN_K_ANTAGONIST,),
            ),
            Caution(
                text="Atrial fibrillation or a recent clot may still need it.",
                classes=(_C.FACTOR_XA_INHIBITOR,),
            ),
            Caution(
                text="Atrial fibrillation or a recent clot may still need it.",
                ingredients=("dabigatran etexilate",),
            ),
        ),
        monitor=("platelets daily",),
        sources=(cited.memory("antithrombotics and platelets below 50"),),
    ),
    MedicineRule(
        key="platelets-halved-heparin",
        trigger=Trigger.PLATELETS_HALVED_ON_HEPARIN,
        classes=(_C.HEPARIN,),
        action=Action.HOLD,
        reason="Platelets that halve on heparin suggest heparin-induced thrombocytopenia: consider holding "
        "all heparin, flushes and coated lines too.",
        caution="The risk is thrombosis: haematology chooses another anticoagulant at once.",
        monitor=("platelets daily", "the clinical score for heparin-induced thrombocytopenia"),
        restart=RestartPlan(conditions=("heparin-induced thrombocytopenia excluded",), who="haematology"),
        sources=(cited.memory("heparin-induced thrombocytopenia"),),
    ),
)

RULES: Final = (*_BLEEDING, *_CRITICAL_BLEEDING, *_RAISED_INR, *_PLATELETS)
