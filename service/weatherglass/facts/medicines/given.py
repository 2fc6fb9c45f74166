"""What was given in the last day, by the line of the drug chart that it is of."""

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from typing import Final

from weatherglass.facts.medicines.drug_chart import Line
from weatherglass.knowledge.medicines.time_critical import EARLY
from weatherglass.model.record.medicines import Administration
from weatherglass.model.sources import Origin

#: A dose that comes an hour early is no dose more.
_A_DAY_OF_DOSES: Final = timedelta(days=1) - EARLY.length


def given_of_a_day(
    doses: Iterable[Administration], lines: Iterable[Line], as_of: datetime
) -> Mapping[Origin, tuple[Administration, ...]]:
    """Return the doses of the last day by the order of their line, oldest first.

    A dose is of the order that it names, or else of the one line that holds the same.
    """
    holding: dict[frozenset[str], list[Line]] = {}
    for line in lines:
        holding.setdefault(frozenset(line.medicine.ingredients), []).append(line)
    found: dict[Origin, list[Administration]] = {}
    for dose in doses:
        if not timedelta(0) <= as_of - dose.at <= _A_DAY_OF_DOSES:
            continue
        held = frozenset(dose.medicine.ingredients)
        same = holding.get(held, []) if held else []
        order = dose.order if dose.order is not None else same[0].order if len(same) == 1 else None
        if order is not None:
            found.setdefault(order, []).append(dose)
    return {order: tuple(of_it) for order, of_it in found.items()}
