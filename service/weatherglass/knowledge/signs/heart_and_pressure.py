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
_ROWS: Final = PrintedRows("signs/heart-and-pressure-rows")

# Troponin.

TROPONIN_ABOVE: Final = _ROWS.clause("troponin-above")
TROPONIN_CHANGE: Final = _ROWS.share("troponin-change")
TROPONIN_LEAST_CHANGE: Final = _ROWS.cutoff("troponin-least-change")
TROPONIN_WITHOUT_LIMIT: Final = _ROWS.cutoff("troponin-without-limit")
TROPONIN_CHANGE_WINDOW: Final = _ROWS.window("troponin-change-window")
TROPONIN_COUNTS_FOR: Final = _ROWS.window("troponin-counts-for")
TROPONIN_EXPECTED_FOR: Final = _ROWS.window("troponin-expected-for")
TROPONIN_RISES_FOR: Final = _ROWS.window("troponin-rises-for")
NOT_AN_INFARCTION: Final = _ROWS.clause("not-an-infarction")

# High pressure in adults.

SEVERE_SYSTOLIC: Final = _ROWS.cutoff("severe-systolic")
SEVERE_DIASTOLIC: Final = _ROWS.cutoff("severe-diastolic")
SIGNS_BESIDE: Final = _ROWS.clause("signs-beside")
PRESSURE_URGENCY: Final = _ROWS.clause("pressure-urgency")
AFTER_STROKE_FOR: Final = _ROWS.window("after-stroke-for")
LEFT_SYSTOLIC: Final = _ROWS.cutoff("left-systolic")
LEFT_DIASTOLIC: Final = _ROWS.cutoff("left-diastolic")
LEFT_FOR: Final = _ROWS.window("left-for")
FAILING_BREATHING: Final = _ROWS.cutoff("failing-breathing")
FAILING_SATURATION: Final = _ROWS.cutoff("failing-saturation")

# In a child from the first birthday on.

CHILD_CENTILE: Final = _ROWS.share("child-centile")
CHILD_CENTILE_A_YEAR: Final = _ROWS.share("child-centile-a-year")
CHILD_HIGH: Final = _ROWS.share("child-high")
CHILD_SEVERE: Final = _ROWS.share("child-severe")
CHILD_ASKS: Final = _ROWS.clause("child-asks")
CHILD_IS_DULL: Final = _ROWS.clause("child-is-dull")
CHILD_URGENCY: Final = _ROWS.source("child-urgency")

# In pregnancy and for 42 days after.

PREGNANT_SYSTOLIC: Final = _ROWS.cutoff("pregnant-systolic")
PREGNANT_DIASTOLIC: Final = _ROWS.cutoff("pregnant-diastolic")
PREGNANT_SEVERE_SYSTOLIC: Final = _ROWS.cutoff("pregnant-severe-systolic")
PREGNANT_SEVERE_DIASTOLIC: Final = _ROWS.cutoff("pregnant-severe-diastolic")
PREGNANT_TREATED_SYSTOLIC: Final = _ROWS.cutoff("pregnant-treated-systolic")
PREGNANT_TREATED_DIASTOLIC: Final = _ROWS.cutoff("pregnant-treated-diastolic")
PREGNANT_TREATED_FOR: Final = _ROWS.window("pregnant-treated-for")
PREGNANT_AIM: Final = _ROWS.clause("pregnant-aim")
PREGNANT_TREATED_WITH: Final = _ROWS.members("pregnant-treated-with", MedicineClass)
PREECLAMPSIA_PLATELETS: Final = _ROWS.cutoff("preeclampsia-platelets")
PREECLAMPSIA_CREATININE: Final = _ROWS.cutoff("preeclampsia-creatinine")
PREECLAMPSIA_LIVER: Final = _ROWS.cutoff("preeclampsia-liver")
HELLP_PLATELETS: Final = _ROWS.cutoff("hellp-platelets")

# A rising pressure with a falling pulse.

CUSHING_WINDOW: Final = _ROWS.window("cushing-window")
CUSHING_RISE: Final = _ROWS.cutoff("cushing-rise")
CUSHING_SYSTOLIC: Final = _ROWS.cutoff("cushing-systolic")
CUSHING_HIGH_SYSTOLIC: Final = _ROWS.cutoff("cushing-high-systolic")
CUSHING_PULSE: Final = _ROWS.cutoff("cushing-pulse")
CUSHING_FALL: Final = _ROWS.cutoff("cushing-fall")
CUSHING_CHILD_RISE: Final = _ROWS.share("cushing-child-rise")
CUSHING_CHILD_FALL: Final = _ROWS.share("cushing-child-fall")
TROPONIN_KNOWN_FROM: Final = _ROWS.members("troponin-known-from", ConditionKind)
