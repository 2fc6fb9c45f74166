"""What shows something together with others: a result, a sign or a word of the record, in words."""

from collections.abc import Iterable
from datetime import datetime

from weatherglass.model.findings import Measure
from weatherglass.model.plain import Plain
from weatherglass.model.record.problems import Recorded
from weatherglass.model.sources import Origin
from weatherglass.model.words.lists import inside_a_sentence


class Shown(Plain, frozen=True):
    """One of what shows it.

    Attributes:
        words: As it is said: "platelets 12 \u00d710\u2079/L".
        since: Since when, where that is known.
        origins: Where it stands.
        measure: The number, where it is one.
    """

    words: str
    since: datetime | None
    origins: tuple[Origin, ...]
    measure: Measure | None = None

    @classmethod
    def recorded(cls, told: Recorded, said: str = "") -> "Shown":
        """Return a word of the record, and what is said of it."""
        return cls(f"{inside_a_sentence(told.text)}{said}", told.at, (told.origin,))

    @property
    def at(self) -> datetime | None:
        """When the number was measured."""
        return self.measure.at if self.measure is not None else None


def measures_of(shown: Iterable[Shown]) -> tuple[Measure, ...]:
    """Return the numbers among them."""
    return tuple(one.measure for one in shown if one.measure is not None)
