"""What the free words of a plan decide: resuscitation, ceilings, oxygen, end of life.

Teams write decisions as sentences. A clause counts only when it states a decision; one
that discusses, revokes or asks is reported as undecided, because a plan that is read
into a discussion is as wrong as a plan that is overlooked. When in doubt nothing is
recorded and the doubt is said: no record means unknown, never "for everything".
Nothing here is inferred from a diagnosis or an age.
"""

import re
from dataclasses import dataclass
from decimal import Decimal

from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.plain import Plain
from weatherglass.model.record.care import DirectiveKind, Resuscitation
from weatherglass.model.remembered import remembered

#: A saturation target lies between these limits; outside them a range is something else. Ours.
LOWEST_TARGET, HIGHEST_TARGET = Decimal(70), Decimal(100)


class Said(Plain, frozen=True, kw_only=True):
    """One decision found in words."""

    kind: DirectiveKind
    text: str = ""
    resuscitation: Resuscitation | None = None
    target_low: Decimal | None = None
    target_high: Decimal | None = None
    spo2_scale: int | None = None
    wants_support: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What a text says, and whether part of it touches a decision without making one."""

    said: tuple[Said, ...] = ()
    undecided: bool = False

    @property
    def touches(self) -> bool:
        """Tell whether the text is about such decisions at all."""
        return bool(self.said) or self.undecided


_WORDS = word_patterns("plan-patterns.toml")
_NOT_FOR_CPR = _WORDS["not-for-cpr"]
_LISTED_WITH_CPR = _WORDS["listed-with-cpr"]
_FOR_CPR = _WORDS["for-cpr"]
_TODAY = _WORDS["today"]
_CEILING = _WORDS["ceiling"]
_NAMED_CEILING = _WORDS["named-ceiling"]
_FULL_TREATMENT = _WORDS["full-treatment"]
_STILL_FOR = _WORDS["still-for"]
_ASKS_FOR_CEILING = _WORDS["asks-for-ceiling"]
_OF_AN_ILLNESS = _WORDS["of-an-illness"]
_NOTHING_ELSE_SAID = _WORDS["nothing-else-said"]
_IN_PART = _WORDS["in-part"]
_MENTIONED = (_NOT_FOR_CPR, _FOR_CPR, _ASKS_FOR_CEILING, _OF_AN_ILLNESS, _IN_PART)
_END_OF_LIFE = _WORDS["end-of-life"]
_NAMES_A_PLAN = _WORDS["names-a-plan"]
_NOT_IN_FORCE = _WORDS["not-in-force"]
_OF_THE_FORM = _WORDS["of-the-form"]
_NOT_STATED = _WORDS["not-stated"]
_TOLD = _WORDS["told"]
_CLAUSE = _WORDS["clause"]
_SENTENCE = _WORDS["sentence"]
#: Characters looked at before and after a word for one that undoes it; longer than any such phrase.
_NEAR = 40
_UNDONE_BEFORE = _WORDS["undone-before"]
_UNDONE_AFTER = _WORDS["undone-after"]
_NOT_BEFORE = _WORDS["not-before"]
_NEGATED = _WORDS["negated"]

_RANGE = _WORDS["range"]
_SATURATION = _WORDS["saturation"]
_TARGET = _WORDS["target"]
_OTHER_SIGN = _WORDS["other-sign"]
_OTHER_UNIT = _WORDS["other-unit"]
_RANGE_DENIED = _WORDS["range-denied"]
_SCALE = _WORDS["scale"]
_NO_BLOOD = _WORDS["no-blood"]
_NO_ANTIBIOTICS = _WORDS["no-antibiotics"]
_NO_SUPPORT = _WORDS["no-support"]
_NO_OBSERVATIONS = _WORDS["no-observations"]
_ASK_ABOUT_BLOOD = _WORDS["ask-about-blood"]
_ASKED_OF_BLOOD = " (ask what is refused)"


def not_read_in(text: str) -> str:
    """Return the sentences of a plan that state no decision which is read, in the team's words.

    Examples:
        >>> not_read_in("DNACPR. No drip, no feeding tube. For NIV; not for intubation.")
        'No drip, no feeding tube; For NIV'
    """
    parts = (" ".join(part.split()) for part in _SENTENCE.split(text))
    told = "; ".join(one.text for one in read_words(text).said if one.kind is DirectiveKind.CEILING)
    return "; ".join(
        part
        for part in parts
        if part and part not in told and not (_OF_THE_FORM.match(part.casefold()) or read_words(part).said)
    )


@remembered(1024)
def names_a_plan(name: str) -> bool:
    """Tell whether a name is that of a form or a field for decisions, or decides by itself.

    Examples:
        >>> names_a_plan("Treatment Escalation Plan"), names_a_plan("Not for CPR")
        (True, True)
        >>> names_a_plan("Care plan"), names_a_plan("Resuscitation fluid given")
        (False, False)
    """
    said = " ".join(name.casefold().split())
    return any(pattern.search(said) for pattern in (_NAMES_A_PLAN, *_MENTIONED, _CEILING, _END_OF_LIFE))


def read_words(text: str, *, about_oxygen: bool = False, is_target: bool = False) -> Reading:
    """Read the decisions a text states.

    Args:
        text: The words as written.
        about_oxygen: True when the resource is about oxygen, so that the word may be missing.
        is_target: True when the resource is about what is aimed at, so that a saturation
            range in it is a target and not a reading.

    Examples:
        >>> [s.resuscitation.name for s in read_words("DNACPR in place").said]
        ['NOT_FOR']
        >>> read_words("DNACPR to be discussed with family")
        Reading(said=(), undecided=True)
        >>> [s.kind.name for s in read_words("Ward-based care, not for ICU").said]
        ['CEILING']
    """
    found: list[Said] = []
    allowed: list[str] = []
    undecided = False
    for part in _SENTENCE.split(text):
        written = " ".join(part.split())
        said = written.casefold().replace("\u2019", "'")
        if not said:
            continue
        oxygen = about_oxygen or _SATURATION.search(said) is not None
        target = oxygen and (is_target or about_oxygen or _TARGET.search(said) is not None)
        here = _in_sentence(written, _TOLD.sub(" ", said), target=target)
        found.extend(one for one in here.said if one not in found)
        if _STILL_FOR.match(said):
            allowed.append(written)
        undecided = undecided or here.undecided
    found = _one_ceiling(found, allowed)
    targets = {(s.target_low, s.target_high) for s in found if s.kind is DirectiveKind.OXYGEN_TARGET}
    if len(targets) > 1:
        # "88-92, then 94-98" leaves open which of them holds now.
        kept = tuple(s for s in found if s.kind is not DirectiveKind.OXYGEN_TARGET)
        return Reading(said=kept, undecided=True)
    return Reading(said=tuple(found), undecided=undecided)


def _one_ceiling(found: list[Said], allowed: list[str]) -> list[Said]:
    """Keep the sentences of one ceiling together, in the team's words, with what it leaves behind them."""
    texts = [one.text for one in found if one.kind is DirectiveKind.CEILING]
    if not texts or len(texts) + len(allowed) < 2:
        return found
    others = [one for one in found if one.kind is not DirectiveKind.CEILING and one.text not in allowed]
    return [Said(kind=DirectiveKind.CEILING, text="; ".join((*texts, *allowed))), *others]


