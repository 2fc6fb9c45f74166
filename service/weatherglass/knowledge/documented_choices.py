"""Where the publications are silent or disagree, and what was chosen here.

One row a question in `documented-choices.csv`, in our words, with the module in which the choice
lives. A site that decides otherwise changes its policy file where one of its keys says so, or the
named module.
"""

from typing import Final

from weatherglass.knowledge.data_files import Columns, csv_table
from weatherglass.model.plain import Plain
from weatherglass.model.sources import Source, our_choice

PUBLIC_KEY: Final = "documented-choices"


class _Row(Columns, frozen=True):
    question: str
    answer: str
    module: str


class DocumentedChoice(Plain, frozen=True, kw_only=True):
    """One open question and its answer here.

    Attributes:
        question: What the publications leave open.
        answer: What was chosen.
        module: Where the choice lives, below `weatherglass.`.
    """

    question: str
    answer: str
    module: str
    source: Source


def _choice(row: _Row) -> DocumentedChoice:
    source = our_choice(row.answer)
    return DocumentedChoice(question=row.question, answer=row.answer, module=row.module, source=source)


CHOICES: Final = csv_table("documented-choices.csv", _Row, _choice)
