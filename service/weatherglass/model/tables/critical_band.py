"""One limit of one analyte, as the tables of critical results hold it.

The shape alone: the numbers stand in `critical_results` and `drug_levels`.
"""

from weatherglass.model.plain import Plain
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.tables.scores import UrgencyWord


class CriticalBand(Plain, frozen=True, kw_only=True):
    """One limit of one analyte.

    Attributes:
        key: Analyte and side; all bands of one key form a series.
        signal: What is measured.
        label: What a result beyond the limit is called.
        cutoff: The printed limit.
        urgency: Our ranking.
        note: What to know before acting, empty when nothing.
        first: Its place among results that are as urgent; 0 where it has none.
        by_stage: Whether a stage of kidney injury says it.
    """

    key: str
    signal: Signal
    label: str
    cutoff: Cutoff
    urgency: UrgencyWord
    note: str = ""
    first: int = 0
    by_stage: bool = False

    @property
    def source(self) -> Source:
        """Where the limit is printed."""
        return self.cutoff.source
