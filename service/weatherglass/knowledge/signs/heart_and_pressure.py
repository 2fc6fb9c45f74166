"""Troponin and high blood pressure: which number asks for somebody, and how soon.

Data only. No publication prints one limit of troponin for every assay: the laboratory's own
upper limit comes first. Whether a troponin is an infarction takes symptoms and an ECG; that is
not judged here.
"""

from typing import Final

from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.record.problems import ConditionKind

PUBLIC_KEY: Final = "heart-and-pressure"
_ROWS: Final = PrintedRows("signs/heart-and-pressure-rows", globals())


PREGNANT_TREATED_WITH: Final = _ROWS.members("pregnant-treated-with", MedicineClass)


TROPONIN_KNOWN_FROM: Final = _ROWS.members("troponin-known-from", ConditionKind)
