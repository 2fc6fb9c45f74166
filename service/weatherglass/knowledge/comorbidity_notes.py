"""What changes how a number is read: conditions and medicines, each with its sentence.

Data only. None of these adds to or takes from a score. The guideline asks that a score is
read together with comorbidities and says no more; which ones, and the sentences, are ours.
"""

from typing import Final

from weatherglass.knowledge import publications as cited
from weatherglass.knowledge.data_files import Columns, toml_members
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.sources import Source, our_choice

PUBLIC_KEY: Final = "comorbidity-notes"
IN_CONTEXT: Final = cited.SEPSIS.at("1.11.4, in the context of underlying physiology and comorbidities")
_OURS: Final = our_choice("which comorbidities change the reading, and how")


class ComorbidityNote(Columns, frozen=True, kw_only=True):
    """One reason to read a number differently.

    Attributes:
        name: Its few words.
        text: The sentence.
        conditions: Any of these on record.
        classes: Or any of these medicines on the chart.
        on_scale_1: Only while no decision to use SpO2 scale 2 is recorded.
    """

    key: str
    name: str
    text: str
    conditions: tuple[ConditionKind, ...] = ()
    none_of: tuple[ConditionKind, ...] = ()
    classes: tuple[MedicineClass, ...] = ()
    on_scale_1: bool = False
    source: Source = _OURS


NOTES: Final = toml_members("comorbidity-notes.toml", ComorbidityNote)
