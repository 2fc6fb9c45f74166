"""Systemic inflammatory response syndrome, ACCP/SCCM consensus, 1992.

Data only. Two or more of four criteria. Every inequality is strict, so 38.0, 36.0, 90,
20, 12 and 4 do not count. Ours: the inequalities are applied to the value as recorded,
without rounding it to the printed digits first.

Left out, with reasons:
    More than 10% immature forms: no signal carries a differential count.
    Sepsis-induced low pressure: single signs and trends call by newer limits.
"""

from typing import Final

from weatherglass.knowledge.scores.printed_scores import printed_score
from weatherglass.model.tables.scores import CutoffTable

PUBLIC_KEY: Final = "sirs-1992"
#: The rows stand in `sirs-1992.toml`; PaCO2 is printed as 32 mmHg and 4.3 kPa.
SIRS: Final = printed_score("sirs-1992")
TEMPERATURE: Final = SIRS.table("temperature", CutoffTable)
PULSE: Final = SIRS.table("pulse", CutoffTable)
RESPIRATION_RATE: Final = SIRS.table("respiration", CutoffTable)
PCO2_ARTERIAL: Final = SIRS.table("carbon-dioxide", CutoffTable)
WHITE_CELLS: Final = SIRS.table("white-cells", CutoffTable)
POSITIVE, NEGATIVE = SIRS.thresholds
