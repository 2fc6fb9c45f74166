"""One patient on the ward list: who, where, how urgent, why, what is new, what to look at.

A row is plain words and can be stored: an unchanged patient keeps the row of an
earlier run. Nothing is judged here; what stands in the row stands in the review.
"""

import re
from collections.abc import Sequence

import msgspec

from weatherglass.handover.kinds import KINDS
from weatherglass.handover.told import asks_for_a_look, chart_place, is_settled
from weatherglass.knowledge.medicines.rules.actions import ACTIONS, RANK
from weatherglass.model.findings import URGENCY_OF, Finding, State, Urgency, stands_beside
from weatherglass.model.medicine_findings import InteractionFinding, MedicineFinding
from weatherglass.model.review import Review
from weatherglass.model.words.brief_words import due_on_ward, in_a_column, rank_on_ward
from weatherglass.model.words.call_words import call_line
from weatherglass.model.words.lists import listed
from weatherglass.web.drawing.small_multiple import SmallMultiple, lasting_scale, small_multiple
from weatherglass.web.ward_line import WardLine, ward_line


class Mark(msgspec.Struct, array_like=True, frozen=True):
    """A finding as far as two runs can be compared by it."""

    kind: str
    key: str
    urgency: str
    words: str


class Change(msgspec.Struct, kw_only=True):
    """What is different from an earlier run.

    Attributes:
        urgency: The urgency then; empty when the patient was not in the earlier run.
        new: Findings that ask for something and were not there, or less urgent.
        gone: Findings that asked for something and are not there any more.
    """

    urgency: str = ""
    new: list[str] = []
    gone: list[str] = []


class WardRow(msgspec.Struct, kw_only=True):
    """One line of the ward list.

    Attributes:
        order: What the list is sorted by inside a ward.
        rank: Urgency as a number, the most urgent highest; -1 when not reviewed.
        why: What comes first, in a sentence.
        why_is_new: Whether that began overnight.
        new: What else began overnight and asks for something.
        is_limited: Whether a recorded decision limits treatment.
        left_out: What was sent and not read, in sentences, where the reason does not say it.
        resuscitation: That it is refused, or that records conflict, in few words; empty otherwise.
        urgency: In a word; "not assessed" and its like where nothing calls and nobody can tell.
        is_assessed: Whether there were vital signs enough, and new enough, to tell.
        is_stale: Whether the newest vital signs are missing or too old to rely on.
        why_not: Why there is no review; empty when there is one.
        marks: The findings, for a later run to compare with.
        change: What is different from the earlier run, when there is one.
        unchanged: Whether nothing new has come in since the earlier run.
        empty: Whether there was nothing with a time to review.
        line: The patient on one line; None when not reviewed.
    """

    patient: str
    name: str = ""
    number: str = ""
    ward: str = ""
    bed: str = ""
    hospital: str = ""
    order: str = ""
    rank: int = -1
    urgency: str = ""
    score: str = ""
    why: str = ""
    why_is_new: bool = False
    call: str = ""
    new: list[str] = []
    settling: list[str] = []
    chart: list[str] = []
    ceiling: list[str] = []
    left_out: list[str] = []
    is_limited: bool = False
    resuscitation: str = ""
    is_assessed: bool = True
    is_stale: bool = False
    as_of: str = ""
    data_age: str = ""
    why_not: str = ""
    marks: list[Mark] = []
    change: Change | None = None
    unchanged: bool = False
    empty: bool = False
    line: WardLine | None = None


def ward_row(review: Review) -> WardRow:
    """Return the row of a reviewed patient."""
    shown = [f for f in review.findings if not stands_beside(f)]
    new = [f for f in shown if f.state is State.NEW and f.urgency is not Urgency.ROUTINE]
    leads_new = any(one.finding in new for one in review.told_first[:1])
    first = [one.finding for one in review.told_first] if leads_new else []
    apart = [f for f in new if not KINDS[f.kind].elsewhere and f not in first]
    row = WardRow(
        patient=str(review.subject.origin),
        name=review.subject.name,
        number=review.subject.number,
        ward=review.ward,
        bed=review.bed,
        hospital=review.hospital,
        rank=int(review.urgency),
        urgency=review.standing,
        score=in_a_column(review),
        why=review.headline,
        call=_call(review),
        why_is_new=leads_new,
        new=list(dict.fromkeys(f.brief for f in apart)),
        settling=[f.brief for f in shown if f.state is State.SETTLING],
        chart=chart_lines(review.findings),
        ceiling=list(review.ceiling),
        left_out=list(review.unread),
        is_limited=review.is_limited,
        resuscitation=_resuscitation(review),
        is_assessed=not review.not_assessed,
        is_stale=review.is_stale,
        as_of=review.clock.dated(review.as_of) if review.as_of is not None else "",
        data_age=review.data_age,
        marks=[_mark(finding) for finding in shown],
        line=ward_line(review, line=_drawn(review)),
    )
    *_, lowest, _ = rank_on_ward(review)
    row.order = _order(row, max(-lowest, 0), due_on_ward(review))
    return row