def _in_sentence(written: str, said: str, *, target: bool) -> Reading:
    stopped = _NO_OBSERVATIONS.search(said)
    if stopped and not _NOT_IN_FORCE.search(rest := _NO_OBSERVATIONS.sub(" ", said)) and "?" not in said:
        beside = _in_sentence(written, rest, target=target)
        ended = Said(kind=DirectiveKind.NO_OBSERVATIONS, text=written)
        return Reading(said=(ended, *beside.said), undecided=beside.undecided)
    clauses = [clause for piece in _CLAUSE.split(said) if (clause := " ".join(piece.split()))]
    read = [_in_clause(written, clause, target=target) for clause in clauses]
    found = list(dict.fromkeys(one for reading in read for one in reading.said))
    if _LISTED_WITH_CPR.search(said) and not any(one.resuscitation for one in found):
        found.append(Said(kind=DirectiveKind.RESUSCITATION, resuscitation=Resuscitation.NOT_FOR))
    if any(one.text == written and one.kind is DirectiveKind.ADVANCE_DIRECTIVE for one in found):
        # "Jehovah's Witness, refuses blood products": the sentence says what is refused.
        found = [one for one in found if one.text != written + _ASKED_OF_BLOOD]
    undecided = any(reading.undecided for reading in read)
    if (found or undecided) and _NOT_IN_FORCE.search(said):
        return Reading(undecided=True)
    if any(one.kind is DirectiveKind.CEILING for one in found):
        # A sentence that limits treatment is not "full treatment" in one of its clauses.
        found = [one for one in found if one.kind is not DirectiveKind.FULL_TREATMENT]
    return Reading(said=tuple(found), undecided=undecided)


