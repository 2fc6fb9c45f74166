"""When is the next dose of a line due, as far as its order and its last dose tell?"""

from datetime import datetime, timedelta
from typing import Final

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.doses import doses_a_day
from weatherglass.facts.medicines.drug_chart import Line, Standing
from weatherglass.model.record.medicines import MedicineOrder

DAY: Final = timedelta(days=1)


def next_dose(bedside: Bedside, line: Line) -> datetime | None:
    """Return when the next dose is due after the moment of the review; None where nothing tells.

    By the times of a day that the order names, or else by its last dose and how often it is given.
    """
    order = line.charted
    if line.standing is not Standing.IN_USE or order is None or order.as_needed or line.is_running:
        return None
    if order.due:
        return first_time_after(bedside, order, bedside.as_of)
    often = doses_a_day(order)
    if line.last_dose is None or not often:
        return None
    due = line.last_dose.at + DAY / float(often)
    return due if due > bedside.as_of else None


def first_time_after(bedside: Bedside, order: MedicineOrder, moment: datetime) -> datetime:
    """Return the first of an order's times of a day after a moment."""
    local = bedside.local(moment)
    today = [datetime.combine(local.date(), each, local.tzinfo) for each in order.due]
    return min(each if each > local else each + DAY for each in today)
