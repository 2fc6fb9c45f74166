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
_ROWS: Final = PrintedRows("blood/microangiopathy-rows")

VERY_LOW_PLATELETS: Final = _ROWS.cutoff("very-low-platelets")
LOW_PLATELETS: Final = _ROWS.cutoff("low-platelets")
FEWER_PLATELETS: Final = _ROWS.cutoff("fewer-platelets")
HAEMOGLOBIN: Final = _ROWS.cutoff("haemoglobin")
HAEMOGLOBIN_PROVEN: Final = _ROWS.cutoff("haemoglobin-proven")
HAEMOGLOBIN_OF_OLD: Final = _ROWS.share("haemoglobin-of-old")
BILIRUBIN: Final = _ROWS.cutoff("bilirubin")
HAPTOGLOBIN: Final = _ROWS.cutoff("haptoglobin")
DEHYDROGENASE: Final = _ROWS.cutoff("dehydrogenase")
DEHYDROGENASE_OF_RANGE: Final = _ROWS.share("dehydrogenase-of-range")
LONG_INR: Final = _ROWS.cutoff("long-inr")
LOW_FIBRINOGEN: Final = _ROWS.cutoff("low-fibrinogen")
COUNTS_FOR: Final = _ROWS.window("counts-for")
STROKE_COUNTS_FOR: Final = _ROWS.window("stroke-counts-for")
DIARRHOEA_COUNTS_FOR: Final = _ROWS.window("diarrhoea-counts-for")
KNOWN_FROM: Final = _ROWS.window("known-from")
TURNS: Final = _ROWS.share("turns")
OF_THE_IMMUNE_SYSTEM: Final = _ROWS.clause("of-the-immune-system")
NOT_BELOW: Final = _ROWS.age("not-below")
OTHER_CAUSES: Final = frozenset(_ROWS.members("other-causes", ConditionKind))
INFLAMES_VESSELS: Final = _ROWS.members("inflames-vessels", ConditionKind)
#: Of these, what makes bilirubin and haptoglobin say nothing.
FEW_NEUTROPHILS: Final = _ROWS.cutoff("few-neutrophils")
LIVER: Final = ConditionKind.LIVER_DISEASE
CANCER_MEDICINES: Final = frozenset({MedicineClass.CANCER_MEDICINE})
OTHERWISE_EXPLAINED: Final = _ROWS.clause("otherwise-explained")
ASKED: Final = _ROWS.clause("asked")
ASKS: Final = _ROWS.clause("asks")
NO_PLATELETS: Final = _ROWS.clause("no-platelets")
EXCHANGE_WITHIN: Final = _ROWS.window("exchange-within")
SHIGA_TOXIN: Final = _ROWS.clause("shiga-toxin")
URGENCY: Final = _ROWS.source("urgency")
