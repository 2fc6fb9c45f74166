"""What blood was given, as a procedure or as a dose: its name, from when, and whether it still runs."""

from collections.abc import Iterator
from datetime import datetime

from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.plain import Plain
from weatherglass.model.record.care import ProcedureKind
from weatherglass.model.record.record import Record
from weatherglass.model.sources import Origin

_WORDS = word_patterns("record-patterns.toml")
_BLOOD = _WORDS["blood-product"]
_NO_RED_CELLS = _WORDS["no-red-cells"]


class Transfusion(Plain, frozen=True):
    """What is given.

    Attributes:
        ended: When it ended; None while it runs, or where that is not recorded.
        runs: Whether it had begun and not ended when it was recorded.
    """

    text: str
    began: datetime
    ended: datetime | None
    runs: bool
    origin: Origin

    @property
    def until(self) -> datetime:
        """Its end, or its beginning where no end is recorded."""
        return self.ended or self.began

    @property
    def is_of_red_cells(self) -> bool:
        """Whether it may be red cells: not by its name plasma or platelets alone."""
        return not _NO_RED_CELLS.search(self.text.casefold())


def transfusions(record: Record) -> Iterator[Transfusion]:
    """Yield every transfusion on record, in no order."""
    for one in record.done(ProcedureKind.TRANSFUSION):
        yield Transfusion(one.text, one.at, one.ended, one.ongoing, one.origin)
    for dose in record.administrations:
        if _BLOOD.search(dose.medicine.text.casefold()):
            ended = dose.ended if not dose.running else None
            yield Transfusion(dose.medicine.text, dose.at, ended, dose.running, dose.origin)
