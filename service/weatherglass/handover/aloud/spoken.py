"""The call in a minute: what is said first, in words that need no page in front of the listener.

At most 120 words: who, what is asked, why the patient is here, the worst three with their numbers and
times, what was given, the limits, and two blanks that only the caller can fill. The full handover stands
behind it.
"""

import re
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from typing import Final

from weatherglass.facts.bedside import Bedside
from weatherglass.knowledge.emergencies.acute_problems import KNOWN_AT_FIRST
from weatherglass.medicines.telling.wording import as_charted
from weatherglass.model.findings import Finding, ScoreFinding, ScorePoint, State
from weatherglass.model.medicine_findings import MedicineFinding
from weatherglass.model.plain import Plain
from weatherglass.model.record.care import OPERATIONS
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.review import DecisionInShort, Escalation
from weatherglass.model.subject import Sex
from weatherglass.model.words.brief_words import reason_behind, score_in_brief, words_behind
from weatherglass.model.words.call_words import deadline
from weatherglass.model.words.lists import inside_a_sentence
from weatherglass.model.words.person_words import aged

#: Ours: about a minute at the pace of a telephone call.
MOST_WORDS: Final = 120
BLANKS: Final = "I think: ____. I have done: ____."
#: Ours: what was given longer ago does not belong into the first minute.
_GIVEN_WITHIN: Final = timedelta(hours=12)
_MOST_GIVEN: Final = 3
#: Ours: a course is told over the last day.
_COURSE: Final = timedelta(hours=24)
_WORST: Final = 3
#: Ours: an operation or a problem of the last two weeks is why somebody is here.
_HERE_FOR: Final = timedelta(days=14)
_DAY: Final = timedelta(days=1)
_MOST_REASONS: Final = 2
#: What makes no second reason of the same words: "elective hemicolectomy" behind "hemicolectomy".
_HOW_PLANNED: Final = frozenset("elective emergency planned urgent acute admission for of the with".split())
_WORD: Final = re.compile(r"[^\s,;]+")
#: Ours: so many reasons are held against each other.
_MOST_COMPARED: Final = 12
_NO_REASON: Final = frozenset({ConditionKind.CIRCUMSTANCE_OF_LIFE, ConditionKind.NOTHING_BY_MOUTH})


class Call(Plain, frozen=True):
    """What a call is about, which its first minute and the whole handover say alike.

    Attributes:
        worst: The most important findings, the first of them the reason of the call.
        lead: The score that stands for now, None where there is none.
        place: Where the patient is, empty when that is not recorded.
        escalation: Whom to call; None when nobody.
        decisions: The recorded decisions in few words.
        ceiling: The same in sentences.
        unassessed: What could not be assessed, in a sentence; empty when the patient was.
        closed: Why nobody is called, in a sentence; empty where somebody may be.
        not_read: What was sent and not read, in a sentence.
        left_out: What else nobody looked at, in sentences.
        danger_unread: What of it may name danger, in a sentence.
        has_unread_signs: Whether vital signs are among it.
        flagged: Warnings that stand on the record, in a sentence; empty without any.
        at_bedside: What to do until somebody comes.
    """

    worst: Sequence[Finding]
    lead: ScoreFinding | None
    place: str
    escalation: Escalation | None
    decisions: tuple[DecisionInShort, ...]
    ceiling: tuple[str, ...]
    unassessed: str
    closed: str
    not_read: tuple[str, ...]
    left_out: tuple[str, ...]
    danger_unread: str
    has_unread_signs: bool
    flagged: str
    at_bedside: str


