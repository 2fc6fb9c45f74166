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

from weatherglass.fhir.reading.plans.refusal_words import (
    ASK_ABOUT_BLOOD,
    ASKED_OF_BLOOD,
    NO_ANTIBIOTICS,
    NO_BLOOD,
    NO_OBSERVATIONS,
    NO_SUPPORT,
    phrases,
)
from weatherglass.model.patterns import when_asked
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


_CPR = r"(?:attempted |attempting )?(?:cpr|(?:cardio-?pulmonary )?resus(?:citation|citate)?)"
_NOT_FOR_CPR = phrases(
    r"dna-?cpr|dnar|dnr|no[- ]code|allow(?: a)? natural death",
    rf"(?:do not|don't) (?:attempt (?:a )?)?{_CPR}",
    rf"(?:not|isn't) (?:to be )?for (?:a )?{_CPR}",
    rf"no (?:attempt at )?{_CPR}",
    # "Not for ICU or CPR".
    rf"(?:not|isn't) for (?:[\w-]{{1,20}}(?: [\w-]{{1,20}})?(?: or | nor | and |/)){{1,3}}{_CPR}",
    rf"{_CPR}(?: status| decision)?\s*[:=]?\s*(?:no|not for)",
    r"not to be resuscitated",
)
#: "Not for intubation, ventilation or CPR": what follows a comma is a clause of its own elsewhere.
_ITEM = r"(?!for )[\w-]{1,20}(?: (?!for )[\w-]{1,20}){0,2}"
_LISTED_WITH_CPR = when_asked(
    rf"\b(?:not|isn't) for (?:{_ITEM}, ?){{1,4}}(?:{_ITEM},? )?(?:or|nor) {_CPR}\b(?!\?)"
)
_FOR_CPR = phrases(
    rf"(?<!not )(?<!not to be )for (?:full |active )?{_CPR}",
    rf"(?<!not )for (?:full|all)(?: active)? (?:treatments?|escalation) (?:including|with|and) {_CPR}",
    rf"yes,? {_CPR}|full[ -]code|attempt (?:full )?{_CPR}",
    rf"{_CPR}(?: status| decision)?\s*[:=]\s*(?:yes|for)",
)
_ESCALATED_CARE = (
    r"icu|itu|hdu|ccu|picu|nicu|paediatric (?:intensive|critical) care|critical care|intensive care|intensive therapy|high[ -]dependency|"
    r"level (?:2|3|two|three)|intubation|(?:invasive |mechanical )?ventilation|organ support|"
    r"niv|cpap|bipap|hfno|hfnc|high[ -]flow(?: oxygen)?|non-?invasive ventilation|life support|(?:ha?emo|peritoneal )?dialysis|rrt|renal replacement(?: therapy)?|"
    r"ha?emofiltration|inotropes?|vasopressors?|(?:further )?escalation|met calls?|"
    r"(?:re-?)?admission to hospital|hospital (?:re-?)?admission|transfer to hospital"
)
_TO_GO_TO = r"(?:to )?(?:go to|have|be (?:(?:admitted|taken|moved|transferred|sent) to)?)"
#: Said of today, and no decision.
_TODAY = phrases(r"at present|currently|at the moment|for now|right now|for the time being|today|tonight|yet")
_FOR_NOW = r"(?:required|needed|planned|indicated|currently|today|at present|yet)"
_FIT = r"(?:a candidate|suitable|appropriate|fit|eligible|accepted)"
_CEILING = phrases(
    rf"(?:(?:not|isn't) (?:{_FIT} )?|inappropriate |unsuitable )for "
    rf"(?:admission to |transfer to |referral to )?(?:{_ESCALATED_CARE})(?![ -](?:step|discharge|follow))",
    rf"(?:{_ESCALATED_CARE}) (?:care |admission )?(?:is |would be |was )?(?:felt |thought |deemed )?"
    r"(?:to be )?(?:not appropriate|not suitable|inappropriate|unsuitable|futile)"
    rf"(?! {_FOR_NOW})",
    rf"(?:would|will|does|do) not (?:benefit from|want|like|wish(?: for)?)(?: {_TO_GO_TO})? (?:{_ESCALATED_CARE})",
    rf"(?:wish(?:es)?|prefers?|wants?|likes?|rather|asks?|asked) not (?:{_TO_GO_TO} )?(?:{_ESCALATED_CARE})",
    r"(?:not|isn't) for (?:a )?(?:crash(?! diet)|2222|outreach|critical care outreach|rapid response)(?: calls?)?",
    r"(?:(?:not|isn't) for (?:any |further |more )*|no further )active treatments?(?! (?:of|for)\b)",
    r"active treatments? (?:withdrawn|stopped|discontinued)|withdraw(?:al of)? active treatments?",
    r"no life[- ](?:prolonging|sustaining|extending) (?:treatments?|measures)|limited (?:medical )?interventions?",
    r"treat(?:ment of)? (?:the )?reversible(?: causes)? only|(?:for|best) supportive (?:care|treatment)(?: only)?",
    r"hdu (?:max|maximum)|full ward(?:[- ]based)? care",
    rf"no (?:admission to |transfer to )?(?:{_ESCALATED_CARE})"
    rf"(?! {_FOR_NOW})",
    rf"(?:not|isn't) for {_CPR}(?:,| or| nor| and|/) ?(?:{_ESCALATED_CARE})",
    # "For ward care, not ICU": the clause begins with what is left out.
    rf"^not (?:{_ESCALATED_CARE})(?! {_FOR_NOW})",
    r"(?:not|isn't) for (?:any |further |more )*(?:iv |intravenous |oral )?anti(?:biotics?|microbials?)",
    r"ward[- ](?:based|level)(?: (?:care|ceiling|treatment|management))?|ward (?:care )?(?:ceiling|only)",
    r"(?:ward|niv|cpap|bipap|hfno|hfnc|high[- ]flow(?: oxygen)?|hdu|high[ -]dependency|"
    r"level (?:1|2|one|two)|oral antibiotics|iv antibiotics|ward[- ]based care)(?: care)? "
    r"(?:is |as |= ?)?(?:the |a )?(?:ceiling|only)",
    r"(?:maximum|max|up to|limited to) (?:of )?(?:ward|niv|cpap|hdu|level (?:1|2))"
    r"(?:[ -](?:level|based) care)?",
    r"dni|do not (?:intubate|ventilate|escalate|transfer)",
    r"comfort (?:(?:care|measures)(?: only)?|only)|comfort[- ]focused(?: care| treatments?)?|selective treatments?",
    r"symptom(?:atic)? (?:control|care) only",
)
#: "Ceiling of care: ..." names the question; what follows is the answer, whatever it is.
_NAMED_CEILING = phrases(
    r"(?:(?:ceiling|limits?) of (?:care|treatment|therapy|escalation)|treatment ceiling)"
    r"(?:(?: is| at|\s*[:=-])\s*(?:is |at )?\w+| (?:niv|cpap|bipap|hfno|high[- ]flow|ward|hdu|level (?:1|2))\b)"
)
_FULL_TREATMENT = phrases(
    r"for (?:full|all)(?: other)?(?: active)? (?:escalation|treatments?|active treatment|organ support)",
    r"full escalation|full (?:active )?treatments?",
    r"no (?:treatment )?ceiling(?: of (?:care|treatment|escalation))?",
    r"no limits? (?:of|on|to) (?:care|treatment)",
    r"for (?:icu|itu|critical care|intensive care|level 3)(?: admission| care)?(?=\s*$)",
)
#: What a ceiling leaves: part of it in the team's words, and by itself no decision.
_STILL_FOR = when_asked(
    r"^(?:(?:still|is|remains) )?for (?:(?:all|other|active|iv|oral|intravenous|and|or|treatments?|"
    r"antibiotics?|fluids?|oxygen|blood|products?|transfusions?)(?:, ?| |$))+$"
)
_ASKS_FOR_CEILING = phrases(r"ceilings? of (?:care|treatment|therapy|escalation)|treatment ceiling")
#: A ceiling for one, and for another how an illness is treated ("viral, supportive care only").
_OF_AN_ILLNESS = phrases(r"supportive (?:care|treatment) only", r"no further active treatments?")
_NOTHING_ELSE_SAID = when_asked(r"^supportive (?:care|treatment) only$")
#: Part of a resuscitation, and no decision on the whole: "airway and bagging, no compressions".
_IN_PART = phrases(
    r"(?:chest |cardiac )?compressions", r"bag(?:ging)?[ -](?:and[ -])?(?:valve[ -])?mask(?: only)?"
)
_MENTIONED = (_NOT_FOR_CPR, _FOR_CPR, _ASKS_FOR_CEILING, _OF_AN_ILLNESS, _IN_PART)
_END_OF_LIFE = phrases(
    r"comfort (?:(?:care|measures) )?only|symptom(?:atic)? (?:control|care) only",
    r"end[- ]of[- ]life|last (?:days|hours)(?: or (?:days|hours))? of life|dying phase",
    r"(?:actively|imminently) dying|care of (?:the )?dying|dying (?:person|patient|care)|terminal (?:care|phase)",
    r"^(?:(?:now|is|patient is|thought to be|recogni[sz]ed as|felt to be) )*dying(?=\s*(?:$|[:;-]))|^(?:for )?tlc(?: only)?$|eolc?(?: care)?(?! (?:discussion|planning))",
    r"sterbephase|terminalphase|sterbend\w*",  # As German problem lists have it.
    r"expected to die|prognosis (?:of |is |likely )?(?:hours|short hours)(?: to (?:short )?days)?",
    r"re-?(?:orient|direct)(?:ed|ion|ation|ated)? of (?:care|treatment)",
)
#: What a form or a field is called that asks for such a decision; the answer stands beside it. Ours.
_NAMES_A_PLAN = phrases(
    rf"(?:{_CPR}|code) (?:status|decision|order|plan|form|recommendation)|dna-?cpr|dnar|^resus$",
    r"(?:(?:treatment|emergency) )?escalation (?:plan|decision|form)|tep(?: form)?",
    r"emergency care (?:and treatment )?plan|respect (?:form|plan)|treatment limitations?",
    r"(?:ceilings?|limit(?:ation)?s?) of (?:care|treatment|therapy|escalation)|treatment (?:ceiling|limits?)",
    r"advance (?:care plan|decision|directive|statement)|living will|lasting power of attorney",
)
#: Taken back or still to come: holds for the whole sentence.
_NOT_IN_FORCE = phrases(
    r"to be (?:discussed|decided|confirmed|considered|addressed|completed|agreed|signed)",
    r"(?:for|needs?|awaiting|awaits|requires?|pending) (?:a |further )?"
    r"(?:discussion|decision|family|agreement)",
    r"(?:discussion|decision)s? (?:pending|needed|required|ongoing)|pending$|tbc|under review",
    r"not (?:yet )?(?:in place|decided|completed|applicable|recorded|discussed|documented)",
    r"not (?:yet )?(?:agreed|signed|valid)",
    r"revoked|revokes|rescind(?:ed|s)|withdrawn|cancel(?:led|ed)|suspended|lifted|superseded|void|expired",
    r"no longer|reversed|overturned",
)
#: Who wrote it, and who was told: no part of what was decided.
_OF_THE_FORM = when_asked(
    r"(?:dr|mr|mrs|ms|consultant|registrar|nok|next of kin|family|relatives|patient)\b(?:[^.]*\b(?:aware|informed|told|agrees?)\b|[^ ]* \w+$)"
    r"|(?:fully |all )?(?:discussed|agreed|reviewed|completed|signed|updated|review due|date)\b"
)
#: Talk about a decision: holds for its own clause.
_NOT_STATED = phrases(
    r"discuss(?:ion|ed|ions|ing)?|to (?:decide|confirm|consider|address)|consider(?:ing|ed)?|query",
    r"declin(?:es|ed)|previous(?:ly)?|former(?:ly)?|unknown|if|unless|family history|history of",
    r"mother|father|husband|wife|stopped|discontinued|possible|possibly",
)
#: "DNACPR (discussed with the family)" reports who was told; the decision stands before it.
_TOLD = when_asked(
    r"[,(;\u2013\u2014-]\s*(?:this was |was |and )?(?:fully )?(?:discussed|agreed) with\b[^.;)]*\)?"
)
_CLAUSE = when_asked(r"[,()]|\bbut\b|\bhowever\b|(?<=\D) [-\u2013\u2014] | [-\u2013\u2014] (?=\D)")
_SENTENCE = when_asked(r"(?<![.;])[.;]++(?=\s|$)|\n")
#: Characters looked at before and after a word for one that undoes it; longer than any such phrase.
_NEAR = 40
#: The word that undoes what follows it ("no DNACPR", "without DNACPR", "not DNR").
_UNDONE_BEFORE = when_asked(r"\b(?:no|not|without|isn't|nil)(?: for)?(?: a| an| any| current| valid| on)? $")
_UNDONE_AFTER = when_asked(
    r"^(?: (?:order|form|decision|status))?(?: in place)?\s*[:=-]?\s*(?:no|none|nil|not|false|absent)\b"
)
_NOT_BEFORE = when_asked(
    rf"\b(?:(?:not|isn't)(?: currently| yet)?(?: {_FIT}| indicated)?|inappropriate|unsuitable) $"
)
_NEGATED = when_asked(r"\b(?:no|not|never|isn't)\b")

