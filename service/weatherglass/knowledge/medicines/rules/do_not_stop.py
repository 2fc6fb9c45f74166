"""What must not end suddenly, why, and which of it is never suggested for a hold.

The note is kept beside every suggestion about such a medicine. `never_hold` goes further:
whatever else is true, the review may suggest a look at the dose or a level, but no hold.
"""

from dataclasses import dataclass
from typing import Final

from weatherglass.knowledge import publications as cited
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.rules.forms import Form
from weatherglass.knowledge.medicines.rules.rule import (
    Action,
    Caution,
    MedicineRule,
    RuleCondition,
    Trigger,
)
from weatherglass.knowledge.medicines.rules.thrombosis import ANTITHROMBOTICS
from weatherglass.model.clauses import Clause
from weatherglass.model.sources import Mark, Source, common_practice, our_choice

_C = MedicineClass


@dataclass(frozen=True, slots=True, kw_only=True)
class DoNotStop:
    """One group of medicines whose omission harms.

    Attributes:
        key: Stable key.
        classes: Classes it holds for.
        harm: What sudden omission brings, in one sentence of ours.
        when: If given, it holds only when one of these does.
        unless: If one of these holds, it does not.
        never_hold: Whether a hold is never suggested (while `when` holds).
        source: Where the harm is stated.
    """

    key: str
    classes: tuple[MedicineClass, ...]
    harm: str
    source: Source
    when: tuple[RuleCondition, ...] = ()
    unless: tuple[RuleCondition, ...] = ()
    never_hold: bool = False


