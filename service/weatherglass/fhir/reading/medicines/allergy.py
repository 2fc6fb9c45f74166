"""Allergies: what is recorded, which medicines and classes it names, and what happened.

A refuted, wrongly entered, inactive or resolved allergy is left out with an issue. "No known
allergy" is kept as what it says. Substances that are no medicines stay as context by their words.
"""

import re
from collections.abc import Iterator
from typing import Final

from weatherglass.facts.medicines.allergy_check import groups_of, names_in
from weatherglass.fhir import r4
from weatherglass.fhir.issues import IssueKey, Severity
from weatherglass.fhir.reading.collector import Collector
from weatherglass.fhir.reading.entries.gate import MODIFIED, has_modifier
from weatherglass.fhir.reading.patient_data import PatientData, SentEntry
from weatherglass.fhir.reading.problems.concept_words import coded, status_of, text_of, texts_of
from weatherglass.fhir.reading.problems.problem_words import kinds_in_words
from weatherglass.fhir.safe_text import one_line
from weatherglass.knowledge.emergencies.acute_problems import EMERGENCIES
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.record.care import Allergy
from weatherglass.model.record.problems import Condition, ConditionKind
from weatherglass.model.sources import Origin
from weatherglass.terminology.local_medicines import is_known
from weatherglass.terminology.medicine_names import is_plain
from weatherglass.terminology.medicines import identify, is_atc
from weatherglass.terminology.observations import SNOMED, system_meant

#: Reactions that are problems of their own while they last.
_PROBLEMS: Final = EMERGENCIES | {ConditionKind.ANAPHYLAXIS}
#: SNOMED CT and IPS codes that say that there is none, as far as anybody knows.
_NONE_KNOWN = {
    "716186003": "No known allergy",
    "409137002": "No known drug allergy",
    "428607008": "No known environmental allergy",
    "429625007": "No known food allergy",
    "no-known-allergies": "No known allergies",
    "no-known-medication-allergies": "No known medication allergies",
    "no-known-food-allergies": "No known food allergies",
    "no-known-environmental-allergies": "No known environmental allergies",
}
_WORDS = word_patterns("allergy-patterns.toml")
_NONE = _WORDS["none"]
_ABOUT = _WORDS["about"]
#: Codes of reactions that often come without words.
_REACTIONS = {
    "39579001": "anaphylaxis",
    "41291007": "angioedema",
    "73442001": "Stevens-Johnson syndrome",
    "4386001": "bronchospasm",
    "126485001": "urticaria",
    "247472004": "weal",
    "271807003": "rash",
    "422587007": "nausea",
    "422400008": "vomiting",
    "62315008": "diarrhoea",
    "418363000": "itching",
    "49727002": "cough",
}
_SEVERITIES = ("severe", "moderate", "mild")
_NOT_TRUE = ("refuted", "entered-in-error")


def read_allergy(
    collector: Collector, allergy: r4.AllergyIntolerance, entry: SentEntry, origin: Origin
) -> None:
    """Take in one AllergyIntolerance, or write down why not."""
    data = collector.data_for(allergy.patient, entry, "patient")
    if data is None or not _is_in_force(collector, data, allergy, entry):
        return
    concepts = [c for c in (allergy.code, *(r.substance for r in allergy.reaction)) if c is not None]
    codes = coded(concepts)
    none_known = next((_NONE_KNOWN[code] for _, code in codes if code in _NONE_KNOWN), "")
    text = next(filter(None, map(text_of, concepts)), "") or none_known
    words = texts_of(*concepts)
    own = collector.own_medicines.named(codes, words)
    ingredients = _medicines(codes, [*words, *own])
    groups = groups_of(names_in(". ".join([*words, *own])), ingredients, _snomed(codes), _atc(codes))
    if not text and (ingredients or groups):
        text = next(iter(ingredients), "") or min(groups).replace("-", " ")
    if not text:
        collector.say("allergy-unnamed", f"{entry.path}.code", data.key)
        return
    denies = bool(none_known) or _NONE.search(text.casefold().strip()) is not None
    if "medication" in allergy.category and not (denies or groups or _is_known(ingredients)):
        collector.say("allergy-not-recognised", f"{entry.path}.code", data.key)
    data.allergies.append(
        Allergy(
            origin=origin,
            text=text,
            ingredients=() if denies else ingredients,
            groups=frozenset() if denies else groups,
            reactions=tuple(dict.fromkeys(_reactions(allergy))),
            severity=_severity(allergy),
            is_high_risk=allergy.criticality == "high",
            is_intolerance=allergy.type == "intolerance",
            confirmed=status_of(allergy.verificationStatus) not in ("unconfirmed", "presumed")
            and not has_modifier(allergy),
            recorded=collector.instant(allergy.recordedDate, data),
            denies=denies,
        )
    )
    if not denies:
        data.conditions.extend(_emergencies(collector, allergy, text, origin))


