"""Which recorded problems and procedures make a circumstance that a rule asks about.

A problem that lasts counts although it is listed as inactive: a stroke of 2021 is still a
reason for aspirin. One that passes counts only while it is active and recent. A problem
that nobody has confirmed makes no circumstance; it is shown as a caution.
"""

from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from weatherglass.knowledge.medicines.rules.rule import RuleCondition
from weatherglass.knowledge.medicines.rules.timing import LOSS_LISTED_FOR
from weatherglass.knowledge.medicines.rules.triggers import SECONDARY_PREVENTION
from weatherglass.model.record import ConditionKind, ProcedureKind
from weatherglass.model.sources import our_choice


@dataclass(frozen=True, slots=True, kw_only=True)
class Circumstance:
    """What on the record makes one circumstance.

    Attributes:
        condition: The circumstance.
        kinds: Any of these problems makes it.
        procedures: Any of these procedures, done and not only asked for, makes it.
        lasts: Whether an inactive problem counts as well.
        within: It counts this long after it began; None always. Undated counts.
    """

    condition: RuleCondition
    kinds: tuple[ConditionKind, ...]
    procedures: tuple[ProcedureKind, ...] = ()
    lasts: bool = False
    within: timedelta | None = None


_R = RuleCondition
_K = ConditionKind

CIRCUMSTANCES: Final = (
    Circumstance(
        condition=_R.HYPOVOLAEMIA,
        kinds=(_K.DEHYDRATION, _K.VOMITING_OR_DIARRHOEA),
        within=LOSS_LISTED_FOR.length,
    ),
    Circumstance(condition=_R.FLUID_OVERLOAD, kinds=(_K.FLUID_OVERLOAD,), within=LOSS_LISTED_FOR.length),
    Circumstance(condition=_R.GASTROINTESTINAL_BLEEDING, kinds=(_K.MELAENA,), within=LOSS_LISTED_FOR.length),
    Circumstance(condition=_R.HEART_FAILURE, kinds=(_K.HEART_FAILURE,)),
    Circumstance(
        condition=_R.ISCHAEMIC_HEART_DISEASE,
        kinds=(_K.ISCHAEMIC_HEART_DISEASE, _K.ACUTE_CORONARY_SYNDROME, _K.CORONARY_STENT),
        lasts=True,
    ),
    Circumstance(
        condition=_R.CORONARY_STENT,
        kinds=(_K.CORONARY_STENT,),
        procedures=(ProcedureKind.CORONARY_STENT,),
        lasts=True,
    ),
    Circumstance(
        condition=_R.RECENT_ACUTE_CORONARY_SYNDROME,
        kinds=(_K.ACUTE_CORONARY_SYNDROME,),
        lasts=True,
        within=timedelta(days=366),
    ),
    Circumstance(condition=_R.MECHANICAL_VALVE, kinds=(_K.MECHANICAL_VALVE,), lasts=True),
    Circumstance(
        condition=_R.SECONDARY_PREVENTION,
        kinds=SECONDARY_PREVENTION,
        procedures=(ProcedureKind.CORONARY_STENT,),
        lasts=True,
    ),
    Circumstance(condition=_R.TYPE_1_DIABETES, kinds=(_K.DIABETES_TYPE_1,), lasts=True),
    Circumstance(condition=_R.LONG_TERM_STEROID, kinds=(_K.ADRENAL_INSUFFICIENCY,), lasts=True),
    Circumstance(
        condition=_R.TRANSPLANT,
        kinds=(_K.TRANSPLANT,),
        procedures=(ProcedureKind.TRANSPLANT,),
        lasts=True,
    ),
    Circumstance(condition=_R.EPILEPSY, kinds=(_K.EPILEPSY,)),
    Circumstance(condition=_R.PARKINSONS, kinds=(_K.PARKINSONS,), lasts=True),
    Circumstance(condition=_R.MYASTHENIA, kinds=(_K.MYASTHENIA,), lasts=True),
    Circumstance(condition=_R.DIABETES_INSIPIDUS, kinds=(_K.DIABETES_INSIPIDUS,), lasts=True),
    Circumstance(condition=_R.PALLIATIVE, kinds=(_K.PALLIATIVE,)),
    Circumstance(condition=_R.OPIOID_DEPENDENCE, kinds=(_K.OPIOID_DEPENDENCE,)),
)

CIRCUMSTANCES_SOURCE: Final = our_choice(
    "a lasting problem counts although inactive; a passing one only while active and recent"
)
