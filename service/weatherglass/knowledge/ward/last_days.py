"""What relieves in recorded last days of life and is easily overlooked.

Nothing here looks for a cause or treats an illness.
"""

import re
from typing import Annotated, Final

from weatherglass.knowledge.data_files import Columns, csv_rows
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.sources import Source
from weatherglass.model.words.clauses import Clause

PUBLIC_KEY: Final = "last-days"
_ROWS: Final = PrintedRows("ward/last-days-rows", globals())

#: What lies ready for comfort.
RELIEVES: Final = frozenset(
    one.value for one in (MedicineClass.OPIOID, MedicineClass.BENZODIAZEPINE, MedicineClass.ANTIPSYCHOTIC)
)
LOWERS_SUGAR: Final = (MedicineClass.INSULIN, MedicineClass.SULFONYLUREA, MedicineClass.GLINIDE)


def _words(written: str) -> re.Pattern[str]:
    return re.compile(rf"\b(?:{written})\b")


class Symptom(Columns, frozen=True):
    """What somebody wrote down that can be relieved, and what is looked at.

    Attributes:
        words: How it is written, in small letters.
        asks: What the sentence goes on with.
    """

    key: str
    words: Annotated[re.Pattern[str], _words]
    asks: str
    source: Source

    @property
    def clause(self) -> Clause:
        """What is looked at."""
        return Clause(text=self.asks, source=self.source)


SYMPTOMS: Final = tuple(csv_rows("ward/last-days-symptoms.csv", Symptom))