def spoken_call(bedside: Bedside, call: Call) -> tuple[str, ...]:
    """Return the first minute of a call, the least needed left out where it would be longer.

    Empty where there is nothing to call about.
    """
    worst, lead, escalation, unassessed = call.worst, call.lead, call.escalation, call.unassessed
    if escalation is None and not (unassessed or call.closed or call.danger_unread):
        return ()
    if unassessed and escalation is None and not call.closed and lead is not None and lead.missing:
        worst = [one for one in worst if one is not lead]  # Its open total is in that sentence.
    told = worst[:_WORST]
    found = [_said(bedside, one, lead, told[:place]) for place, one in enumerate(told)]
    given = _given(bedside)
    is_call = escalation is not None and not escalation.is_arrest
    reasons = _some(list(_reasons(bedside, found))) if is_call else []
    # An open total says itself what is not known.
    no_round = unassessed if escalation is not None and (lead is None or not lead.highest_tier) else ""
    limits = f"Recorded: {'; '.join(one.words for one in call.decisions)}."
    asked = _asked(bedside, escalation, unassessed, call.closed)
    while True:
        here = _here(reasons)
        parts = (
            _who(bedside, call.place),
            asked,
            here,
            *found,
            call.danger_unread,
            no_round,
            given,
            limits,
            BLANKS,
        )
        said = tuple(filter(None, parts))
        if len(" ".join(said).split()) <= MOST_WORDS or not (found or given):
            return said
        if reasons:
            reasons.pop()
        elif given and len(found) < _WORST:
            given = ""
        else:
            found = found[:-1]


def _who(bedside: Bedside, place: str) -> str:
    subject = bedside.record.subject
    who = subject.name or "a patient whose name is not recorded"
    age = aged(subject, bedside.local(bedside.as_of))
    sex = f", {subject.sex.value}" if subject.sex in (Sex.FEMALE, Sex.MALE) else ""
    return f"I am calling about {who}, {age}{sex}, {place or 'ward not recorded'}."


def here_for(bedside: Bedside) -> str:
    """Say why the patient is here, as the call does."""
    return _here(_some([(text, False) for text, is_later in _reasons(bedside, ()) if not is_later]))


def _here(reasons: Sequence[tuple[str, bool]]) -> str:
    """Say why the patient is here, and what came since, in a sentence each."""
    parts = (("Here for", False), ("On this stay:", True))
    told = ((head, [text for text, is_later in reasons if is_later is which]) for head, which in parts)
    return " ".join(f"{head} {'; '.join(texts)}." for head, texts in told if texts)


def _some(reasons: Sequence[tuple[str, bool]]) -> list[tuple[str, bool]]:
    """Return as many as there is room for: the newest of each kind, or of the one that there is."""
    first = [one for one in reasons if not one[1]]
    later = [one for one in reasons if one[1]]
    return [first[0], later[0]] if first and later else list(reasons[:_MOST_REASONS])


def _reasons(bedside: Bedside, found: Sequence[str]) -> Iterator[tuple[str, bool]]:
    """Yield the operations and problems of the stay or two weeks, the newest first, that nothing else says.

    Each with whether it came after the stay had begun: nobody is here for that, but for an operation.
    """
    record = bedside.record
    admitted = bedside.admitted_at
    known_by = admitted + KNOWN_AT_FIRST.length if admitted is not None else bedside.as_of
    decisions = {one.origin for one in record.directives}
    lately = [(False, one.until, one.text) for one in record.done(*OPERATIONS)]
    lately += [
        (one.began > known_by, one.began, one.text)
        for one in record.conditions
        if one.active
        and one.confirmed
        and one.began is not None
        and one.kinds.isdisjoint(_NO_REASON)
        and one.origin not in decisions
    ]
    lately += [
        (False, one.starts, one.reason) for one in record.stays if one.in_hospital and one.starts is not None
    ]
    aloud = " ".join(found).casefold()
    since = min(bedside.as_of - _HERE_FOR, known_by - _DAY)
    told = [
        one
        for one in sorted(lately, key=lambda one: one[1:], reverse=True)
        if since <= one[1] <= bedside.as_of and one[2].casefold() not in aloud
    ]
    for which in (False, True):
        newest = [(at, text) for is_later, at, text in told if is_later is which][:_MOST_COMPARED]
        for at, text in _saying_more(newest):
            yield f"{inside_a_sentence(text)}, {bedside.clock.day(at)}", which


def _saying_more(reasons: Sequence[tuple[datetime, str]]) -> Iterator[tuple[datetime, str]]:
    """Leave out what another says too: "asthma exacerbation" beside "acute exacerbation of asthma"."""
    said = [frozenset(_WORD.findall(text.casefold())) - _HOW_PLANNED for _, text in reasons]
    for place, words in enumerate(said):
        if words and words not in said[:place] and not any(words < other for other in said):
            yield reasons[place]


