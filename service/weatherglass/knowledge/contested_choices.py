"""Choices of ours that a clinician may contest, each with what speaks for it and what against it.

Data only, in `contested-choices.toml`. They are listed so that a site can decide otherwise with open eyes:
none of them is a publication's, and each names the module in which it lives.
"""

from typing import Final

from weatherglass.knowledge.data_files import Columns, toml_table
from weatherglass.model.plain import Plain
from weatherglass.model.sources import Source, our_choice

PUBLIC_KEY: Final = "contested-choices"


class _Row(Columns, frozen=True):
    question: str
    chosen: str
    speaks_for: str
    speaks_against: str
    module: str


class ContestedChoice(Plain, frozen=True, kw_only=True):
    """One choice, argued.

    Attributes:
        question: What is decided, in the words of its criterion.
        answer: What was chosen.
        speaks_against: What somebody who contests it says.
        module: Where it lives, below `weatherglass.`.
    """

    question: str
    answer: str
    speaks_for: str
    speaks_against: str
    module: str
    source: Source


def _choice(_key: str, row: _Row) -> ContestedChoice:
    return ContestedChoice(
        question=row.question,
        answer=f"chosen: {row.chosen}",
        speaks_for=f"for: {row.speaks_for}",
        speaks_against=f"against: {row.speaks_against}",
        module=row.module,
        source=our_choice(row.chosen),
    )


CONTESTED: Final = toml_table("contested-choices.toml", _Row, _choice)
