"""What relieves in recorded last days of life and is easily overlooked.

Nothing here looks for a cause or treats an illness.
"""

import re
from typing import Final

from weatherglass.knowledge.data_files import Columns, cite, csv_table
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.clauses import Clause
from weatherglass.model.plain import Plain

PUBLIC_KEY: Final = "last-days"
_ROWS: Final = PrintedRows("limits/last-days-rows")

RETENTION: Final = _ROWS.clause("retention")
DEFIBRILLATOR: Final = _ROWS.clause("defibrillator")
BLEEDING: Final = _ROWS.clause("bleeding")
RECORDED_WITHIN: Final = _ROWS.window("recorded-within")
COMFORT: Final = _ROWS.source("comfort")


class _Row(Columns, frozen=True):
    key: str
    words: str
    asks: str
    source: str


class Symptom(Plain, frozen=True, kw_only=True):
    """What somebody wrote down that can be relieved, and what is looked at.

    Attributes:
        key: Stable key.
        words: How it is written, in small letters.
        asks: What the sentence goes on with.
    """

    key: str
    words: re.Pattern[str]
    asks: Clause


def _symptom(row: _Row) -> Symptom:
    asks = Clause(text=row.asks, source=cite(row.source))
    return Symptom(key=row.key, words=re.compile(rf"\b(?:{row.words})\b"), asks=asks)


SYMPTOMS: Final = csv_table("limits/last-days-symptoms.csv", _Row, _symptom)
