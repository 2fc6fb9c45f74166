"""The failing liver: a prolonged INR with encephalopathy, or with a very high ALT.

The definition of acute liver failure and the criteria of King's College were read in restatements; the
rest is from memory, so that nothing of it is an emergency by itself.

Left out, with reasons:
    Grades III and IV of encephalopathy by name: pain or no response stands for them.
"""

from typing import Final

from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.printed_rows import PrintedRows

PUBLIC_KEY: Final = "liver"
_ROWS: Final = PrintedRows("metabolic/liver-rows", globals())

INR: Final = _ROWS.cutoff("inr")
ALT: Final = _ROWS.cutoff("alt")
EXPLAINS_INR: Final = frozenset(_ROWS.members("explains-inr", MedicineClass))
#: As the medicine is named once it is recognised.
ACETYLCYSTEINE: Final = "acetylcysteine"
