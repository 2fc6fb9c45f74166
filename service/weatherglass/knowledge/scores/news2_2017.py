"""National Early Warning Score 2, Royal College of Physicians, December 2017.

Data only, in the order of Chart 1 (points) and Chart 4 (response). Scoring lives in
`weatherglass.assessments`.

The publication prints whole numbers (temperature: one decimal) and says nothing
about values in between. Ours, in every table: round half up to the printed step.

Left out, with reasons:
    How much oxygen is given: the score has no row for it. It is followed as a trend.
    Imputation of a missing row: the report gives none, so a set that lacks a row has
    no total, only a lowest and a highest possible one.
"""

from decimal import Decimal
from typing import Final

from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.knowledge.scores.printed_scores import printed_score
from weatherglass.model.numbers.quantities import Quantity, Unit
from weatherglass.model.tables.bands import BandTable, ChoiceTable

PUBLIC_KEY: Final = "news2-2017"
#: The rows and the response stand in `news2-2017.toml`.
NEWS2: Final = printed_score("news2-2017")
PARAMETERS: Final = NEWS2.parameters

RESPIRATION_RATE: Final = NEWS2.table("respiration", BandTable)
SPO2_SCALE_1: Final = NEWS2.table("spo2-scale-1", BandTable)
#: Scale 2 in someone who breathes air, where from 88 upwards nothing scores; and on oxygen, where
#: saturation above the target scores again. The scale that counts is the caller's decision.
SPO2_SCALE_2_ON_AIR_ROW, SPO2_SCALE_2_ON_OXYGEN_ROW = NEWS2.alternatives
SPO2_SCALE_2_ON_AIR: Final = NEWS2.table("spo2-scale-2", BandTable)
SPO2_SCALE_2_ON_OXYGEN: Final = NEWS2.table("spo2-scale-2", BandTable, form=1)
AIR_OR_OXYGEN: Final = NEWS2.table("air-or-oxygen", ChoiceTable)
SYSTOLIC_PRESSURE: Final = NEWS2.table("systolic-pressure", BandTable)
PULSE: Final = NEWS2.table("pulse", BandTable)
CONSCIOUSNESS: Final = NEWS2.table("consciousness", ChoiceTable)
TEMPERATURE: Final = NEWS2.table("temperature", BandTable)

#: In the order in which they are tried; the risk words are those of Chart 2. Ours: the total decides
#: before the single parameter; a red row inside 5-6 is listed with it. Deadlines are not printed on
#: Chart 4: their sources stand beside them.
THRESHOLDS: Final = NEWS2.thresholds
EMERGENCY, URGENT, SINGLE_RED, LOW, ZERO = THRESHOLDS

_ROWS: Final = PrintedRows("scores/news2-2017-rows", globals())


SCALE_2_LOWEST_TARGET: Final = Quantity(Decimal(88), Unit.PERCENT)
SCALE_2_HIGHEST_TARGET: Final = Quantity(Decimal(92), Unit.PERCENT)