DO_NOT_STOP: Final = (
    DoNotStop(
        key="beta-blocker",
        classes=(_C.BETA_BLOCKER,),
        harm="Sudden omission can bring on angina, infarction or arrhythmia; it is tapered over one to two "
        "weeks.",
        source=cited.FDA_BETA_BLOCKERS.at("boxed warning"),
    ),
    DoNotStop(
        key="central-antihypertensive",
        classes=(_C.CENTRAL_ANTIHYPERTENSIVE,),
        harm="Pressure rebounds within a day of a missed dose.",
        source=cited.LABELS.at("clonidine: withdrawal", Mark.SECONDARY),
    ),
    DoNotStop(
        key="steroid",
        classes=(_C.GLUCOCORTICOID, _C.MINERALOCORTICOID),
        harm="In a long-term user (prednisolone 5 mg or more for 4 weeks or more, or adrenal insufficiency) "
        "omission can bring on an adrenal crisis and kill.",
        source=cited.STEROID_CARD.at("who is at risk"),
        never_hold=True,
    ),
    DoNotStop(
        key="opioid",
        classes=(_C.OPIOID,),
        harm="A long-term user suffers withdrawal and uncontrolled pain.",
        source=cited.FDA_OPIOIDS.at("sudden discontinuation", Mark.FROM_MEMORY),
    ),
    DoNotStop(
        key="benzodiazepine",
        classes=(_C.BENZODIAZEPINE, _C.Z_DRUG, _C.BARBITURATE),
        harm="A long-term user can have withdrawal seizures that threaten life.",
        source=cited.FDA_BENZODIAZEPINES.at("boxed warning: abrupt discontinuation"),
    ),
    DoNotStop(
        key="antiepileptic",
        classes=(_C.GABAPENTINOID, _C.ANTIEPILEPTIC),
        harm="Omission can bring on seizures, even status epilepticus.",
        source=cited.LABELS.at("antiepileptics: withdrawal", Mark.SECONDARY),
    ),
    DoNotStop(
        key="baclofen",
        classes=(_C.BACLOFEN,),
        harm="Omission can bring on hallucinations, seizures and hyperthermia.",
        source=cited.LABELS.at("baclofen: abrupt withdrawal", Mark.SECONDARY),
    ),
    DoNotStop(
        key="dopaminergic",
        classes=(_C.DOPAMINERGIC,),
        harm="A gap of two hours already matters: rigidity, then a crisis like the neuroleptic malignant "
        "syndrome. Each dose is due within 30 minutes of its own time, by another route if needed.",
        source=cited.NICE_PARKINSONS.at("statement 4: levodopa within 30 minutes"),
        never_hold=True,
    ),
    DoNotStop(
        key="antithrombotic",
        classes=tuple(key for key in ANTITHROMBOTICS if key is not _C.ANTIPLATELET),
        harm="Where the risk of thrombosis is high, omission can bring on a stroke or another clot, or "
        "clot a valve.",
        source=cited.FDA_ANTICOAGULANTS.at("boxed warning: early discontinuation"),
    ),
    DoNotStop(
        key="antiplatelet",
        classes=(_C.ANTIPLATELET,),
        harm="Where the risk of thrombosis is high, omission can clot a stent or bring on an infarction or a "
        "stroke.",
        source=cited.memory("antiplatelets: stent thrombosis"),
    ),
    DoNotStop(
        key="insulin-type-1",
        classes=(_C.INSULIN,),
        harm="In type 1 diabetes omission of basal insulin brings ketoacidosis within hours.",
        source=cited.HYPOGLYCAEMIA.at("insulin in type 1 diabetes", Mark.SECONDARY),
        when=(RuleCondition.TYPE_1_DIABETES,),
        unless=(RuleCondition.INTRAVENOUS,),
        never_hold=True,
    ),
    DoNotStop(
        key="insulin",
        classes=(_C.INSULIN,),
        harm="Without the next due insulin glucose climbs again, and ketones can follow: its dose is "
        "reviewed, it is not left out.",
        source=cited.HYPOGLYCAEMIA.at("do not omit the next insulin, review the dose", Mark.SECONDARY),
        unless=(RuleCondition.INTRAVENOUS,),
        never_hold=True,
    ),
    DoNotStop(
        key="insulin-infusion",
        classes=(_C.INSULIN,),
        harm="Paused for longer than a low glucose takes to recover, it lets glucose and ketones climb "
        "within an hour; basal insulin goes on meanwhile.",
        source=common_practice("an insulin infusion is paused only while a low glucose is treated"),
        when=(RuleCondition.INTRAVENOUS,),
    ),
    DoNotStop(
        key="transplant",
        classes=(
            _C.CALCINEURIN_INHIBITOR,
            _C.MTOR_INHIBITOR,
            _C.AZATHIOPRINE,
            _C.MYCOPHENOLATE,
            _C.GLUCOCORTICOID,
        ),
        harm="After a transplant omission lets the graft be rejected.",
        source=cited.memory("immunosuppression after transplant"),
        when=(RuleCondition.TRANSPLANT,),
        never_hold=True,
    ),
    DoNotStop(
        key="calcineurin",
        classes=(_C.CALCINEURIN_INHIBITOR, _C.MTOR_INHIBITOR),
        harm="It nearly always keeps a graft or a severe disease in check, which can be lost within days.",
        source=our_choice("no hold is suggested, because a transplant may not be on the problem list"),
        never_hold=True,
    ),
    DoNotStop(
        key="psychotropic",
        classes=(_C.SSRI, _C.SNRI, _C.CLOZAPINE, _C.LITHIUM, _C.ANTIPSYCHOTIC, _C.TRICYCLIC),
        harm="Sudden omission brings withdrawal symptoms or relapse.",
        source=cited.memory("psychotropic medicines: withdrawal and relapse"),
    ),
    DoNotStop(
        key="antimyasthenic",
        classes=(_C.ANTIMYASTHENIC,),
        harm="In myasthenia omission weakens swallowing and breathing.",
        source=cited.OMITTED_MEDICINES.at("anticholinesterases"),
        never_hold=True,
    ),
    DoNotStop(
        key="anti-infective",
        classes=(_C.ANTIRETROVIRAL, _C.ANTITUBERCULOSIS),
        harm="Gaps let the infection become resistant.",
        source=cited.memory("antiretrovirals and medicines for tuberculosis"),
    ),
    DoNotStop(
        key="thyroid",
        classes=(_C.THYROID_HORMONE,),
        harm="Long omission brings hypothyroidism; in severe illness it may be missed.",
        source=cited.memory("levothyroxine"),
    ),
    DoNotStop(
        key="desmopressin",
        classes=(_C.DESMOPRESSIN,),
        harm="In arginine vasopressin deficiency omission brings dehydration that can kill.",
        source=cited.memory("desmopressin in arginine vasopressin deficiency"),
        when=(RuleCondition.DIABETES_INSIPIDUS,),
        never_hold=True,
    ),
    DoNotStop(
        key="pulmonary-hypertension",
        classes=(_C.PULMONARY_HYPERTENSION,),
        harm="A gap can bring on right heart failure within hours.",
        source=cited.memory("prostacyclins in pulmonary hypertension"),
        never_hold=True,
    ),
)

