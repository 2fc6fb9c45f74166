"""Does something run into a vein that is steered by a value, and nobody has measured it for too long?"""

from collections.abc import Iterator

from weatherglass.assessments.telling.basis import asked_by, rests_on
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.drug_chart import Line, Standing
from weatherglass.facts.metabolic.potassium_shift import is_for_potassium
from weatherglass.knowledge.emergencies import watched_infusions as criteria
from weatherglass.knowledge.emergencies.watched_infusions import WatchedInfusion
from weatherglass.knowledge.metabolic.potassium_shift import SHIFT_LASTS
from weatherglass.model.findings import URGENCY_OF, Finding
from weatherglass.model.record.medicines import Route
from weatherglass.model.signals import FACTS
from weatherglass.model.words.lists import capital


def assess_watched_infusions(bedside: Bedside) -> Iterator[Finding]:
    """Tell which infusion has gone on without its value."""
    for row in criteria.WATCHED_INFUSIONS:
        running = (one for one in bedside.drug_chart.lines if _runs(row, one))
        line = next((one for one in running if not _is_over(bedside, one)), None)
        found = _finding(bedside, row, line) if line is not None else None
        if found is not None:
            yield found


def _runs(row: WatchedInfusion, line: Line) -> bool:
    by_vein = line.route is Route.INTRAVENOUS and line.standing is Standing.IN_USE
    return by_vein and line.since is not None and not line.classes.isdisjoint(row.classes)


def _is_over(bedside: Bedside, line: Line) -> bool:
    """Tell whether it was one dose for a potassium, which has worn off."""
    order = next((one for one in bedside.record.orders if one.origin == line.order), None)
    if order is None or order.began is None or "infusion" in order.dose_text.casefold():
        return False
    return is_for_potassium(bedside.record, order) and bedside.as_of - order.began > SHIFT_LASTS.length


def _finding(bedside: Bedside, row: WatchedInfusion, line: Line) -> Finding | None:
    values = [one for signal in row.measured for one in bedside.record.series(signal)]
    last = max(values, key=lambda one: one.at, default=None)
    counted_from = max(filter(None, (line.since, last.at if last is not None else None)))
    if bedside.as_of - counted_from < row.late:
        return None
    due = counted_from + row.every
    label = FACTS[row.measured[0]].label
    began = "" if last is not None and last.at >= counted_from else "it began at "
    since = f"{began}{bedside.clock.full(counted_from)}"
    head = f"{capital(line.medicine.name)} by vein, and {label} not measured since {since}"
    return asked_by(
        row,
        head,
        rests_on(bedside, due, line.order, last),
        key=f"{row.key}-unmeasured",
        urgency=URGENCY_OF[row.soon],
        decided_by="a medicine by vein whose value was not measured in time",
    )
