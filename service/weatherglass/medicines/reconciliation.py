"""Was what is taken at home ordered here?

Asked once somebody has been in hospital for a day and has orders of their own here. It is a question:
many medicines are left out on purpose, and nothing is urged.
"""

from collections.abc import Iterator, Sequence

from weatherglass.assessments.telling.basis import rests_on
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.drug_chart import Line, Standing
from weatherglass.facts.presence import Presence
from weatherglass.knowledge.medicines import time_critical as table
from weatherglass.knowledge.medicines.time_critical import TIME_CRITICAL
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.letters import Letter
from weatherglass.model.record import DirectiveKind, OrderStatus


def assess_reconciliation(bedside: Bedside) -> Iterator[Finding]:
    """Name every home medicine that is not on the chart of this stay, in one finding."""
    admitted = bedside.admitted_at
    if admitted is None or bedside.in_hospital is not Presence.HERE:
        return
    if bedside.as_of - admitted < table.RECONCILED_WITHIN.length or not _has_orders(bedside):
        return
    if bedside.directives(DirectiveKind.END_OF_LIFE):
        return
    lines = [line for line in bedside.drug_chart.lines if _is_left_behind(line)]
    if lines:
        yield _finding(bedside, lines)


def _has_orders(bedside: Bedside) -> bool:
    return any(o.status is OrderStatus.ACTIVE and not o.is_statement for o in bedside.record.orders)


def _is_left_behind(line: Line) -> bool:
    return line.standing is Standing.REPORTED and not line.medicine.is_unnamed


def _is_critical(bedside: Bedside, line: Line) -> bool:
    of_line = bedside.named(line)
    return any(row.home and of_line.is_one_of(row.members) for row in TIME_CRITICAL)


def _finding(bedside: Bedside, lines: Sequence[Line]) -> Finding:
    critical = [line for line in lines if _is_critical(bedside, line)]
    others = [line for line in lines if line not in critical]
    names = [line.medicine.text.strip().rstrip(".") for line in (*critical, *others)]
    since = bedside.admitted_at
    harms = "The sudden end of the first " + ("harms. " if len(critical) == 1 else f"{len(critical)} harms. ")
    return Finding(
        kind=Kind.MEDICINE_MISSING,
        key="home-medicines-not-ordered",
        letter=Letter.EXPOSURE,
        urgency=Urgency.PROMPT if critical else Urgency.ROUTINE,
        sentence=f"Taken at home and not ordered here: {', '.join(names)}. {harms if critical else ''}"
        "Ask whether each is meant to be left out.",
        brief=f"{len(names)} home {'medicine' if len(names) == 1 else 'medicines'} not ordered here",
        **rests_on(bedside, since, *(line.order for line in lines)),
        sources=(table.RECONCILED_WITHIN.source, table.URGENCY_SOURCE),
        decided_by="home medicines compared with the chart",
    )
