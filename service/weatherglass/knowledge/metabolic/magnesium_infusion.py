"""Magnesium given into a vein: what says that it is too much.

From memory, as obstetric units print it; so no single sign here is an emergency by itself, and a breathing
rate that is one calls by its own rule. Two that fit together are.

Left out, with reasons:
    Loss of reflexes: no code that is read says it. It is named as what has to be looked at.
"""

from typing import Final

from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.printed_rows import PrintedRows

PUBLIC_KEY: Final = "magnesium-infusion"
_ROWS: Final = PrintedRows("metabolic/magnesium-infusion-rows", globals())

CLASSES: Final = frozenset({MedicineClass.MAGNESIUM})
