"""Does something run into a vein that is steered by a value, and nobody has measured it for too long?

And does something that runs hold the pressure up, so that no score shows how ill the patient is?
"""

from collections.abc import Iterator

from weatherglass.assessments.telling.basis import About, asked_by, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.drug_chart import Line, Standing
from weatherglass.facts.metabolic.potassium_shift import is_for_potassium
from weatherglass.knowledge.emergencies import watched_infusions as criteria
from weatherglass.knowledge.emergencies.watched_infusions import WatchedInfusion
from weatherglass.knowledge.metabolic.potassium_shift import SHIFT_LASTS
from weatherglass.knowledge.scores.points import organ_failure
from weatherglass.model.findings import URGENCY_OF, Finding, Kind, Urgency
from weatherglass.model.record.medicines import Route
from weatherglass.model.signals import Letter
from weatherglass.model.words.lists import capital

_VASOPRESSORS = frozenset(organ_failure.VASOPRESSORS[organ_failure.SOFA_2])


def assess_watched_infusions(bedside: Bedside) -> Iterator[Finding]:
    """Tell which infusion has gone on without its value."""
    for row in criteria.WATCHED_INFUSIONS:
        running = (one for one in bedside.drug_chart.lines if _runs(row, one))
        line = next((one for one in running if not _is_over(bedside, one)), None)
        found = _finding(bedside, row, line) if line is not None else None
        if found is not None:
            yield found
    yield from _held_pressure(bedside)


def _held_pressure(bedside: Bedside) -> Iterator[Finding]:
    """Tell that a vasopressor runs; it calls nobody where critical care is at the bedside.

    No more than prompt elsewhere: who has one is mostly in critical care, and the record does not say so.
    """
    running = bedside.drug_chart.perhaps_running
    line = next((one for one in running if not _VASOPRESSORS.isdisjoint(one.medicine.ingredients)), None)
    if line is None:
        return
    head = f"{capital(line.medicine.name)} is running: the pressure is as it holds it"
    yield tell(
        About(Kind.CARDIAC, "held-pressure", Letter.CIRCULATION),
        Urgency.ROUTINE if bedside.where.has_own_team else Urgency.PROMPT,
        rests_on(bedside, line.since, line.order),
        brief=head,
        asks=criteria.HELD_PRESSURE.text,
        sources=(criteria.HELD_PRESSURE,),
        decided_by="a vasopressor that runs into a vein",
    )


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
    label = row.measured[0].label
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
