"""What the free words of a plan decide: resuscitation, ceilings, oxygen, end of life.

Teams write decisions as sentences. A sentence counts only when it states a decision;
one that discusses, revokes or asks is reported as undecided, because a plan that is
read into a discussion is as wrong as a plan that is overlooked. Nothing here is
inferred from a diagnosis or an age.
"""

import re
from dataclasses import dataclass
from decimal import Decimal

from weatherglass.clinical.record import DirectiveKind, Resuscitation


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """One decision found in words."""

    kind: DirectiveKind
    text: str = ""
    resuscitation: Resuscitation | None = None
    target_low: Decimal | None = None
    target_high: Decimal | None = None
    spo2_scale: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What a text says, and whether part of it touches a decision without making one."""

    said: tuple[Said, ...] = ()
    undecided: bool = False


_CPR = r"(?:attempted |attempting )?(?:cpr|(?:cardio-?pulmonary )?resus(?:citation|citate)?)"
_NOT_FOR_CPR = re.compile(
    rf"\b(?:dna-?cpr|dnar|dnr|no[- ]code|allow(?: a)? natural death|"
    rf"(?:do not|don't) (?:attempt (?:a )?)?{_CPR}|(?:not|isn't) (?:to be )?for (?:a )?{_CPR}|"
    rf"no (?:attempt at )?{_CPR}|not to be resuscitated|not for 2222)\b"
)
_FOR_CPR = re.compile(
    rf"\b(?:(?<!not )(?<!not to be )for (?:full |active )?{_CPR}|yes {_CPR}|"
    rf"full[ -]code|attempt (?:full )?{_CPR})\b"
)
_CRITICAL = (
    r"(?:icu|itu|hdu|ccu|critical care|intensive care|intensive therapy|high[ -]dependency|level (?:2|3|two|three)|"
    r"intubation|(?:invasive |mechanical )?ventilation|invasive ventilation|niv|cpap|bipap|"
    r"non-?invasive ventilation|dialysis|rrt|renal replacement(?: therapy)?|ha?emofiltration|inotropes?|"
    r"vasopressors?|organ support|escalation|further escalation|2222|met calls?|hospital (?:re-?)?admission|"
    r"transfer|surgery)"
)
_CEILING = re.compile(
    rf"\b(?:(?:not|isn't) (?:a candidate )?for (?:admission to |transfer to |referral to )?{_CRITICAL}|"
    rf"no (?:admission to |transfer to )?{_CRITICAL}|"
    r"ward[- ](?:based|level)(?: (?:care|ceiling|treatment|management))?|ward (?:care )?(?:ceiling|only)|"
    r"(?:ward|niv|cpap|bipap|hfno|hfnc|high[- ]flow(?: oxygen)?|hdu|high[ -]dependency|level (?:1|2|one|two)|"
    r"oral antibiotics|iv antibiotics|ward[- ]based care|hospital)(?: care)? (?:is |as |= ?)?(?:the |a )?(?:ceiling|only)|"
    r"(?:maximum|max|up to|limited to) (?:of )?(?:ward|niv|cpap|hdu|level (?:1|2))(?:[ -](?:level|based) care)?|"
    r"(?:ceiling|limits?) of (?:care|treatment|therapy|escalation)[ :=-]+(?:is |at )?\w+|"
    r"treatment ceiling[ :=-]+(?:is |at )?\w+|"
    r"dni|do not (?:intubate|ventilate|escalate|transfer)|comfort (?:care|measures)(?: only)?|"
    r"comfort[- ]focused(?: care| treatments?)?|selective treatments?|symptom(?:atic)? (?:control|care) only)\b"
)
_FULL_TREATMENT = re.compile(
    r"\b(?:for (?:full|all)(?: active)? (?:escalation|treatments?|active treatment|organ support)|full escalation|"
    r"full (?:active )?treatments?|no (?:treatment )?ceiling(?: of (?:care|treatment|escalation))?|"
    r"for (?:icu|itu|critical care|level 3)(?: admission)?|no limits? (?:of|on|to) (?:care|treatment))\b"
)
_NOT_FULL = re.compile(r"\b(?:not|isn't)(?: a candidate)? $")
_END_OF_LIFE = re.compile(
    r"\b(?:end[- ]of[- ]life|last (?:days|hours)(?: or (?:days|hours))? of life|dying phase|"
    r"(?:actively|imminently) dying|care of the dying|dying (?:person|patient|care)|terminal care|"
    r"terminal phase)\b"
)
#: Somebody talked about it, or took it back: not a decision in force.
_UNDECIDED = re.compile(
    r"\b(?:discuss(?:ion|ed|ions|ing)?|to (?:be )?(?:decide|confirm|review|consider|address)(?:ed)?|consider(?:ing|ed)?|"
    r"query|declin(?:es|ed)|revok(?:ed|es)|rescind(?:ed|s)|withdrawn|cancel(?:led|ed)|suspended|lifted|"
    r"no longer|not (?:yet )?(?:in place|decided|completed|applicable|recorded|discussed|documented)|previous(?:ly)?|"
    r"former(?:ly)?|unknown|pending|tbc|if (?:he|she|they)|expired|superseded|void|under review|awaiting|"
    r"family history|mother|father|stopped|discontinued|not on|preferences? unknown|history of)\b|\?"
)
#: The word that undoes what follows it ("no DNACPR", "without DNACPR", "not DNR").
_UNDONE_BEFORE = re.compile(r"\b(?:no|not|without|isn't|nil)(?: a| an| any| current| valid| on)? $")
_UNDONE_AFTER = re.compile(
    r"^(?: (?:order|form|decision|status))?(?: in place)?\s*[:=-]?\s*(?:no|none|nil|not|false|absent)\b"
)
_RANGE = re.compile(
    r"(?<![\d.])(\d{2,3})\s*%?\s*(?:-|\u2010|\u2011|\u2012|\u2013|\u2014|to|and)\s*(\d{2,3})(?![\d.])\s*%?"
)
_SATURATION = re.compile(r"\b(?:spo2|sao2|sp02|o2|oxygen|sats?|saturations?)\b|spo\u2082|o\u2082")
_OTHER_UNIT = re.compile(r"^\s*(?:bpm|mm ?hg|beats|/min|breaths|kg|l/min|litres|mls?|days|hours)\b")
_SCALE = re.compile(r"\b(?:(?:spo2|sp02|saturation|news ?2?) (?:scoring )?)?scale (1|2|one|two)\b")
_SENTENCE = re.compile(r"[.;\n]+(?=\s|$)|\n")
#: A saturation target lies between these limits; outside them a range is something else. Ours.
LOWEST_TARGET, HIGHEST_TARGET = Decimal(70), Decimal(100)


def read_words(text: str, *, about_oxygen: bool = False) -> Reading:
    """Read the decisions a text states.

    Args:
        text: The words as written.
        about_oxygen: True when the resource itself says that it is about a saturation target.

    Examples:
        >>> [s.resuscitation.name for s in read_words("DNACPR in place").said]
        ['NOT_FOR']
        >>> read_words("DNACPR to be discussed with family")
        Reading(said=(), undecided=True)
        >>> [s.kind.name for s in read_words("Ward-based care, not for ICU").said]
        ['CEILING']
    """
    found: list[Said] = []
    undecided = False
    for part in _SENTENCE.split(text):
        written = " ".join(part.split())
        if not written:
            continue
        said = written.casefold().replace("\u2019", "'")
        here = _in_sentence(written, said, about_oxygen=about_oxygen)
        found.extend(one for one in here.said if one not in found)
        undecided = undecided or here.undecided
    return Reading(said=_without_contradicted_ranges(found), undecided=undecided or _several_ranges(found))


def _in_sentence(written: str, said: str, *, about_oxygen: bool) -> Reading:
    cpr = _resuscitation(said)
    ceiling = _CEILING.search(said) is not None
    full = [m for m in _FULL_TREATMENT.finditer(said) if not _NOT_FULL.search(said[: m.start()])]
    ending = _END_OF_LIFE.search(said) is not None
    ranges = _ranges(said, about_oxygen=about_oxygen)
    scale = _SCALE.search(said) if _SATURATION.search(said) or "news" in said else None
    touched = bool(cpr or ceiling or full or ending or ranges or scale)
    if not touched:
        return Reading(undecided=_mentions_cpr(said))
    if _UNDECIDED.search(said):
        return Reading(undecided=True)
    found: list[Said] = [Said(kind=DirectiveKind.RESUSCITATION, resuscitation=one) for one in cpr]
    if ceiling:
        found.append(Said(kind=DirectiveKind.CEILING, text=written))
    elif full:
        found.append(Said(kind=DirectiveKind.FULL_TREATMENT, text=written))
    if ending and not re.search(rf"\b(?:no|not)\b[^,]*{_END_OF_LIFE.pattern}", said):
        found.append(Said(kind=DirectiveKind.END_OF_LIFE, text=written))
    found.extend(
        Said(kind=DirectiveKind.OXYGEN_TARGET, target_low=low, target_high=high) for low, high in ranges
    )
    if scale is not None and not re.search(r"\b(?:not|no|never)\b", said):
        number = 2 if scale.group(1) in ("2", "two") else 1
        found.append(Said(kind=DirectiveKind.SPO2_SCALE, spo2_scale=number))
    return Reading(said=tuple(found), undecided=not found)


def _resuscitation(said: str) -> list[Resuscitation]:
    found: list[Resuscitation] = []
    rest = said
    for match in _NOT_FOR_CPR.finditer(said):
        rest = rest[: match.start()] + " " * (match.end() - match.start()) + rest[match.end() :]
        undone = _UNDONE_BEFORE.search(said[: match.start()]) or _UNDONE_AFTER.match(said[match.end() :])
        if not undone and Resuscitation.NOT_FOR not in found:
            found.append(Resuscitation.NOT_FOR)
    for match in _FOR_CPR.finditer(rest):
        if not _UNDONE_BEFORE.search(rest[: match.start()]) and Resuscitation.FOR not in found:
            found.append(Resuscitation.FOR)
    return found


def _mentions_cpr(said: str) -> bool:
    return _NOT_FOR_CPR.search(said) is not None or _FOR_CPR.search(said) is not None


def _ranges(said: str, *, about_oxygen: bool) -> list[tuple[Decimal, Decimal]]:
    if not about_oxygen and not _SATURATION.search(said):
        return []
    found: list[tuple[Decimal, Decimal]] = []
    for match in _RANGE.finditer(said):
        low, high = Decimal(match.group(1)), Decimal(match.group(2))
        if not LOWEST_TARGET <= low < high <= HIGHEST_TARGET or _OTHER_UNIT.match(said[match.end() :]):
            continue
        if re.search(r"\b(?:not|no longer|avoid)(?: for| at| aim(?:ing)? for)? $", said[: match.start()]):
            continue
        found.append((low, high))
    return found


def _targets(found: list[Said]) -> set[tuple[Decimal | None, Decimal | None]]:
    return {(s.target_low, s.target_high) for s in found if s.kind is DirectiveKind.OXYGEN_TARGET}


def _several_ranges(found: list[Said]) -> bool:
    return len(_targets(found)) > 1


def _without_contradicted_ranges(found: list[Said]) -> tuple[Said, ...]:
    """Two ranges in one text ("88-92, then 94-98") leave open which one holds now."""
    if not _several_ranges(found):
        return tuple(found)
    return tuple(s for s in found if s.kind is not DirectiveKind.OXYGEN_TARGET)
