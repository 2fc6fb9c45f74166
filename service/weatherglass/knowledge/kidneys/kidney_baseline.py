"""Which creatinine is the baseline: the order in which candidates are tried.

Data only. KDIGO and the ADQI consensus ask for a known baseline where there is one; the
order below is ours and consistent with both. The result always names the rule that
supplied it, its value, dates and count.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Final, Literal

from weatherglass.knowledge.data_files import publication
from weatherglass.knowledge.kidneys.equations import MDRD_75
from weatherglass.knowledge.limits import trend_limits
from weatherglass.knowledge.plain import Plain
from weatherglass.model.clauses import Clause, Window
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source, our_choice
from weatherglass.model.statistics import reference_change
from weatherglass.model.tables.bands import Compare, Cutoff

ADQI_15: Final = publication("adqi-15-2016")
KNOWN_BASELINE_FIRST: Final = Clause(
    text="A known baseline is used whenever there is one.",
    source=ADQI_15.at("baseline creatinine, known value preferred"),
)


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
    not_older_than=timedelta(days=7),
    source=our_choice(_HIGHER),
)
MEDIAN_OF_YEAR: Final = BaselineRule(
    key="median-8-365-days",
    label="median of the results of 8 to 365 days before",
    takes="median",
    older_than=timedelta(days=7),
    not_older_than=timedelta(days=365),
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

_VARIES: Final = next(v for v in trend_limits.BIOLOGICAL_VARIATION if v.signal is Signal.CREATININE)
#: How much a creatinine may rise by chance alone, in percent of the earlier result.
AS_HIGH_WITHIN: Final = reference_change(
    analytical_cv=_VARIES.analytical_cv, within_subject_cv=_VARIES.within_subject_cv
).rise
NOT_OF_THIS_WEEK: Final = Clause(
    text=(
        "Where the newest result of 8 to 90 days before was as high already, within the reference change "
        "value, or their median was and the newest is not 1.5 times lower, the rise is not of this week: "
        "acute kidney disease or a lasting change, without a stage."
    ),
    source=our_choice("an old median must not stage a creatinine that has long been as high"),
)
#: Ours: results of an earlier injury are left out while at least this many others remain.
RESULTS_THAT_MUST_REMAIN: Final = 2
EARLIER_INJURY_LEFT_OUT: Final = Clause(
    text=(
        "Results that belong to an earlier acute injury are left out of the median when at "
        "least two others remain."
    ),
    source=our_choice("an earlier injury is no baseline, but two results must remain"),
)
NEVER_ON_DIALYSIS: Final = Clause(
    text="Results taken on dialysis or haemofiltration are never a baseline.",
    source=our_choice("creatinine on renal replacement therapy reflects the therapy"),
)
ON_THERAPY_AFTER_SESSION: Final = Window(
    length=timedelta(hours=72),
    source=our_choice(
        "a result counts as taken on therapy until 72 hours after a session, the longest gap of "
        "a three-times-a-week schedule"
    ),
)
#: Ours: with a median of the year before that gives less than this, warnings are often false.
CHRONIC_BELOW: Final = Cutoff(
    compare=Compare.BELOW,
    limit=Quantity(Decimal(60), Unit.EGFR),
    source=our_choice("chronic disease is likely when the median of the year gives an eGFR below 60"),
)
NEVER_ESTIMATED: Final = Clause(
    text=("No baseline is estimated under 18 years, in pregnancy or with recorded chronic kidney disease."),
    source=our_choice("back-calculation assumes healthy adult kidneys"),
)
ESTIMATE_OVERCALLS: Final = Clause(
    text=(
        "An estimated baseline over-calls acute kidney injury: 28.4% against 16.3% with the "
        "admission value in one comparison."
    ),
    source=publication("bmc-nephrol-2016-17-6").at(
        "Abstract, incidence by back-calculated and by admission creatinine"
    ),
)
