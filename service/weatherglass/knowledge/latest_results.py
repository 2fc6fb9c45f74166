"""Which results a ward doctor reads first, in their order.

The rows are in `latest-results.csv`: the short name, and the signals that can stand in its place,
of which the newest does. No publication prints such a list.
"""

from datetime import timedelta
from typing import Final

from weatherglass.knowledge.data_files import Columns, csv_rows
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source, our_choice
from weatherglass.model.words.clauses import Window

PUBLIC_KEY: Final = "latest-results"


class ReadFirst(Columns, frozen=True):
    """One place of the strip: its short name, and the signals that can stand in it."""

    name: str
    signals: tuple[Signal, ...]
    source: Source


READ_FIRST: Final = tuple(csv_rows("latest-results.csv", ReadFirst))
OWN_FROM: Final = Window(
    length=timedelta(days=365),
    source=our_choice("the own range is the lowest to the highest of the results 8 to 365 days old"),
)
OWN_UNTIL: Final = Window(length=timedelta(days=8), source=OWN_FROM.source)
#: Ours: two results are no range.
OWN_LEAST: Final = 3
