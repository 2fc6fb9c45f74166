"""Troponin and high blood pressure: which number asks for somebody, and how soon.

Data only. No publication prints one limit of troponin for every assay: the laboratory's own
upper limit comes first. Whether a troponin is an infarction takes symptoms and an ECG; that is
not judged here.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Final

from weatherglass.clinical.clauses import Clause, Share, Window
from weatherglass.clinical.quantities import Quantity, Unit
from weatherglass.clinical.sources import our_choice
from weatherglass.clinical.tables import Compare, Cutoff

PUBLIC_KEY: Final = "heart-and-pressure"

# Troponin.

TROPONIN_ABOVE: Final = Clause(
    text="A troponin above the laboratory's own upper limit, or flagged by it, is 'urgent'.",
    source=our_choice("a troponin above the laboratory's own upper limit is 'urgent'"),
)
TROPONIN_CHANGE: Final = Share(
    value=Decimal(20),
    source=our_choice("a troponin that changes by more than 20 % within 24 hours is 'urgent'"),
)
#: Inside the own limit a few nanograms are the noise of the assay.
TROPONIN_LEAST_CHANGE: Final = Cutoff(
    compare=Compare.AT_LEAST,
    limit=Quantity(Decimal(3), Unit.NANOGRAM_PER_LITRE),
    source=our_choice("inside the laboratory's own limit a change counts from 3 ng/L"),
)
TROPONIN_WITHOUT_LIMIT: Final = Cutoff(
    compare=Compare.AT_LEAST,
    limit=Quantity(Decimal(50), Unit.NANOGRAM_PER_LITRE),
    source=our_choice("without a limit of the laboratory's own a troponin of 50 ng/L or more is 'urgent'"),
)
TROPONIN_CHANGE_WINDOW: Final = Window(
    length=timedelta(hours=24), source=our_choice("a change of troponin is looked for within 24 hours")
)
TROPONIN_COUNTS_FOR: Final = Window(
    length=timedelta(hours=72), source=our_choice("a troponin that was not repeated counts for 72 hours")
)
NOT_AN_INFARCTION: Final = Clause(
    text="Whether this is an infarction is not judged here: kidneys, heart failure, sepsis and a fast "
    "pulse raise troponin too.",
    source=our_choice("troponin is never called an infarction"),
)