#: Medicines whose timing matters whenever somebody is ill enough for any trigger.
TIME_CRITICAL: Final = (
    MedicineRule(
        key="any-dopaminergic",
        trigger=Trigger.ANY,
        classes=(_C.DOPAMINERGIC,),
        action=Action.CONTINUE,
        reason="In Parkinson's disease each dose is given within 30 minutes of its time, also when unwell or "
        "nil by mouth.",
        only_for=(
            Caution(
                text="If swallowing fails, convert to a patch or a tube with the Parkinson's team.",
                forms=(Form.SWALLOWED,),
            ),
        ),
        sources=(
            cited.NICE_PARKINSONS.at("statement 4: levodopa within 30 minutes"),
            cited.OMITTED_MEDICINES.at("medicines for Parkinson's disease"),
        ),
    ),
    MedicineRule(
        key="any-insulin-type-1",
        trigger=Trigger.ANY,
        classes=(_C.INSULIN,),
        only_when=(RuleCondition.TYPE_1_DIABETES,),
        action=Action.CONTINUE,
        reason="Basal insulin goes on in every illness.",
        monitor=("ketones when unwell",),
        sources=(
            cited.HYPOGLYCAEMIA.at("insulin in type 1 diabetes", Mark.SECONDARY),
            cited.OMITTED_MEDICINES.at("insulin"),
        ),
    ),
    MedicineRule(
        key="any-antimyasthenic",
        trigger=Trigger.ANY,
        classes=(_C.ANTIMYASTHENIC,),
        action=Action.CONTINUE,
        reason="In myasthenia each dose keeps swallowing and breathing going.",
        sources=(cited.OMITTED_MEDICINES.at("anticholinesterases"),),
    ),
    MedicineRule(
        key="any-antiepileptic",
        trigger=Trigger.ANY,
        classes=(_C.ANTIEPILEPTIC,),
        action=Action.CONTINUE,
        reason="A missed dose can bring on a seizure; find another route when swallowing fails.",
        sources=(cited.OMITTED_MEDICINES.at("antiepileptics"),),
    ),
    MedicineRule(
        key="any-long-term-steroid",
        trigger=Trigger.ANY,
        classes=(_C.GLUCOCORTICOID, _C.MINERALOCORTICOID),
        only_when=(RuleCondition.LONG_TERM_STEROID,),
        action=Action.CONTINUE,
        reason="Acute illness raises the need for steroid; omission can kill.",
        sources=(cited.STEROID_CARD.at("acute illness needs more; omission can be fatal"),),
    ),
    MedicineRule(
        key="any-transplant",
        trigger=Trigger.ANY,
        classes=(_C.CALCINEURIN_INHIBITOR, _C.MTOR_INHIBITOR, _C.AZATHIOPRINE, _C.MYCOPHENOLATE),
        only_when=(RuleCondition.TRANSPLANT,),
        action=Action.CONTINUE,
        reason="The transplant team is told of every acute illness and decides on every change.",
        sources=(cited.memory("immunosuppression after transplant"),),
    ),
)

#: What serves comfort and is never suggested for a hold in recorded last days of life.
COMFORT: Final = frozenset(
    {
        _C.OPIOID,
        _C.BENZODIAZEPINE,
        _C.BARBITURATE,
        _C.ANTIPSYCHOTIC,
        _C.SEDATING_ANTIHISTAMINE,
        _C.OTHER_SEDATIVE,
        _C.GABAPENTINOID,
    }
)
#: How a look at one of them is asked for then.
SYMPTOM_REVIEW: Final = "Consider a symptom review by the palliative team before {0} is changed"
IN_LAST_DAYS: Final = Clause(
    text="Last days of life are recorded: comfort decides, and what does not serve it may be let go.",
    source=our_choice("in recorded last days of life no hold is suggested and nothing is above prompt"),
)
