"""Was a problem written down in the last day that is an emergency by its name?

Somebody has seen it, or suspects it; vital signs and results may still be normal. A name that is known only
from the past, or without a date, asks nothing.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime

from weatherglass.assessments.telling.basis import allergies_beside, asked_by, rests_on
from weatherglass.facts.acute_problems import Written, names, written_lately
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.hydrocortisone_given import hydrocortisone_given
from weatherglass.knowledge.emergencies import acute_problems as criteria
from weatherglass.knowledge.emergencies.acute_problems import AcuteProblem
from weatherglass.knowledge.medicines.medicine_classes import acts_locally
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.findings import RECORDED_AS_SUCH, URGENCY_OF, Finding, Kind, Urgency
from weatherglass.model.plain import replace
from weatherglass.model.record.care import OPERATIONS, ProcedureKind
from weatherglass.model.signals import Signal
from weatherglass.model.words.lists import listed, said_once
from weatherglass.model.words.value_words import named_value


def assess_acute_problems(bedside: Bedside) -> Iterator[Finding]:
    """Tell every problem of the last day that is an emergency by its name, and that nothing has answered."""
    written = sorted(written_lately(bedside.record, bedside.as_of), key=lambda one: (one.at, one.origin))
    if not written:
        return
    for row in criteria.ACUTE_PROBLEMS:
        found = [one for one in written if names(row, one)]
        if found and not _is_answered(bedside, row, found[0]):
            yield _finding(bedside, row, found)


def _is_answered(bedside: Bedside, row: AcuteProblem, found: Written) -> bool:
    """Tell whether what was done, given or measured, or another problem, has answered it."""
    since = bedside.as_of - criteria.COUNTS_FOR.length
    return (
        bool(row.unless and bedside.record.told_of(*row.unless))
        or (row.beside is not None and not bedside.record.has(row.beside))
        or (row.operation and _was_done(bedside, OPERATIONS, found.at - row.operated_before))
        or (row.opened and _was_done(bedside, _STENT, found.at - criteria.FULL_FOR.length))
        or (row.antimicrobial and any(dose.at >= since for dose in bedside.antibacterial_doses))
        or bool(row.treated and bedside.on_chart(row.treated))
        or (row.antidotes and _was_given(bedside, row.antidotes, found.at))
        or any(bedside.exact(signal, criteria.COUNTS_FOR.length) for signal in row.measured)
    )


_WORDS = word_patterns("asked-patterns.toml")
_ASKS = _WORDS["suspected"]
_STENT = frozenset({ProcedureKind.CORONARY_STENT})


def _was_done(bedside: Bedside, kinds: frozenset[ProcedureKind], since: datetime) -> bool:
    return any(one.until >= since for one in bedside.record.done(*kinds))


def _was_given(bedside: Bedside, names: frozenset[str], since: datetime) -> bool:
    return any(
        one.at >= since and not names.isdisjoint(one.medicine.ingredients)
        for one in bedside.record.administrations
    )


def _finding(bedside: Bedside, row: AcuteProblem, written: Sequence[Written]) -> Finding:
    """Tell what was written down first, and name beside it what says the same in other words."""
    found, named_too = written[0], listed(said_once(_text(row, one) for one in written))
    age = bedside.as_of - found.latest
    orders = bedside.on_chart(row.against) if row.against else ()
    named = f"; on the chart: {listed(sorted({one.medicine.text for one in orders}))}" if orders else ""
    head = f"New on record{_doubt(found)}: {named_too} ({bedside.clock.full(found.at)})"
    is_full = age < row.full_for
    given = hydrocortisone_given(bedside, found.at) if row.once_given else None
    done = f"hydrocortisone was given {bedside.clock.at(given.at)}; {row.once_given}" if given else ""
    opened = _opened_by(bedside, row, found)
    heard = _heard(bedside, row, found)
    asks = done or opened or heard or row.asks
    places = (*(one.origin for one in written), *(one.origin for one in orders))
    finding = asked_by(
        row,
        head,
        rests_on(bedside, found.at, *places, at=found.at),
        kind=Kind.SINGLE_SIGN,
        key=f"{row.key}{RECORDED_AS_SUCH}",
        urgency=Urgency.ROUTINE if not is_full else Urgency.PROMPT if heard else URGENCY_OF[row.soon],
        asks=f"{asks}{allergies_beside(bedside, asks)}{named}",
        is_full=is_full and given is None and not heard,
        dated=found.at,
        sources=(criteria.COUNTS_FOR, criteria.FULL_FOR),
        decided_by="a problem that is an emergency by its name",
    )
    if row.given is None or not opened or not finding.at_once:
        return finding
    return replace(finding, at_once=row.given.at_once)


def _heard(bedside: Bedside, row: AcuteProblem, found: Written) -> str:
    """Return what is asked for once the baby's heart was counted since; empty where it was not."""
    newest = bedside.record.series(Signal.FETAL_HEART).latest if row.once_heard else None
    if newest is None or not found.at <= newest.at <= bedside.as_of:
        return ""
    return f"{named_value(Signal.FETAL_HEART, newest)} {bedside.clock.at(newest.at)}; {row.once_heard}"


def _opened_by(bedside: Bedside, row: AcuteProblem, found: Written) -> str:
    """Return what is asked for once a vessel is being opened or clotting restored; else empty."""
    if row.given is None:
        return ""
    since = found.at - criteria.FULL_FOR.length
    doses = (
        (one.medicine.text, one.at)
        for one in bedside.record.administrations
        if any(not acts_locally(key, one.route) for key in one.medicine.classes & row.given.classes)
        or not row.given.medicines.isdisjoint(one.medicine.ingredients)
    )
    done = ((one.text, one.at) for one in bedside.record.done(*row.given.procedures))
    for text, at in (*doses, *done):
        if since <= at <= bedside.as_of:
            return f"{text} {bedside.clock.at(at)}; {row.given.asks}"
    return ""


def _doubt(found: Written) -> str:
    """Say that it is suspected, where its own words do not."""
    return "" if found.confirmed or _ASKS.search(found.text.casefold()) else ", suspected"


def _text(row: AcuteProblem, found: Written) -> str:
    return found.text or row.problem.value
