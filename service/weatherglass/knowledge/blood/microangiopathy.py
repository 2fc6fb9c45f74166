"""Thrombotic microangiopathy: which results and signs together ask for it, and what speaks of something else.

Low platelets with red cells that break down, and no other cause, are thrombotic thrombocytopenic purpura
until shown otherwise. What decides it (fragments on a film, ADAMTS13) is not in a record; it is a question.

Left out, with reasons:
    The PLASMIC score: two of its seven parts (cell volume, reticulocytes) are not read.
    Fever: it is too common beside low platelets; what is told of it stands with the vital signs.
"""

from typing import Final

from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.record.problems import ConditionKind

PUBLIC_KEY: Final = "microangiopathy"
_ROWS: Final = PrintedRows("blood/microangiopathy-rows", globals())

NOT_BELOW: Final = _ROWS.age("not-below")
OTHER_CAUSES: Final = frozenset(_ROWS.members("other-causes", ConditionKind))
INFLAMES_VESSELS: Final = _ROWS.members("inflames-vessels", ConditionKind)
#: Of these, what makes bilirubin and haptoglobin say nothing.
LIVER: Final = ConditionKind.LIVER_DISEASE
CANCER_MEDICINES: Final = frozenset({MedicineClass.CANCER_MEDICINE})
