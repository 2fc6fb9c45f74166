"""What no publication fixes about the kidneys: how long values stand, and what therapy means.

Data only. Every number here is ours, says why, and is listed in the catalogue for a site
to judge.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Final

from weatherglass.model.clauses import Clause, Share, Window
from weatherglass.model.sources import our_choice

PUBLIC_KEY: Final = "kidney-choices"


def _window(length: timedelta, why: str) -> Window:
    return Window(length=length, source=our_choice(why))


def _clause(text: str, why: str) -> Clause:
    return Clause(text=text, source=our_choice(why))


# Urine.

URINE_WITHOUT_PERIOD: Final = _window(
    timedelta(hours=6),
    "a volume or rate without a period covers the time since the entry before, up to 6 hours",
)
LEAST_ADULT_WEIGHT: Final = Share(
    value=Decimal(40),
    source=our_choice("without a recorded weight urine is judged for everybody above 40 kg, in adults"),
)
FIRST_URINE_RATE: Final = _window(
    timedelta(hours=1), "the first rate on a chart covers the hour that it is given for"
)
URINE_COVERED_TWICE: Final = _clause(
    "Time that two urine entries cover counts once, by the entry that ended first.",
    "hourly volumes and the sum of the same hours must not add up",
)
URINE_STANDS: Final = _clause(
    "A stage by urine stands for the look-back of 24 hours after the last charted entry.",
    "urine charted longer ago says nothing about now",
)
URINE_CLEARS_NOTHING: Final = _clause(
    "Enough urine does not make a stage of a creatinine that has nothing to be compared with.",
    "one of two criteria that could not be judged leaves the stage open when the other is not met",
)
WEIGHT_IS_OLD: Final = _window(
    timedelta(days=30), "a weight recorded more than 30 days before is said to be old"
)

# Creatinine.

CREATININE_STANDS: Final = _clause(
    "A creatinine stage stands as long as the site lets a laboratory result count: 7 days if not chosen.",
    "after that it asks for a repeat, has no stage now and moves no medicine",
)
EPISODE_REFERENCE: Final = _clause(
    "Once injury is found its reference stays for the episode, for 90 days at most.",
    "the second high result would otherwise make the first one look normal",
)
LATE_RECOGNITION: Final = _clause(
    "A result at least 1.5 times a later one within 7 days is an injury recognised in recovery.",
    "a fall shows an injury that no rise showed; it is told apart from the stage",
)

# Renal replacement therapy.

CRITERIA_BEFORE_THERAPY: Final = _window(
    timedelta(days=7), "criteria met up to 7 days before therapy began make its start an acute one"
)
CRITERIA_AFTER_THERAPY: Final = _window(
    timedelta(hours=48), "criteria met up to 48 hours after therapy began make its start an acute one"
)
PLANNED_THERAPY: Final = _clause(
    "Therapy that began while every result could be judged and met no criterion is no stage.",
    "a planned start in chronic disease is not acute injury",
)
LONG_TERM_THERAPY: Final = _clause(
    "Therapy is long-term beyond 90 days or without a known beginning; it is then not staged.",
    "chronic disease begins at 90 days; sessions less than 90 days apart are one course",
)
THERAPY_ASKED_FOR: Final = _clause(
    "An order for replacement therapy is said and is no start.", "asked for is not given"
)
