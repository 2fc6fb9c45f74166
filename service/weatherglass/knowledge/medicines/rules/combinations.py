"""What meets on one chart: medicines that are dangerous together, or with a trigger.

A combination is named even when each of its parts has a suggestion of its own, because
the danger is more than the sum.
"""

from dataclasses import dataclass
from typing import Final

from weatherglass.knowledge import publications as cited
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.rules.rule import RuleCondition, Trigger
from weatherglass.model.sources import Mark, Source, our_choice

_C = MedicineClass


@dataclass(frozen=True, slots=True, kw_only=True)
class Combination:
    """One combination.

    Attributes:
        key: Stable key.
        groups: Each group must be met by at least one order in force.
        triggers: If given, all of these must be present.
        any_trigger: If given, at least one of these must be present.
        conditions: If given, at least one of these must hold.
        in_one_order: Whether one order must meet every group (a combination product).
        sentence: What the reader sees, in words of ours.
        urgent: Whether somebody should act within the hour.
        calm_when: Circumstances in which nobody has to.
        sources: Where it is stated.
    """

    key: str
    groups: tuple[tuple[MedicineClass, ...], ...]
    sentence: str
    sources: tuple[Source, ...]
    triggers: tuple[Trigger, ...] = ()
    any_trigger: tuple[Trigger, ...] = ()
    conditions: tuple[RuleCondition, ...] = ()
    in_one_order: bool = False
    urgent: bool = False
    calm_when: tuple[RuleCondition, ...] = ()

    def __post_init__(self) -> None:
        """Refuse a combination without medicines, words or source."""
        if not (self.key and self.groups and all(self.groups) and self.sentence and self.sources):
            raise ValueError(f"Combination {self.key!r} is incomplete.")


_RAAS = (_C.ACE_INHIBITOR, _C.ARB, _C.ARNI, _C.RENIN_INHIBITOR)
_DIURETICS = (_C.LOOP_DIURETIC, _C.THIAZIDE, _C.POTASSIUM_SPARING, _C.MRA)

