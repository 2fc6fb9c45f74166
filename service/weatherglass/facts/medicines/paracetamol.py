"""How much paracetamol the lines of a chart come to in a day, with every dose that may be needed.

The same medicine by two routes, in a compound and when needed adds up, which no line shows by itself.
"""

from collections.abc import Mapping, Sequence
from datetime import datetime
from decimal import Decimal
from typing import Final

from weatherglass.facts.medicines.doses import is_counted, most_of_a_day, single_in
from weatherglass.facts.medicines.drug_chart import Line
from weatherglass.facts.medicines.named_lines import NamedLine
from weatherglass.knowledge.medicines.groups import GROUPS
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.plain import Plain
from weatherglass.model.record.medicines import Administration, MedicineOrder
from weatherglass.model.sources import Origin
from weatherglass.model.times.known_times import latest


class DaySum(Plain, frozen=True):
    """The paracetamol of a day.

    Attributes:
        milligrams: The sum of what is written so that it can be added up.
        regular: The part of it that is not only given when needed.
        lines: Every line that holds paracetamol.
        is_whole: Whether each of them could be added.
        since: When the last of them was begun.
        given: The milligrams that were given in the last day, where the orders say the dose.
        given_until: When the last of it was given.
    """

    milligrams: Decimal = Decimal(0)
    regular: Decimal = Decimal(0)
    lines: tuple[Line, ...] = ()
    is_whole: bool = False
    since: datetime | None = None
    given: Decimal = Decimal(0)
    given_until: datetime | None = None


_MEMBERS: Final = GROUPS["paracetamol"]
_WORDS: Final = word_patterns("chart-patterns.toml")
_PAIR: Final = _WORDS["strength-of-a-pair"]
_SINGLE: Final = _WORDS["strength-of-one"]


def paracetamol_of_a_day(
    lines: Sequence[NamedLine], given: Mapping[Origin, Sequence[Administration]]
) -> DaySum:
    """Add up every line of paracetamol that is taken or about to be, and what was given of each."""
    found = [each.line for each in lines if each.is_one_of(_MEMBERS)]
    amounts = [_of(line.charted) for line in found]
    known = [amount for amount in amounts if amount is not None]
    doses = [(line, given.get(line.order, ())) for line in found]
    return DaySum(
        milligrams=sum(known, Decimal(0)),
        regular=sum(
            (
                amount
                for line, amount in zip(found, amounts, strict=True)
                if amount is not None and line.charted is not None and not line.charted.as_needed
            ),
            Decimal(0),
        ),
        lines=tuple(found),
        is_whole=bool(found) and len(known) == len(found),
        since=latest(line.since for line in found),
        given=sum((_given(line, len(of_it)) for line, of_it in doses), Decimal(0)),
        given_until=max((dose.at for _, of_it in doses for dose in of_it), default=None),
    )


def _given(line: Line, times: int) -> Decimal:
    """Return the milligrams of so many doses; a compound counts by its tablets, whose strength it names."""
    order, dose = line.charted, None
    if order is not None and order.dose and is_counted(order):
        strength = _strength(order.medicine.text)
        dose = order.dose * strength if strength is not None else None
    elif len(line.medicine.ingredients) == 1:
        dose = single_in("mg", order)
    return dose * times if dose is not None else Decimal(0)


def _of(order: MedicineOrder | None) -> Decimal | None:
    """Return the milligrams of one order in a day; None where it does not say them."""
    if order is None or order.daily_at_most is None:
        return None
    if is_counted(order):
        strength = _strength(order.medicine.text)
        return order.daily_at_most * strength if strength is not None else None
    # Milligrams of a compound may be those of its other part.
    return most_of_a_day(order) if len(order.medicine.ingredients) == 1 else None


def _strength(text: str) -> Decimal | None:
    words = text.casefold()
    pair = _PAIR.search(words)
    if pair is not None:
        return max(Decimal(pair[1]), Decimal(pair[2]))
    found = [Decimal(number) * (1000 if unit == "g" else 1) for number, unit in _SINGLE.findall(words)]
    return max(found, default=None)
