"""Resuscitation status and treatment ceilings: what is recorded, by whom, when, and conflicts.

A ceiling re-words the response; it never hides a score or a finding. No record means
unknown, not "for full treatment". A decision about resuscitation says nothing about
any other treatment.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta

from weatherglass.facts.bedside import Bedside
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.record.care import Directive, DirectiveKind, Resuscitation
from weatherglass.model.record.medicines import Route
from weatherglass.model.review import DecisionInShort, DecisionShape
from weatherglass.model.words.lists import listed

#: Ours: an older decision wants to be confirmed before it is acted on.
_OLD = timedelta(days=183)
#: Ours: said first, and nothing is hidden: the entry may be on the wrong record.
DECEASED = "Recorded as having died: check the record before anybody is called."
#: Ours: longer words of a limit stand in the sentences only.
_IN_SHORT = 80
_LIMITING = (DirectiveKind.CEILING, DirectiveKind.END_OF_LIFE)
_CONFLICT = "Records of limits and of full treatment conflict: ask the team which holds."
_CONFLICT_IN_SHORT = DecisionInShort("limits: records conflict, ask the team", DecisionShape.CONFLICT)
#: Common practice, no source: together under the skin for a day they are for the comfort of the dying.
_OF_LAST_DAYS = (MedicineClass.OPIOID, MedicineClass.BENZODIAZEPINE)
_WORDS = word_patterns("record-patterns.toml")
_WISH = _WORDS["wish"]
NOT_RECORDED = "Resuscitation status and treatment ceiling: not recorded, so not known."


def recorded_limits(bedside: Bedside) -> tuple[str, ...]:
    """Return what is recorded, most binding first; empty when nothing is, and the chart asks nothing."""
    if bedside.has_died:
        return (DECEASED, *_merged(bedside), *_decided(bedside))
    merged = tuple(_merged(bedside))
    decided = tuple(_decided(bedside)) or tuple(_asked_by_the_chart(bedside))
    # A doubt about whose entry this is, is no decision.
    return (*merged, *(decided or (merged and (NOT_RECORDED,))))


def _decided(bedside: Bedside) -> Iterator[str]:
    yield from _resuscitation(bedside)
    if _conflicts(bedside):
        yield _CONFLICT
    yield from _stated(bedside, DirectiveKind.CEILING, "Recorded treatment ceiling")
    yield from _stated(bedside, DirectiveKind.END_OF_LIFE, "Recorded end-of-life care")
    yield from _stated(bedside, DirectiveKind.FULL_TREATMENT, "Recorded")
    yield from _stated(bedside, DirectiveKind.ADVANCE_DIRECTIVE, "Recorded advance directive")
    yield from _stated(bedside, DirectiveKind.NO_OBSERVATIONS, "Recorded")
    yield from _unread(bedside)


def _asked_by_the_chart(bedside: Bedside) -> Iterator[str]:
    """Ask what a syringe driver of an opioid and a sedative is for, where no decision says so."""
    driven = [line for line in bedside.drug_chart.perhaps_running if line.route is Route.SUBCUTANEOUS]
    of_each = [
        next((line.medicine.text for line in driven if kind in line.classes), "") for kind in _OF_LAST_DAYS
    ]
    if all(of_each):
        yield (
            f"{NOT_RECORDED} {listed(of_each)} in a syringe driver: ask the team at once whether care in the "
            "last days is meant."
        )


def _unread(bedside: Bedside) -> Iterator[str]:
    """Name what was sent as a decision and says none that can be read; it is not "not recorded"."""
    for directive in bedside.directives(DirectiveKind.UNREAD):
        named = directive.text.rstrip(". ") or "a decision about treatment"
        yield f"Sent and not read as a decision: {named} ({_told(bedside, directive)}); ask the team."


def _merged(bedside: Bedside) -> Iterator[str]:
    """Say that part of this person's record may stand under another entry."""
    subject = bedside.record.subject
    if subject.doubtful:
        yield "Two patients may be mixed here (birth date, sex or number differ): check who this is about."
    if subject.replaced_by:
        yield f"This entry is recorded as replaced by {subject.replaced_by}; reviewed apart from it."
    elif subject.inactive:
        yield "This patient's entry is recorded as no longer in use: check that it is the right one."


def _is_wish(directive: Directive) -> bool:
    """Tell whether a limit is told as what the patient wants, which is asked about and no team has set."""
    return directive.kind is DirectiveKind.CEILING and _WISH.search(directive.text.casefold()) is not None


def is_wish_alone(bedside: Bedside) -> bool:
    """Tell whether nothing limits treatment but wishes."""
    return not bedside.directives(DirectiveKind.END_OF_LIFE) and all(
        map(_is_wish, bedside.directives(DirectiveKind.CEILING))
    )


def has_ceiling(bedside: Bedside) -> bool:
    """Tell whether any recorded decision limits treatment; one about resuscitation does not."""
    return any(map(bedside.directives, _LIMITING))


def _conflicts(bedside: Bedside) -> bool:
    """Tell whether a limit and full treatment are both recorded: which holds is for the team to say.

    Care in the last days and an attempt at resuscitation do not go together either.
    """
    if is_end_of_life(bedside) and any(
        one.resuscitation is Resuscitation.FOR for one in bedside.directives(DirectiveKind.RESUSCITATION)
    ):
        return True
    return has_ceiling(bedside) and bool(bedside.directives(DirectiveKind.FULL_TREATMENT))


