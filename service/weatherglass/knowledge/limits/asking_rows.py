"""The columns that every row has which asks a question by itself, whatever leads to it."""

from weatherglass.knowledge.data_files import Columns
from weatherglass.model.signals import Letter
from weatherglass.model.sources import Source


class AskingRow(Columns, frozen=True, kw_only=True):
    """What a question asks for.

    Attributes:
        letter: Where it is told.
        asks: What the sentence goes on with.
        at_once: What is done at the bedside before anybody comes.
        sources: Where it is stated, the first one first.
    """

    key: str
    letter: Letter
    asks: str
    at_once: str = ""
    sources: tuple[Source, ...]
