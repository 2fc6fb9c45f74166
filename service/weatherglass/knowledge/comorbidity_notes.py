"""What changes how a number is read: conditions and medicines, each with its sentence.

Data only. None of these adds to or takes from a score. The guideline asks that a score is
read together with comorbidities and says no more; which ones, and the sentences, are ours.
"""

from typing import Final

from weatherglass.knowledge import publications as cited
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.plain import Plain
from weatherglass.knowledge.scores import news2_2017
from weatherglass.model.record import ConditionKind
from weatherglass.model.sources import Mark, Source, our_choice

PUBLIC_KEY: Final = "comorbidity-notes"
IN_CONTEXT: Final = cited.SEPSIS.at("1.11.4, in the context of underlying physiology and comorbidities")
_OURS: Final = our_choice("which comorbidities change the reading, and how")


class ComorbidityNote(Plain, frozen=True, kw_only=True):
    """One reason to read a number differently.

    Attributes:
        key: Stable key.
        text: The sentence.
        conditions: Any of these on the active problem list.
        none_of: And none of these.
        classes: Or any of these medicines on the chart.
        on_scale_1: Only while no decision to use SpO2 scale 2 is recorded.
    """

    key: str
    text: str
    conditions: tuple[ConditionKind, ...] = ()
    none_of: tuple[ConditionKind, ...] = ()
    classes: tuple[MedicineClass, ...] = ()
    on_scale_1: bool = False
    source: Source = _OURS


_C, _M = ConditionKind, MedicineClass

NOTES: Final = (
    ComorbidityNote(
        key="hypercapnia",
        conditions=(_C.HYPERCAPNIA,),
        text=(
            "Hypercapnic respiratory failure is documented: too much oxygen harms; keep to the "
            "prescribed range."
        ),
    ),
    ComorbidityNote(
        key="copd",
        conditions=(_C.COPD,),
        none_of=(_C.HYPERCAPNIA,),
        on_scale_1=True,
        text="COPD: whether carbon dioxide was ever kept is not recorded, so SpO2 scale 1 holds.",
    ),
    ComorbidityNote(
        key="chronic-kidney-disease",
        conditions=(_C.CHRONIC_KIDNEY_DISEASE, _C.DIALYSIS),
        text=(
            "Chronic kidney disease: creatinine and potassium are read against what is usual, "
            "not against the range."
        ),
    ),
    ComorbidityNote(
        key="heart-failure",
        conditions=(_C.HEART_FAILURE,),
        text="Heart failure: a low pressure may be usual, and fluid is given with care.",
    ),
    ComorbidityNote(
        key="diabetes",
        conditions=(_C.DIABETES, _C.DIABETES_TYPE_1, _C.DIABETES_TYPE_2),
        text="Diabetes: measure glucose with every change; infection can be quiet.",
    ),
    ComorbidityNote(
        key="hypertension",
        conditions=(_C.HYPERTENSION,),
        text="Hypertension: a pressure in the normal range can be low for this person.",
    ),
    ComorbidityNote(
        key="beta-blocker",
        classes=(_M.BETA_BLOCKER,),
        text="A beta-blocker is on the chart: it holds the pulse down, so a normal pulse does not reassure.",
    ),
    ComorbidityNote(
        key="pacemaker",
        conditions=(_C.PACEMAKER,),
        text="A pacemaker sets the pulse: the pulse says little.",
        source=our_choice("a pacemaker masks the pulse"),
    ),
    ComorbidityNote(
        key="immunosuppression",
        conditions=(_C.TRANSPLANT,),
        classes=(
            _M.GLUCOCORTICOID,
            _M.CALCINEURIN_INHIBITOR,
            _M.MTOR_INHIBITOR,
            _M.METHOTREXATE,
            _M.AZATHIOPRINE,
            _M.MYCOPHENOLATE,
            _M.JAK_INHIBITOR,
            _M.LEFLUNOMIDE,
            _M.BIOLOGIC,
        ),
        text="Steroids or other immunosuppression: fever and C-reactive protein can be missing in infection.",
    ),
    ComorbidityNote(
        key="spinal-cord-injury",
        conditions=(_C.SPINAL_CORD_INJURY,),
        text="Spinal cord injury: pulse, pressure and temperature follow rules of their own.",
        source=news2_2017.PUBLICATION.at("Cautions, spinal cord injury", Mark.FROM_MEMORY),
    ),
    ComorbidityNote(
        key="usual-confusion",
        conditions=(_C.CHRONIC_CONFUSION, _C.DEMENTIA),
        text="Long-standing confusion: ask somebody who knows the person whether this is new.",
    ),
)
