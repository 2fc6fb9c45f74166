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
_ROWS: Final = PrintedRows("metabolic/liver-rows")

INR: Final = _ROWS.cutoff("inr")
ALT: Final = _ROWS.cutoff("alt")
ALT_IN_JAUNDICE: Final = _ROWS.cutoff("alt-in-jaundice")
BILIRUBIN: Final = _ROWS.cutoff("bilirubin")
CLEARED_FROM: Final = _ROWS.window("cleared-from")
ALERT_FOR: Final = _ROWS.window("alert-for")
COUNTS_FOR: Final = _ROWS.window("counts-for")
EXPLAINS_INR: Final = frozenset(_ROWS.members("explains-inr", MedicineClass))
KINGS_PH: Final = _ROWS.cutoff("kings-ph")
KINGS_LACTATE: Final = _ROWS.cutoff("kings-lactate")
KINGS_INR: Final = _ROWS.cutoff("kings-inr")
KINGS_CREATININE: Final = _ROWS.cutoff("kings-creatinine")
ASKS: Final = _ROWS.clause("asks")
ASKS_AT_ONCE: Final = _ROWS.clause("asks-at-once")
AFTER_PARACETAMOL: Final = _ROWS.clause("after-paracetamol")
ANTIDOTE_RUNS: Final = _ROWS.clause("antidote-runs")
PARACETAMOL_POISONS: Final = _ROWS.cutoff("paracetamol-poisons")
PARACETAMOL_COUNTS_FOR: Final = _ROWS.window("paracetamol-counts-for")
ANTIDOTE: Final = _ROWS.clause("antidote")
ANTIDOTE_ANSWERS: Final = _ROWS.clause("antidote-answers")
ANTIDOTE_BEFORE: Final = _ROWS.window("antidote-before")
#: As the medicine is named once it is recognised.
ACETYLCYSTEINE: Final = "acetylcysteine"
WITHOUT_ALTERED_MIND: Final = _ROWS.clause("without-altered-mind")
