"""Which creatinine is the baseline: the order in which candidates are tried.

Data only. KDIGO and the ADQI consensus ask for a known baseline where there is one; the
order below is ours and consistent with both. The result always names the rule that
supplied it, its value, dates and count.
"""

from datetime import timedelta
from typing import Final, Literal

from weatherglass.knowledge.kidneys import kdigo_aki_2012 as kdigo
from weatherglass.knowledge.kidneys import nhs_aki_2014 as nhs
from weatherglass.knowledge.kidneys.equations import MDRD_75
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.knowledge.signs.reference_changes import rise_by_chance
from weatherglass.model.plain import Plain
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source, our_choice

PUBLIC_KEY: Final = "kidney-baseline"
_ROWS: Final = PrintedRows("kidneys/kidney-baseline-rows", globals())


class BaselineRule(Plain, frozen=True, kw_only=True):
    """One way to find a baseline.

    Attributes:
        key: The name of the method in results.
        label: The method in a sentence.
        takes: How the candidates become one value.
        older_than: Candidates are strictly older than this before the index result.
        not_older_than: And at most this old; `None` for a rule that uses no results.
        opt_in: Whether a site has to ask for it.
        certainty: The most that a stage resting on it can claim.
        source: Where the rule comes from.
    """

    key: str
    label: str
    takes: Literal["lowest", "median", "equation"]
    older_than: timedelta = timedelta(0)
    not_older_than: timedelta | None = None
    opt_in: bool = False
    certainty: Literal["measured", "possible"] = "measured"
    source: Source


_HIGHER = (
    "of the lowest of 7 days and the median of 8 to 365 days the one with the higher stage is the "
    "reference: a result of this week that is part of the rise must not become it (KDIGO 2012, "
    "chapter 2.4, Case A)"
)
LOWEST_OF_WEEK: Final = BaselineRule(
    key="lowest-7-days",
    label="lowest result of the previous 7 days",
    takes="lowest",
    not_older_than=kdigo.RATIO_WINDOW.length,
    source=our_choice(_HIGHER),
)
MEDIAN_OF_YEAR: Final = BaselineRule(
    key="median-8-365-days",
    label="median of the results of 8 to 365 days before",
    takes="median",
    older_than=kdigo.RATIO_WINDOW.length,
    not_older_than=nhs.YEAR_WINDOW.length,
    source=our_choice(_HIGHER),
)
BACK_CALCULATED: Final = BaselineRule(
    key="mdrd75-estimated",
    label="estimated baseline, back-calculated from an eGFR of 75",
    takes="equation",
    opt_in=True,
    certainty="possible",
    source=MDRD_75.source,
)
#: Of the first two the one with the higher stage counts; the last stands in where there is neither.
ORDER: Final = (LOWEST_OF_WEEK, MEDIAN_OF_YEAR, BACK_CALCULATED)

#: How much a creatinine may rise by chance alone, in percent of the earlier result.
AS_HIGH_WITHIN: Final = rise_by_chance(Signal.CREATININE)
#: Ours: results of an earlier injury are left out while at least this many others remain.
RESULTS_THAT_MUST_REMAIN: Final = 2
