"""Modified Early Warning Score, Subbe and colleagues, 2001.

Data only. The rows were read in three reproductions of the paper's table, which differ
in the printed inequality of the outer rows; the marks say so.

Ours: systolic pressure of exactly 70 and pulse of exactly 40 lie between two printed
rows and take the row with more points, as one of the reproductions prints them.

Left out, with reasons:
    Urine output: one reproduction has such a row, the paper's score has not.
    Oxygen saturation, oxygen given: the score has no such rows.
"""

from typing import Final

from weatherglass.knowledge.scores.printed_scores import printed_score
from weatherglass.model.tables.bands import BandTable, ChoiceTable

PUBLIC_KEY: Final = "mews-2001"
#: The rows stand in `mews-2001.toml`.
MEWS: Final = printed_score("mews-2001")
SYSTOLIC_PRESSURE: Final = MEWS.table("systolic-pressure", BandTable)
PULSE: Final = MEWS.table("pulse", BandTable)
RESPIRATION_RATE: Final = MEWS.table("respiration", BandTable)
TEMPERATURE: Final = MEWS.table("temperature", BandTable)
CONSCIOUSNESS: Final = MEWS.table("consciousness", ChoiceTable)
CRITICAL, BELOW = MEWS.thresholds
