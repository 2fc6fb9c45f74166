"""Quick SOFA, Sepsis-3 consensus, 2016.

Data only. One point each for three printed inequalities; two points are positive in
someone with suspected infection. Shown as a secondary score only: the Surviving Sepsis
Campaign 2021 advises against it as the sole screen.
"""

from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.knowledge.scores.printed_scores import printed_score
from weatherglass.model.sources import Mark
from weatherglass.model.tables.bands import ChoiceTable
from weatherglass.model.tables.scores import CutoffTable
from weatherglass.model.words.clauses import Clause

PUBLIC_KEY: Final = "qsofa-2016"
#: The rows stand in `qsofa-2016.toml`. Ours: anything but alert is altered mentation.
QSOFA: Final = printed_score("qsofa-2016")
RESPIRATION_RATE: Final = QSOFA.table("respiration", CutoffTable)
SYSTOLIC_PRESSURE: Final = QSOFA.table("systolic-pressure", CutoffTable)
CONSCIOUSNESS: Final = QSOFA.table("consciousness", ChoiceTable)
#: Instead of the answer where a Glasgow Coma Scale is recorded.
GCS_TOTAL: Final = QSOFA.table("consciousness", CutoffTable)
POSITIVE, NEGATIVE = QSOFA.thresholds
NEVER_ALONE: Final = Clause(
    text="Not to be used as the only screen for sepsis.",
    source=publication("ssc-2021").at("Recommendation on qSOFA as a single screening tool", Mark.SECONDARY),
)