COMBINATIONS: Final = (
    Combination(
        key="aki-nsaid-raas-diuretic",
        groups=((_C.NSAID,), _RAAS, _DIURETICS),
        triggers=(Trigger.AKI,),
        sentence="An NSAID, a blocker of the renin-angiotensin system and a diuretic together take away "
        "every way the kidney has to keep its filtration; with acute kidney injury consider holding the "
        "NSAID first.",
        urgent=True,
        sources=(cited.NICE_AKI.at("risk medicines together"), cited.memory("the three together")),
    ),
    Combination(
        key="nsaid-raas-diuretic",
        groups=((_C.NSAID,), _RAAS, _DIURETICS),
        sentence="An NSAID, a blocker of the renin-angiotensin system and a diuretic are on the chart "
        "together: kidney injury becomes likely with any fluid loss. Review the NSAID.",
        sources=(cited.NICE_AKI.at("risk medicines together"), cited.memory("the three together")),
    ),
    Combination(
        key="aki-hyperkalaemia-raas",
        groups=((*_RAAS, _C.MRA, _C.POTASSIUM_SPARING, _C.POTASSIUM_SUPPLEMENT),),
        triggers=(Trigger.AKI, Trigger.HYPERKALAEMIA),
        sentence="Acute kidney injury and a high potassium together: what raises potassium comes first on "
        "the chart review, and potassium is repeated within hours.",
        urgent=True,
        sources=(cited.HYPERKALAEMIA.at("acute kidney injury with hyperkalaemia", Mark.SECONDARY),),
    ),
    Combination(
        key="opioid-sedative-drowsy",
        groups=((_C.OPIOID,), (_C.BENZODIAZEPINE, _C.Z_DRUG, _C.GABAPENTINOID, _C.BARBITURATE)),
        triggers=(Trigger.REDUCED_CONSCIOUSNESS,),
        sentence="An opioid and a sedative together in a drowsy or slowly breathing patient can end "
        "breathing.",
        urgent=True,
        calm_when=(RuleCondition.PALLIATIVE,),
        sources=(cited.FDA_BENZODIAZEPINES.at("boxed warning: with opioids"),),
    ),
    Combination(
        key="opioid-sedative-drowsiness",
        groups=((_C.OPIOID,), (_C.BENZODIAZEPINE, _C.Z_DRUG, _C.GABAPENTINOID, _C.BARBITURATE)),
        triggers=(Trigger.DROWSINESS,),
        sentence="An opioid and a sedative together in a drowsy or newly confused patient: slow breathing "
        "may follow.",
        sources=(cited.FDA_BENZODIAZEPINES.at("boxed warning: with opioids"), cited.SEDATION_FIRST),
    ),
    Combination(
        key="opioid-benzodiazepine",
        groups=((_C.OPIOID,), (_C.BENZODIAZEPINE,)),
        sentence="An opioid and a benzodiazepine are on the chart together: watch sedation and breathing.",
        sources=(cited.FDA_BENZODIAZEPINES.at("boxed warning: with opioids"),),
    ),
    Combination(
        key="metformin-sglt2-one-product",
        groups=((_C.METFORMIN,), (_C.SGLT2_INHIBITOR,)),
        in_one_order=True,
        any_trigger=(
            Trigger.AKI,
            Trigger.LACTATE_OR_ACIDOSIS,
            Trigger.SEPSIS,
            Trigger.HYPOTENSION,
            Trigger.CONTRAST_PLANNED,
            Trigger.RAISED_KETONES,
            Trigger.FLUID_LOSS,
        ),
        sentence="One product holds both metformin and an SGLT2 inhibitor: a decision on one is a decision "
        "on both, and each has its own condition for coming back. Check ketones and lactate.",
        sources=(cited.MHRA_SGLT2.at("acute serious illness"), cited.NICE_DIABETES.at("metformin")),
    ),
    Combination(
        key="steroid-adrenal-risk",
        groups=((_C.GLUCOCORTICOID, _C.MINERALOCORTICOID),),
        any_trigger=(
            Trigger.HYPOTENSION,
            Trigger.SEPSIS,
            Trigger.HYPOGLYCAEMIA,
            Trigger.LOW_SODIUM,
            Trigger.HYPERKALAEMIA,
        ),
        sentence="A steroid user with a low pressure, sepsis, a low glucose, a low sodium or a high "
        "potassium may be in adrenal crisis: ask whether doses were missed, and whether more steroid is "
        "due now.",
        urgent=True,
        sources=(cited.STEROID_CARD.at("adrenal crisis"), cited.memory("signs of adrenal crisis")),
    ),
    Combination(
        key="steroid-vomiting",
        groups=((_C.GLUCOCORTICOID, _C.MINERALOCORTICOID),),
        triggers=(Trigger.FLUID_LOSS,),
        conditions=(RuleCondition.LONG_TERM_STEROID,),
        sentence="A long-term steroid user who vomits or loses fluid can go into adrenal crisis: ask whether "
        "doses stay down, and whether the next ones are due by injection.",
        urgent=True,
        sources=(cited.STEROID_CARD.at("adrenal crisis"), cited.memory("steroids by injection in vomiting")),
    ),
    Combination(
        key="antiplatelet-stent-bleeding",
        groups=((_C.ASPIRIN, _C.P2Y12_INHIBITOR),),
        triggers=(Trigger.BLEEDING,),
        conditions=(RuleCondition.CORONARY_STENT, RuleCondition.RECENT_ACUTE_CORONARY_SYNDROME),
        sentence="Bleeding with a coronary stent or a recent coronary event: never leave out both "
        "antiplatelets; cardiology decides today.",
        urgent=True,
        sources=(
            cited.ACG_BLEEDING.at("aspirin for secondary prevention"),
            cited.ESGE_BLEEDING.at("dual antiplatelet treatment", Mark.FROM_MEMORY),
        ),
    ),
    Combination(
        key="transplant-acute-illness",
        groups=((_C.CALCINEURIN_INHIBITOR, _C.MTOR_INHIBITOR, _C.AZATHIOPRINE, _C.MYCOPHENOLATE),),
        any_trigger=(Trigger.SEPSIS, Trigger.AKI, Trigger.HYPERKALAEMIA),
        conditions=(RuleCondition.TRANSPLANT,),
        sentence="Acute illness after a transplant: call the transplant team before any immunosuppressant is "
        "changed, and check levels.",
        urgent=True,
        sources=(cited.memory("immunosuppression after transplant"),),
    ),
    Combination(
        key="levodopa-timing",
        groups=((_C.LEVODOPA, _C.DOPAMINE_AGONIST),),
        any_trigger=(Trigger.REDUCED_CONSCIOUSNESS, Trigger.SEPSIS, Trigger.HYPOTENSION),
        sentence="Parkinson's medicines are due on time although the patient is too ill to swallow or their "
        "pressure is low: plan the route now, within 30 minutes of each due time.",
        sources=(cited.NICE_PARKINSONS.at("statement 4: levodopa within 30 minutes"),),
    ),
    Combination(
        key="insulin-type-1",
        groups=((_C.INSULIN,),),
        any_trigger=(
            Trigger.HYPOGLYCAEMIA,
            Trigger.AKI,
            Trigger.SEPSIS,
            Trigger.LACTATE_OR_ACIDOSIS,
            Trigger.RAISED_KETONES,
            Trigger.FLUID_LOSS,
        ),
        conditions=(RuleCondition.TYPE_1_DIABETES,),
        sentence="Type 1 diabetes: basal insulin goes on whatever the glucose and the intake; change the "
        "dose, never omit it. Check ketones.",
        sources=(cited.HYPOGLYCAEMIA.at("insulin in type 1 diabetes", Mark.SECONDARY),),
    ),
    Combination(
        key="nitrate-pde5",
        groups=((_C.NITRATE, _C.NICORANDIL), (_C.PDE5_INHIBITOR,)),
        sentence="A nitrate or nicorandil with a phosphodiesterase-5 inhibitor is contraindicated: the "
        "pressure can collapse.",
        urgent=True,
        sources=(cited.memory("nitrates with phosphodiesterase-5 inhibitors"),),
    ),
    Combination(
        key="beta-blocker-rate-limiting",
        groups=((_C.BETA_BLOCKER,), (_C.RATE_LIMITING_CALCIUM_BLOCKER,)),
        any_trigger=(Trigger.BRADYCARDIA, Trigger.SLOW_PULSE),
        sentence="A beta-blocker with verapamil or diltiazem and a slow pulse: conduction can fail.",
        urgent=True,
        sources=(cited.memory("verapamil or diltiazem with a beta-blocker"),),
    ),
    Combination(
        key="two-oral-anticoagulants",
        groups=((_C.VITAMIN_K_ANTAGONIST,), (_C.FACTOR_XA_INHIBITOR, _C.DIRECT_THROMBIN_INHIBITOR)),
        sentence="Two oral anticoagulants are on the chart, which are not meant together: review which one "
        "is meant, and how it was to follow the other.",
        urgent=True,
        sources=(our_choice("two anticoagulants at once are named, because duplication is a common slip"),),
    ),
    Combination(
        key="two-anticoagulants",
        groups=((_C.VITAMIN_K_ANTAGONIST, _C.FACTOR_XA_INHIBITOR, _C.DIRECT_THROMBIN_INHIBITOR), (_C.LMWH,)),
        sentence="Two anticoagulants are on the chart: unless one bridges to the other on purpose, review "
        "which is meant.",
        sources=(our_choice("two anticoagulants at once are named, because duplication is a common slip"),),
    ),
)