def _in_clause(written: str, said: str, *, target: bool) -> Reading:
    found = [
        *(Said(kind=DirectiveKind.RESUSCITATION, resuscitation=one) for one in _resuscitation(said)),
        *_limits(written, said),
        *_oxygen(said, target=target),
    ]
    ending = _END_OF_LIFE.search(said)
    if ending and not _NEGATED.search(said[: ending.start()]):
        found.append(Said(kind=DirectiveKind.END_OF_LIFE, text=written))
    refused = _refused(written, said)
    if refused:
        # A refusal stands beside its own "if" and "declines": "even if life is at risk".
        return Reading(said=(*found, *refused)) if "?" not in said else Reading(undecided=True)
    if not found:
        return Reading(undecided=any(pattern.search(said) for pattern in _MENTIONED))
    if "?" in said or _NOT_STATED.search(said):
        return Reading(undecided=True)
    if _TODAY.search(said) and any(one.kind is DirectiveKind.CEILING for one in found):
        # "Not for ICU at present": who said so is to be asked again, and limits nobody.
        return Reading(
            said=tuple(one for one in found if one.kind is not DirectiveKind.CEILING), undecided=True
        )
    return Reading(said=tuple(found))


def _refused(written: str, said: str) -> list[Said]:
    for pattern, ask in (
        (_NO_BLOOD, ""),
        (_NO_ANTIBIOTICS, ""),
        (_NO_SUPPORT, ""),
        (_ASK_ABOUT_BLOOD, _ASKED_OF_BLOOD),
    ):
        match = pattern.search(said)
        if match and not _NEGATED.search(said[: match.start()]):
            return [Said(kind=DirectiveKind.ADVANCE_DIRECTIVE, text=written + ask)]
    return []


def _limits(written: str, said: str) -> list[Said]:
    full = any(not _NOT_BEFORE.search(_just_before(said, m)) for m in _FULL_TREATMENT.finditer(said))
    if (
        _CEILING.search(said)
        or _NOTHING_ELSE_SAID.search(written.casefold())
        or (_NAMED_CEILING.search(said) and not full)
    ):
        return [Said(kind=DirectiveKind.CEILING, text=written)]
    return [Said(kind=DirectiveKind.FULL_TREATMENT, text=written)] if full else []


def _resuscitation(said: str) -> list[Resuscitation]:
    found: list[Resuscitation] = []
    for match in _NOT_FOR_CPR.finditer(said):
        after = said[match.end() : match.end() + _NEAR]
        if not (_UNDONE_BEFORE.search(_just_before(said, match)) or _UNDONE_AFTER.match(after)):
            found.append(Resuscitation.NOT_FOR)
    rest = _NOT_FOR_CPR.sub(lambda match: "." * len(match[0]), said)
    found.extend(
        Resuscitation.FOR
        for match in _FOR_CPR.finditer(rest)
        if not _UNDONE_BEFORE.search(_just_before(rest, match))
    )
    return list(dict.fromkeys(found))


def _just_before(said: str, match: re.Match[str]) -> str:
    """Return the few words before a match, which is where a word that undoes it stands."""
    return said[max(0, match.start() - _NEAR) : match.start()]


def _names_another_sign(said: str, start: int) -> bool:
    """Tell whether another vital sign is named between the last number and a range."""
    since = start
    while since and not said[since - 1].isdecimal():
        since -= 1
    return _OTHER_SIGN.search(said, since, start) is not None


def _oxygen(said: str, *, target: bool) -> list[Said]:
    found: list[Said] = []
    for match in _RANGE.finditer(said) if target else ():
        low, high = Decimal(match.group(1)), Decimal(match.group(2))
        after = said[match.end() : match.end() + _NEAR]
        if not LOWEST_TARGET <= low < high <= HIGHEST_TARGET or _OTHER_UNIT.match(after):
            continue
        if _names_another_sign(said, match.start()):
            continue
        if not _RANGE_DENIED.search(_just_before(said, match)):
            found.append(Said(kind=DirectiveKind.OXYGEN_TARGET, target_low=low, target_high=high))
    scale = _SCALE.search(said)
    if scale and (_SATURATION.search(said) or "news" in said) and not _NEGATED.search(said):
        number = 2 if scale.group(1) in ("2", "two") else 1
        found.append(Said(kind=DirectiveKind.SPO2_SCALE, spo2_scale=number))
    return found
