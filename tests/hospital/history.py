"""What was delivered and answered in a day, in its order: nothing reopened, put off or passed over."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime, timedelta
from itertools import groupby, pairwise

from tests.hospital.day import Day, Knock
from tests.hospital.looking import review_at
from tests.hospital.network import Write
from tests.hospital.settling import ASKS, CLOSED, Accounts
from weatherglass.fhir.writing.frame.terms import PRIORITY
from weatherglass.model.medicine_findings import MedicineFinding

#: What is charted about a patient that may rightly take a deadline back or set it anew.
_REASONS = ("correction", "stop", "merge", "ICU", "death", "discharge")


def history(made: Accounts, day: Day) -> None:
    """Go through everything that was delivered, in its order."""
    by_name: dict[str, list[Write]] = defaultdict(list)
    for write in day.network.journal:
        if write.kind in ASKS:
            by_name[f"{write.kind} {write.name}"].append(write)
    reopened, explained = [], 0
    for name, writes in by_name.items():
        for before, after in pairwise(writes):
            if before.status in CLOSED[before.kind] and after.status not in CLOSED[after.kind]:
                if _reason(day, after.patient, before.seconds, after.seconds):
                    explained += 1
                else:
                    reopened.append(f"{name} {before.at:%d %H:%M} to {after.at:%d %H:%M} {after.said[:120]}")
    said = f"{len(by_name)} asked; {explained} came back after a correction, a stop, a merge or a step"
    made.add("Nothing was closed and opened again without a reason", reopened, said)
    moved, reasons = _moved(day)
    made.add("No deadline moved to later without a reason", moved, f"{reasons} moved with one")


def _reason(day: Day, patient: str, begin: float, end: float) -> str:
    """Name what was charted between two deliveries that may rightly take something back.

    What the first of them had not read yet may have been charted a little before it was written.
    """
    begin -= day.length.patience / 20
    about = [one for one in day.charted if one.event.patient == patient and begin <= one.seconds <= end]
    return next((one.event.kind for one in about if one.event.kind in _REASONS), "")


def _moved(day: Day) -> tuple[list[str], int]:
    """Follow the calls about each patient: one that takes the place of another may not be due later."""
    calls: dict[str, list[Write]] = defaultdict(list)
    for write in day.network.journal:
        if write.kind == "CommunicationRequest" and write.end:
            calls[write.patient].append(write)
    later = [
        (before, after)
        for writes in calls.values()
        for before, after in _successions(writes)
        if before.end < after.end and _still_asks(day, before, after)
    ]
    wrong = [pair for pair in later if not _reason(day, pair[1].patient, pair[0].seconds, pair[1].seconds)]
    said = [
        f"{new.patient} {new.at:%d %H:%M} {old.end} -> {new.end}: {old.said[:160]} -> {new.said[:160]}"
        for old, new in wrong
    ]
    return said, len(later) - len(wrong)


def _successions(writes: list[Write]) -> Iterable[tuple[Write, Write]]:
    """Yield each call and the one of the same urgency that takes its place in one delivery."""
    standing: dict[str, Write] = {}
    for _, delivery in groupby(writes, key=lambda write: write.seconds):
        together = list(delivery)
        new = [one for one in together if one.status not in CLOSED[one.kind]]
        for before in standing.values():
            yield from ((before, after) for after in new if after.priority == before.priority)
        for one in together:
            if one.status in CLOSED[one.kind]:
                standing.pop(one.name, None)
        standing |= {one.name: one for one in new}


def _still_asks(day: Day, before: Write, after: Write) -> bool:
    """Tell whether what set a deadline goes on asking as soon, or counts from later all at once.

    A call is due by the first of its reasons; when that one has ended, the others count from their own begin.
    """
    then, now = (_asking(day, before, one) for one in (before, after))
    begin = datetime.fromisoformat(before.begin)
    return any(at <= begin or at > then.get(key, at) for key, at in now.items())


def _asking(day: Day, call: Write, write: Write) -> dict[str, datetime]:
    """Return what asks as urgently as a call in the record as it stood at a delivery, and since when."""
    review = review_at(day, write.patient, write.seconds, write.at)
    findings = [one for one in review.findings if PRIORITY[one.urgency] == call.priority] if review else []
    # The drug chart alone calls nobody to the bedside, where something else does.
    at_bedside = [one for one in findings if not isinstance(one, MedicineFinding)]
    began = {one.key: one.asked_since or one.since for one in at_bedside or findings}
    return {key: at for key, at in began.items() if at is not None}


def calm(made: Accounts, day: Day) -> None:
    """No hook was silent about a patient whose record asks for a call at its beginning and at its end."""
    views = [one for one in day.knocks if one.door == "patient-view"]
    silent = [one for one in views if one.status == 200 and not one.cards]
    wrong = [f"{one.patient} at {one.at:%d %H:%M} {one.during}" for one in silent if _calls(day, one)]
    said = f"{len(views)} charts opened, {len(silent)} without a card; each reviewed again as it stood"
    made.add("No opened chart was silent where its record asks for a call", wrong, said)


def _calls(day: Day, one: Knock) -> bool:
    later = timedelta(seconds=one.seconds * day.length.pace)
    ends = ((one.began, one.at), (one.began + one.seconds, one.at + later))
    seen = (review_at(day, one.patient, seconds, at) for seconds, at in ends)
    return all(review is not None and review.escalation is not None for review in seen)