def is_not_for_resuscitation(bedside: Bedside) -> bool:
    """Tell whether a refusal of resuscitation is recorded, also where another record conflicts with it."""
    return any(
        d.resuscitation is Resuscitation.NOT_FOR for d in bedside.directives(DirectiveKind.RESUSCITATION)
    )


def observations_are_stopped(bedside: Bedside) -> bool:
    """Tell whether a recorded decision ends the rounds of observations: none is then late or asked for."""
    return bool(bedside.directives(DirectiveKind.NO_OBSERVATIONS))


def is_end_of_life(bedside: Bedside) -> bool:
    """Tell whether end-of-life care is recorded: scores are then for information."""
    return bool(bedside.directives(DirectiveKind.END_OF_LIFE))


def decisions_in_short(bedside: Bedside) -> tuple[DecisionInShort, ...]:
    """Return the recorded decisions in few words, for where only few fit; the sentences say the rest."""
    died = DecisionInShort("recorded as having died", DecisionShape.LIMIT)
    # One entry may be both a ceiling and the plan for the last days: it is said once.
    limits = (
        *_limits_in_short(bedside, DirectiveKind.CEILING),
        *_limits_in_short(bedside, DirectiveKind.END_OF_LIFE),
        *_limits_in_short(bedside, DirectiveKind.ADVANCE_DIRECTIVE),
        *_limits_in_short(bedside, DirectiveKind.NO_OBSERVATIONS),
    )
    return (
        *((died,) if bedside.has_died else ()),
        _resuscitation_in_short(bedside),
        *((_CONFLICT_IN_SHORT,) if _conflicts(bedside) else ()),
        *dict.fromkeys(limits),
    )


def _resuscitation_in_short(bedside: Bedside) -> DecisionInShort:
    found = {d.resuscitation for d in bedside.directives(DirectiveKind.RESUSCITATION)} - {None}
    if len(found) > 1:
        return DecisionInShort("DNACPR: records conflict, ask the team", DecisionShape.CONFLICT, True)
    if Resuscitation.NOT_FOR in found:
        return DecisionInShort("DNACPR: NOT for resuscitation", DecisionShape.NOT_FOR, True)
    if found:
        return DecisionInShort("for resuscitation", DecisionShape.FOR, True)
    known = "not read" if bedside.directives(DirectiveKind.UNREAD) else "not recorded"
    return DecisionInShort(f"resuscitation {known}, ask the team", DecisionShape.UNKNOWN, True)


def _limits_in_short(bedside: Bedside, kind: DirectiveKind) -> Iterator[DecisionInShort]:
    """Name a limit by its content; by its kind where that is not recorded or too long for few words."""
    texts = dict.fromkeys(d.text.rstrip(". ") for d in bedside.directives(kind))
    named = [text for text in texts if 0 < len(text) <= _IN_SHORT]
    if texts and not named:
        named = [kind.value]
    for words in named:
        yield DecisionInShort(words, DecisionShape.LIMIT)


def _resuscitation(bedside: Bedside) -> Iterator[str]:
    decisions = [d for d in bedside.directives(DirectiveKind.RESUSCITATION) if d.resuscitation is not None]
    if not decisions:
        return
    if len({d.resuscitation for d in decisions}) > 1:
        both = "; ".join(dict.fromkeys(f"{_status(d)} ({_told(bedside, d)})" for d in decisions))
        yield f"Conflicting resuscitation records, ask the team: {both}."
        return
    newest = decisions[0]
    note = ""
    others = (*_LIMITING, DirectiveKind.ADVANCE_DIRECTIVE, DirectiveKind.UNREAD)
    if newest.resuscitation is Resuscitation.NOT_FOR and not any(map(bedside.directives, others)):
        note = " This is not a decision about any other treatment."
    yield f"Recorded: {_status(newest)} ({_told(bedside, newest)}).{note}"


def _status(directive: Directive) -> str:
    return directive.resuscitation.value if directive.resuscitation is not None else ""


#: One entry may be several decisions; it is said once, as the weightiest of them.
_SAID_WITH = {
    DirectiveKind.CEILING: (DirectiveKind.END_OF_LIFE,),
    DirectiveKind.NO_OBSERVATIONS: (
        DirectiveKind.END_OF_LIFE,
        DirectiveKind.CEILING,
        DirectiveKind.ADVANCE_DIRECTIVE,
    ),
}


def _stated(bedside: Bedside, kind: DirectiveKind, words: str) -> Iterator[str]:
    said_apart = _SAID_WITH.get(kind, ())
    said = {(one.origin, one.text) for each in said_apart for one in bedside.directives(each)}
    for directive in bedside.directives(kind):
        if (directive.origin, directive.text) in said:
            continue
        text = directive.text.rstrip(".") or kind.value
        label = "Recorded wish" if _is_wish(directive) else words
        yield f"{label}: {text} ({_told(bedside, directive)})."


def _told(bedside: Bedside, directive: Directive) -> str:
    parts = [_dated(bedside, directive)]
    if directive.recorded_by:
        parts.append(f"by {directive.recorded_by}")
    if directive.at is not None and bedside.as_of - directive.at > _OLD:
        parts.append("more than 6 months old, confirm")
    elif _is_from_before(bedside, directive.at):
        parts.append("from before this admission, confirm")
    return ", ".join(parts)


def _dated(bedside: Bedside, directive: Directive) -> str:
    recorded = directive.at or directive.roughly
    return bedside.clock.full(recorded) if recorded is not None else "date not recorded"


def _is_from_before(bedside: Bedside, at: datetime | None) -> bool:
    admitted = bedside.admitted_at
    return at is not None and admitted is not None and at < admitted - timedelta(days=1)
