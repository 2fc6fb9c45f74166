"""What blood shows in pregnancy and soon after that limits for everybody miss.

The Swansea criteria of acute fatty liver were read in restatements. Fibrinogen climbs in pregnancy, so that
a number inside the range of others is low; creatinine falls, so that one inside it is high.

Left out, with reasons:
    Of the Swansea criteria: thirst, ascites or a bright liver, and biopsy, which nothing that is read holds.
"""

from typing import Final

from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.knowledge.signs.heart_and_pressure import PREECLAMPSIA_CREATININE
from weatherglass.model.signals import Signal
from weatherglass.model.tables.bands import Cutoff

PUBLIC_KEY: Final = "obstetric-blood"
_ROWS: Final = PrintedRows("blood/obstetric-blood-rows", globals())

#: In the order in which they are said; several limits of one line are one criterion.
CRITERIA: Final[tuple[tuple[tuple[Signal, Cutoff], ...], ...]] = (
    ((Signal.ALT, _ROWS.cutoff("alt")), (Signal.AST, _ROWS.cutoff("ast"))),
    (
        (Signal.PROTHROMBIN_TIME, _ROWS.cutoff("prothrombin-time")),
        (Signal.APTT, _ROWS.cutoff("aptt")),
        (Signal.INR, _ROWS.cutoff("inr")),
    ),
    ((Signal.GLUCOSE, _ROWS.cutoff("glucose")),),
    ((Signal.BILIRUBIN, _ROWS.cutoff("bilirubin")),),
    ((Signal.CREATININE, _ROWS.cutoff("creatinine-of-criteria")),),
    ((Signal.WHITE_CELLS, _ROWS.cutoff("white-cells")),),
    ((Signal.URATE, _ROWS.cutoff("urate")),),
    ((Signal.AMMONIA, _ROWS.cutoff("ammonia")),),
)

#: They prolong the INR by themselves.
EXPLAINS_INR: Final = (MedicineClass.VITAMIN_K_ANTAGONIST,)

CREATININE: Final = PREECLAMPSIA_CREATININE