def _emergencies(
    collector: Collector, allergy: r4.AllergyIntolerance, text: str, origin: Origin
) -> Iterator[Condition]:
    """Yield a reaction with its time as the problem that it is, where its name is that of an emergency."""
    for reaction in allergy.reaction:
        began = collector.begins(reaction.onset)
        words = ". ".join(filter(None, map(text_of, reaction.manifestation)))
        kinds = kinds_in_words(words).kinds & _PROBLEMS
        if kinds and began is not None:
            yield Condition(origin=origin, text=f"{words} ({text})", kinds=kinds, began=began, has_onset=True)


_PROBLEM, _NONE_ON_THE_LIST = _WORDS["problem"], _WORDS["none-on-the-list"]


def allergy_of_problem(problem: Condition, asserted: str) -> Allergy | None:
    """Return the allergy that a problem of the list records, or that it says there is none; else None.

    Args:
        problem: As it was read.
        asserted: Its own words without what they deny or say of somebody else.
    """
    if _NONE_ON_THE_LIST.search(problem.text.casefold()):
        return Allergy(origin=problem.origin, text=problem.text, recorded=problem.began, denies=True)
    if not _PROBLEM.search(asserted) or _NONE.search(asserted):
        return None
    names = " ".join(_ABOUT.sub(" ", asserted).split())
    ingredients = identify((), (names,)).ingredients
    groups = groups_of(names_in(asserted), ingredients, ())
    if not (ingredients or groups):
        return None
    return Allergy(
        origin=problem.origin,
        text=problem.text,
        ingredients=ingredients,
        groups=groups,
        confirmed=problem.confirmed,
        recorded=problem.began,
    )


def _is_in_force(
    collector: Collector, data: PatientData, allergy: r4.AllergyIntolerance, entry: SentEntry
) -> bool:
    verification = status_of(allergy.verificationStatus)
    clinical = status_of(allergy.clinicalStatus)
    if verification in _NOT_TRUE or clinical in ("inactive", "resolved"):
        element = "verificationStatus" if verification in _NOT_TRUE else "clinicalStatus"
        collector.say("allergy-not-in-force", f"{entry.path}.{element}", data.key)
        return False
    if has_modifier(allergy):
        # Unlike anything else it is shown: to miss an allergy can hurt, to ask about one cannot.
        text = f"{MODIFIED}; shown as unconfirmed."
        collector.note(Severity.WARNING, IssueKey.MODIFIER, entry.path, text, data.key)
    if clinical not in ("", "active") or verification not in ("", "unconfirmed", "presumed", "confirmed"):
        collector.say("allergy-status-unknown", f"{entry.path}.clinicalStatus", data.key)
    return True


def _medicines(codes: list[tuple[str, str]], words: list[str]) -> tuple[str, ...]:
    """Return the medicines that an allergy names; what nobody knows stands for itself."""
    names = [" ".join(_ABOUT.sub(" ", each.casefold()).split()) for each in words]
    identity = identify(codes, names)
    if identity.ingredients:
        return identity.ingredients
    return tuple(dict.fromkeys(_own_words(name) for name in names if _own_words(name)))


def _is_known(names: tuple[str, ...]) -> bool:
    return any(map(is_known, names))


def _own_words(name: str) -> str:
    """Return the name of a substance as it is compared: letters only, and more than a salt or a form."""
    words = re.findall(r"[a-z]+", name)
    return " ".join(words) if any(len(word) > 3 and not is_plain(word) for word in words) else ""


def _snomed(codes: list[tuple[str, str]]) -> list[str]:
    return [code for system, code in codes if system_meant(system) == SNOMED]


def _atc(codes: list[tuple[str, str]]) -> list[str]:
    return [code.strip() for system, code in codes if is_atc(system)]


def _reactions(allergy: r4.AllergyIntolerance) -> list[str]:
    said = []
    for reaction in allergy.reaction:
        words = [
            text_of(each) or next((_REACTIONS[c.code] for c in each.coding if c.code in _REACTIONS), "")
            for each in reaction.manifestation
        ]
        said += [word for word in words if word] or [one_line(reaction.description or "")]
    return [word for word in said if word]


def _severity(allergy: r4.AllergyIntolerance) -> str:
    sent = {reaction.severity for reaction in allergy.reaction}
    return next((word for word in _SEVERITIES if word in sent), "")