def _asked(bedside: Bedside, escalation: Escalation | None, unassessed: str, closed: str) -> str:
    if escalation is None:
        return closed or unassessed or "This call is not urgent."
    return asked_for(bedside, escalation, escalation.urgency.word.capitalize())


def asked_for(bedside: Bedside, escalation: Escalation, how: str) -> str:
    """Say what is asked of whoever is called, and by when; `how` says what call it is."""
    if escalation.is_arrest:
        return "This is a cardiac arrest call if there are no signs of life."
    what = "look at the drug chart" if escalation.is_for_the_chart else "come"
    return f"{how}: please {what} {deadline(escalation, bedside.clock)}."


def _said(
    bedside: Bedside, finding: Finding, lead: ScoreFinding | None, before: Sequence[Finding] = ()
) -> str:
    """Say a finding in few words with its time; a score with the totals that led to it."""
    if isinstance(finding, ScoreFinding):
        path = course_of(finding, bedside) if finding is lead else ""
        return f"{score_in_brief(finding, with_change=False)}; {path}." if path else f"{finding.brief}."
    if isinstance(finding, MedicineFinding):
        why = reason_behind(finding, before)
        what = f"{finding.if_confirmed or finding.action} {as_charted(finding.medicine)}"
        return f"Drug chart: whether to {what}{_last_given(bedside, finding)}{why}."
    words = words_behind(finding, before)
    if finding.since is None or finding.since == finding.dated or finding.state is State.SETTLING:
        return f"{words}."
    # A sentence of its own: behind a comma "since" would speak of the last word.
    return f"{words}. Since {bedside.clock.spoken(finding.since)}."


def _last_given(bedside: Bedside, finding: MedicineFinding) -> str:
    """Say when the last dose was, by whichever line of the chart: the first thing that is asked back."""
    doses = [
        line.last_dose
        for line in bedside.drug_chart.lines
        if line.last_dose is not None
        and (
            line.order == finding.order or not set(finding.ingredients).isdisjoint(line.medicine.ingredients)
        )
    ]
    if any(one.running for one in doses):
        return ", running"
    newest = max((one.at for one in doses), default=None)
    return f", last given {bedside.clock.spoken(newest)}" if newest is not None else ""


def course_of(score: ScoreFinding, bedside: Bedside) -> str:
    """Say the totals of the last hours in order: 'was 9 at 04:00, 13 at 06:10'; empty without a change.

    And what is true of the whole time since the present urgency began: '7 or more since 20:00'.
    """
    whole = [one for one in score.history if one.total is not None]
    if score.total is None or not whole or score.at is None:
        return ""
    steps = _last_steps([one for one in whole if whole[-1].at - one.at <= _COURSE])
    path = [f"{one.total} at {bedside.clock.spoken(one.at)}" for one in steps[:-1]]
    said = f"was {', '.join(path)}" if path else ""
    since = _held_since(score, whole)
    held = f"{since[0]} or more since {bedside.clock.spoken(since[1])}" if since else ""
    return "; ".join(filter(None, (said, held)))


def _last_steps(whole: Sequence[ScorePoint]) -> list[ScorePoint]:
    """Return the last three different totals one after the other, each when it was last found."""
    steps: list[ScorePoint] = []
    for point in whole:
        if steps and steps[-1].total == point.total:
            steps.pop()
        steps.append(point)
    return steps[-3:]


def _held_since(score: ScoreFinding, whole: Sequence[ScorePoint]) -> tuple[int, datetime] | None:
    """Return the least total since the present urgency began, and when that was."""
    if score.since is None or not score.urgency:
        return None
    totals = [one.total for one in whole if one.at >= score.since and one.total is not None]
    return (min(totals), score.since) if len(totals) > 1 else None


def _given(bedside: Bedside) -> str:
    oldest = bedside.as_of - _GIVEN_WITHIN
    given = [one for one in bedside.record.administrations if oldest <= one.at <= bedside.as_of]
    given.sort(key=lambda one: one.at, reverse=True)
    named: dict[str, str] = {}
    for one in given:
        name = as_charted(one.medicine.text) or " with ".join(one.medicine.ingredients)
        named.setdefault(name, bedside.clock.spoken(one.at))
    said = [f"{name} {at}" for name, at in list(named.items())[:_MOST_GIVEN]]
    return f"Given: {', '.join(said)}." if said else ""
