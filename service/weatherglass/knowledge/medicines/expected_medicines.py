"""Medicines that a recorded problem lets one expect, and that harm by being absent.

Data only. A chart that holds none of them is a question to somebody, not proof of an omission:
it may be given elsewhere, by a pump, or have been stopped on purpose.
"""

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from typing import Final

from weatherglass.knowledge import publications as cited
from weatherglass.knowledge.data_files import publication
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.rules.rule import Trigger
from weatherglass.knowledge.publications import SIMPSON_2020
from weatherglass.model.clauses import Window
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.record import ConditionKind, ProcedureKind
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source, common_practice, our_choice
from weatherglass.model.tables.bands import Compare, Cutoff
from weatherglass.model.tables.scores import UrgencyWord

PUBLIC_KEY: Final = "expected-medicines"

_DESMOPRESSIN: Final = publication("nhs-psa-desmopressin-2016")
_C, _K = MedicineClass, ConditionKind
#: Bleeds, or soon may: what is expected against clots is then not urged.
BLEEDING_SPEAKS_AGAINST: Final = frozenset(
    {
        Trigger.BLEEDING,
        Trigger.CRITICAL_BLEEDING,
        Trigger.HEAD_INJURY,
        Trigger.LOW_PLATELETS,
        Trigger.PLATELETS_HALVED_ON_HEPARIN,
        Trigger.INR_5_TO_8,
        Trigger.INR_ABOVE_8,
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ExpectedMedicine:
    """One problem and the medicine that goes with it.

    Attributes:
        key: Stable key.
        problem: The problem, as it begins a sentence.
        medicine: The medicine as a reader calls it.
        kinds: What the problem is recorded as.
        procedures: Or a procedure that says the same.
        lasts: Whether an inactive record of the problem counts.
        speaks_against: Triggers that may be why it is not given, so that it is asked about and not urged.
        highest: How urgent it can become.
        within: How long ago it may have begun, by a recorded date; None where that does not matter.
        classes: Any of these in use is enough.
        core: Those whose end is asked about although another of `classes` is in use.
        harm: What its absence brings.
        worse: A value that makes the question urgent.
        for_comfort: Whether it is asked about in recorded last days of life too.
    """

    key: str
    problem: str
    medicine: str
    kinds: frozenset[ConditionKind]
    classes: frozenset[MedicineClass]
    core: frozenset[MedicineClass]
    harm: str
    source: Source
    procedures: frozenset[ProcedureKind] = frozenset()
    lasts: bool = True
    within: timedelta | None = None
    speaks_against: frozenset[Trigger] = frozenset()
    highest: UrgencyWord = "emergency"
    worse: tuple[tuple[Signal, Cutoff], ...] = ()
    for_comfort: bool = True


def _limit(compare: Compare, value: str, unit: Unit, why: str) -> Cutoff:
    return Cutoff(compare=compare, limit=Quantity(Decimal(value), unit), source=our_choice(why))


EXPECTED: Final = (
    ExpectedMedicine(
        key="adrenal-insufficiency",
        problem="Adrenal insufficiency",
        medicine="glucocorticoid",
        kinds=frozenset({_K.ADRENAL_INSUFFICIENCY}),
        classes=frozenset({_C.GLUCOCORTICOID}),
        core=frozenset({_C.GLUCOCORTICOID}),
        harm="Without it an adrenal crisis can follow within hours.",
        source=SIMPSON_2020.at("inadequate medication reconciliation as a cause of adrenal crisis"),
    ),
    ExpectedMedicine(
        key="type-1-diabetes",
        problem="Type 1 diabetes",
        medicine="insulin",
        kinds=frozenset({_K.DIABETES_TYPE_1}),
        classes=frozenset({_C.INSULIN}),
        core=frozenset({_C.INSULIN}),
        harm="Without insulin ketoacidosis follows within hours.",
        worse=(
            (
                Signal.GLUCOSE,
                _limit(
                    Compare.ABOVE,
                    "11.0",
                    Unit.MILLIMOLE_PER_LITRE,
                    "a raised glucose makes it urgent; the limit is that of ketoacidosis",
                ),
            ),
        ),
        source=cited.OMITTED_MEDICINES.at("insulin"),
    ),
    ExpectedMedicine(
        key="parkinsons",
        problem="Parkinson's disease",
        medicine="levodopa or other dopaminergic medicine",
        kinds=frozenset({_K.PARKINSONS}),
        classes=frozenset({_C.LEVODOPA, _C.DOPAMINE_AGONIST, _C.DOPAMINERGIC}),
        core=frozenset({_C.LEVODOPA}),
        harm="Missed doses bring rigidity, a swallow that fails, and a state like neuroleptic malignant "
        "syndrome.",
        source=cited.OMITTED_MEDICINES.at("medicines for Parkinson's disease"),
    ),
    ExpectedMedicine(
        key="epilepsy",
        problem="Epilepsy",
        medicine="antiepileptic",
        kinds=frozenset({_K.EPILEPSY}),
        lasts=False,
        classes=frozenset(
            {
                _C.ANTIEPILEPTIC,
                _C.PHENYTOIN,
                _C.LEVETIRACETAM,
                _C.CARBAMAZEPINE,
                _C.GABAPENTINOID,
                _C.BARBITURATE,
            }
        ),
        core=frozenset({_C.ANTIEPILEPTIC}),
        harm="Missed doses bring fits and status epilepticus.",
        source=cited.OMITTED_MEDICINES.at("antiepileptics"),
    ),
    ExpectedMedicine(
        key="myasthenia",
        problem="Myasthenia gravis",
        medicine="pyridostigmine or other treatment",
        kinds=frozenset({_K.MYASTHENIA}),
        classes=frozenset({_C.ANTIMYASTHENIC, _C.GLUCOCORTICOID, _C.AZATHIOPRINE, _C.MYCOPHENOLATE}),
        core=frozenset({_C.ANTIMYASTHENIC}),
        harm="Missed doses weaken swallow and breathing.",
        source=common_practice("pyridostigmine is time-critical"),
    ),
    ExpectedMedicine(
        key="transplant",
        problem="An organ transplant",
        medicine="medicine against rejection",
        kinds=frozenset({_K.TRANSPLANT}),
        procedures=frozenset({ProcedureKind.TRANSPLANT}),
        classes=frozenset(
            {_C.CALCINEURIN_INHIBITOR, _C.MTOR_INHIBITOR, _C.MYCOPHENOLATE, _C.AZATHIOPRINE, _C.BIOLOGIC}
        ),
        core=frozenset({_C.CALCINEURIN_INHIBITOR, _C.MTOR_INHIBITOR}),
        harm="Missed doses bring rejection; only the transplant team stops it.",
        for_comfort=False,
        source=common_practice("only the transplant team stops what keeps an organ"),
    ),
    ExpectedMedicine(
        key="mechanical-valve",
        speaks_against=BLEEDING_SPEAKS_AGAINST,
        problem="A mechanical heart valve",
        medicine="warfarin or heparin",
        kinds=frozenset({_K.MECHANICAL_VALVE}),
        classes=frozenset({_C.VITAMIN_K_ANTAGONIST, _C.HEPARIN, _C.LMWH, _C.FONDAPARINUX}),
        core=frozenset({_C.VITAMIN_K_ANTAGONIST}),
        harm="Without anticoagulation the valve can clot, and a stroke follow.",
        worse=((Signal.INR, _limit(Compare.BELOW, "2.0", Unit.INR, "below it a valve is hardly protected")),),
        for_comfort=False,
        source=common_practice("a mechanical valve is never without anticoagulation for long"),
    ),
    ExpectedMedicine(
        key="recent-clot",
        problem="A clot of the last 3 months",
        medicine="anticoagulant",
        kinds=frozenset({_K.VENOUS_THROMBOEMBOLISM}),
        within=timedelta(days=92),
        speaks_against=BLEEDING_SPEAKS_AGAINST,
        highest="urgent",
        classes=frozenset(
            {
                _C.VITAMIN_K_ANTAGONIST,
                _C.HEPARIN,
                _C.LMWH,
                _C.FONDAPARINUX,
                _C.FACTOR_XA_INHIBITOR,
                _C.DIRECT_THROMBIN_INHIBITOR,
            }
        ),
        core=frozenset({_C.VITAMIN_K_ANTAGONIST, _C.FACTOR_XA_INHIBITOR, _C.DIRECT_THROMBIN_INHIBITOR}),
        harm="Without it the clot can grow or travel; a reason against it, such as bleeding, decides.",
        for_comfort=False,
        source=common_practice("a clot is treated for at least 3 months"),
    ),
    ExpectedMedicine(
        key="vasopressin-deficiency",
        problem="Arginine vasopressin deficiency",
        medicine="desmopressin",
        kinds=frozenset({_K.DIABETES_INSIPIDUS}),
        classes=frozenset({_C.DESMOPRESSIN}),
        core=frozenset({_C.DESMOPRESSIN}),
        harm="Without it water is lost by litres and sodium rises; people have died.",
        worse=(
            (
                Signal.SODIUM,
                _limit(
                    Compare.ABOVE, "145", Unit.MILLIMOLE_PER_LITRE, "a sodium above its range makes it urgent"
                ),
            ),
        ),
        for_comfort=False,
        source=_DESMOPRESSIN.at("whole alert"),
    ),
    ExpectedMedicine(
        key="alcohol",
        problem="Alcohol dependence",
        medicine="thiamine",
        kinds=frozenset({_K.ALCOHOL_DEPENDENCE, _K.ALCOHOL_WITHDRAWAL}),
        lasts=False,
        classes=frozenset({_C.THIAMINE}),
        core=frozenset({_C.THIAMINE}),
        harm="Without it Wernicke's encephalopathy can follow, most of all when glucose is given first.",
        for_comfort=False,
        source=common_practice("thiamine in alcohol dependence and withdrawal, before glucose"),
    ),
)

#: An order that ended within this time, or without a date, is asked about by name.
RECENTLY_ENDED: Final = Window(
    length=timedelta(days=14), source=our_choice("an order that ended in the last 14 days is asked about")
)
URGENCY_SOURCE: Final = our_choice(
    "prompt; urgent with any acute trigger; an emergency with shock, sepsis or ketones; prompt at most in "
    "recorded last days of life"
)