_RANGE = when_asked(r"(?<![\d.])(\d{2,3})\s*%?\s*(?:[-\u2010-\u2014]|to|and)\s*(\d{2,3})(?![\d.])\s*%?")
_SATURATION = when_asked(r"\b(?:spo2|sao2|sp02|o2|oxygen|sats?|saturations?)\b|spo\u2082|o\u2082")
_TARGET = phrases(
    r"targets?|targeting|aims?|aiming|goals?|maintain(?:ed)?|keep|titrat(?:e|ed|ing)|prescri(?:be|bed|ption)",
    r"range|alert|scale (?:1|2)|usual(?:ly)?|baseline",
)
#: A range after one of these is a range of that sign.
_OTHER_SIGN = when_asked(r"\b(?:heart|pulse|rate|hr|bp|systolic|pressure|map|age|weight)\b")
_OTHER_UNIT = when_asked(r"^\s*(?:bpm|mm ?hg|beats|/min|breaths|kg|l/min|litres|mls?|days|hours)\b")
_RANGE_DENIED = when_asked(r"\b(?:not|no longer|avoid)(?: for| at| aim(?:ing)? for)? $")
_SCALE = when_asked(r"\bscale (1|2|one|two)\b")


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
    stopped = NO_OBSERVATIONS.search(said)
    if stopped and not _NOT_IN_FORCE.search(rest := NO_OBSERVATIONS.sub(" ", said)) and "?" not in said:
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
        found = [one for one in found if one.text != written + ASKED_OF_BLOOD]
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
        (NO_BLOOD, ""),
        (NO_ANTIBIOTICS, ""),
        (NO_SUPPORT, ""),
        (ASK_ABOUT_BLOOD, ASKED_OF_BLOOD),
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
