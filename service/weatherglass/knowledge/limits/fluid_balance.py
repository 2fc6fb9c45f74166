"""Fluid balance: over which time, how much of it has to be charted, and what is worth showing.

No publication was read for these; each is our choice and says why. What is shown asks for nobody.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Final, Literal

from weatherglass.knowledge.data_files import Columns, cite, csv_table
from weatherglass.model.clauses import Share, Window
from weatherglass.model.sources import our_choice

PUBLIC_KEY: Final = "fluid-balance"


class _Row(Columns, frozen=True):
    key: str
    value: Decimal
    unit: Literal["mL", "kg"]
    source: str


_LIMITS: Final = dict(
    csv_table(
        "limits/fluid-balance.csv",
        _Row,
        lambda row: (row.key, Share(value=row.value, source=cite(row.source))),
    )
)
GAIN: Final = _LIMITS["shown-gain"]
LOSS: Final = _LIMITS["shown-loss"]
WEIGHT_MOVED: Final = _LIMITS["shown-weight"]

A_DAY: Final = Window(
    length=timedelta(hours=24), source=our_choice("the balance is that of the last 24 hours")
)
CUMULATIVE: Final = Window(
    length=timedelta(days=7), source=our_choice("the cumulative balance goes back to the admission or a week")
)
COVERED: Final = Share(
    value=Decimal("0.8"), source=our_choice("a balance needs 80 % of its time charted, in and out")
)
WEIGHT_BEFORE: Final = Window(
    length=timedelta(days=3), source=our_choice("a weight is compared with the first one of the last 3 days")
)
WEIGHTS_APART: Final = Window(
    length=timedelta(hours=12), source=our_choice("weights of less than 12 hours apart are not compared")
)
URINE_OVER: Final = Window(
    length=timedelta(hours=6), source=our_choice("hourly urine is the mean of the newest 6 charted hours")
)
HOURLY: Final = Window(
    length=timedelta(minutes=75), source=our_choice("four entries of up to 75 minutes are an hourly chart")
)
HOURLY_ENTRIES: Final = 4
GAP: Final = Window(
    length=timedelta(hours=2),
    source=our_choice("an hourly chart without an entry for more than 2 hours has a gap"),
)