def refused_row(patient: str, why_not: str, *, empty: bool = False) -> WardRow:
    """Return the row of a patient who could not be reviewed: named, because silence is no all-clear."""
    row = WardRow(patient=patient, why_not=why_not, empty=empty)
    row.order = _order(row, 0, "9")
    return row


def row_line(row: WardRow) -> bytes:
    """Write a row behind what it is sorted by."""
    return row.order.encode() + b"\t" + msgspec.json.encode(row) + b"\n"


def changed(now: WardRow, before: WardRow) -> Change:
    """Say what is different from the row of an earlier run."""
    then = {(mark.kind, mark.key): mark for mark in before.marks}
    today = {(mark.kind, mark.key) for mark in now.marks if _calls(mark)}
    return Change(
        urgency=before.urgency or "not reviewed",
        new=[m.words for m in now.marks if _calls(m) and not _was_there(m, then.get((m.kind, m.key)))],
        gone=[m.words for m in before.marks if _calls(m) and (m.kind, m.key) not in today],
    )


def _mark(finding: Finding) -> Mark:
    # What is settling asks for nothing any more, however urgent it was.
    urgency = Urgency.ROUTINE if finding.state is State.SETTLING else finding.urgency
    return Mark(finding.kind.value, finding.key, urgency.word, finding.brief)


def _calls(mark: Mark) -> bool:
    return mark.urgency != Urgency.ROUTINE.word


def _was_there(mark: Mark, before: Mark | None) -> bool:
    return before is not None and _rank(before.urgency) >= _rank(mark.urgency)


def _rank(word: str) -> int:
    return URGENCY_OF.get(word, -1)


def _resuscitation(review: Review) -> str:
    if not review.is_not_for_resuscitation:
        return ""
    return next((one.words for one in review.decisions if one.is_resuscitation), "")


def _call(review: Review) -> str:
    return call_line(review.escalation, review.clock) if review.escalation is not None else ""


def _drawn(review: Review) -> SmallMultiple | None:
    if review.lead is None or not review.lead.history:
        return None
    return small_multiple(review.lead.history, lasting_scale(review.lead.history))


def _order(row: WardRow, lowest: int, due: str) -> str:
    """Ward, then the most urgent, the earliest deadline or none known, the highest score, bed and patient."""
    if row.empty:
        place = "\x7f\x7f"
    elif row.rank < 0:
        place = " "  # Before every ward: nobody knows how these patients are.
    else:
        # Wards of one name in two hospitals are two.
        place = f"w{_natural(row.ward)}\x01{_natural(row.hospital)}" if row.ward else "\x7f"
    return "|".join(
        (place, str(9 - row.rank), due, f"{99 - min(lowest, 99):02}", _natural(row.bed), row.patient)
    )


def _natural(text: str) -> str:
    """Return a text that sorts as people count: 'bed 2' before 'bed 10'."""
    plain = "".join(mark if mark.isprintable() else " " for mark in text.casefold())
    return re.sub(r"\d+", lambda number: number[0].zfill(8), plain)


def chart_lines(findings: Sequence[Finding]) -> list[str]:
    """Return what to look at on the drug chart, the worst first, of what is as urgent what is new.

    Args:
        findings: Of one review, in its order.
    """
    lines: dict[object, list[MedicineFinding | InteractionFinding]] = {}
    asking: list[MedicineFinding | InteractionFinding] = [f for f in findings if asks_for_a_look(f)]
    asking += [f for f in findings if isinstance(f, InteractionFinding) and f.urgency is not Urgency.ROUTINE]
    for finding in sorted(asking, key=_chart_order):
        lines.setdefault(_shared(finding), []).append(finding)
    return [_chart_line(group) for group in lines.values()]


def _chart_order(finding: MedicineFinding | InteractionFinding) -> tuple[object, ...]:
    place = (chart_place(finding), finding.state is not State.NEW)
    if isinstance(finding, InteractionFinding):
        return place
    # What not to give comes before what to look at.
    return (*place, not ACTIONS[finding.action].withholds, RANK[finding.action])


def _shared(finding: MedicineFinding | InteractionFinding) -> object:
    """Return what one line has in common: a pair stands alone."""
    if isinstance(finding, InteractionFinding):
        return finding.sentence
    return finding.state is State.NEW, finding.action, finding.decision or _why(finding)


def _chart_line(group: Sequence[MedicineFinding | InteractionFinding]) -> str:
    first = group[0]
    said = f"{first.brief}." if is_settled(first) else first.sentence
    if isinstance(first, MedicineFinding):
        why = _why(first)
        named = list(
            dict.fromkeys(one.named or one.medicine for one in group if isinstance(one, MedicineFinding))
        )
        said = f"{ACTIONS[first.action].asks} {listed(named)}{f': {why}' if why else ''}."
    return f"New. {said}" if first.state is State.NEW else said


def _why(finding: MedicineFinding) -> str:
    return "; ".join(dict.fromkeys(reason.short for reason in finding.reasons if reason.short))
