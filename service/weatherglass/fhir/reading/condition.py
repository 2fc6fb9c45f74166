"""Conditions: what a rule can use of a problem list.

Codes decide first; text is read only where no code of a known system is understood.
Text that denies ("no history of"), belongs to somebody else ("family history") or
only asks ("?", "query") is not a condition the patient has.
"""

import re
from typing import NamedTuple

from weatherglass.clinical.record import Condition, ConditionKind
from weatherglass.clinical.references import Origin
from weatherglass.fhir import condition_codes as table
from weatherglass.fhir import r4
from weatherglass.fhir.codes import SNOMED, SYSTEM_SPELLINGS
from weatherglass.fhir.issues import IssueKey, Severity
from weatherglass.fhir.reading.intake import Gathered, Intake, Place

_ACTIVE = frozenset({"active", "recurrence", "relapse"})
_INACTIVE = frozenset({"inactive", "remission", "resolved"})
_UNCONFIRMED = frozenset({"unconfirmed", "provisional", "differential"})
_NOT_TRUE = frozenset({"refuted", "entered-in-error"})

#: A stretch of text that is not a statement about this patient, up to the next stop.
_NOT_THE_PATIENT = re.compile(
    r"\b(?:family history|fhx?|mother|father|brother|sister|parent|sibling)\b[^.;\n]*"
)
_DENIED = re.compile(
    r"\b(?:no|not|never|without|denies|denied|excluded|negative for|ruled out|rule out|r/o|absence of|"
    r"no evidence of|no history of|no known|nil|unlikely|at risk of|risk of|screening for|"
    r"prophylaxis (?:for|against)|vaccination (?:for|against))\b(?![ -]?(?:independent|only))[^.;,\n]*?"
    r"(?=$|[.;,\n]|\bbut\b|\bhowever\b)"
)
_DENIED_AFTER = re.compile(r"[^.;,\n]*\b(?:ruled out|excluded|not (?:confirmed|present)|unlikely)\b")
_ASKED = re.compile(r"\?|\b(?:query|possible|possibly|probable|suspected|differential)\b")
_HISTORY = re.compile(r"\b(?:history of|h/o|hx of|past history|previous|prior|past medical history)\b")
_ACRONYMS_OF_DENIAL = re.compile(r"\bnon[ -](?=\w)")


class Words(NamedTuple):
    """What the words of a problem say."""

    kinds: frozenset[ConditionKind]
    asked: bool
    past: bool


def read_condition(intake: Intake, condition: r4.Condition, place: Place, origin: Origin) -> None:
    """Take in one Condition, or write down why not."""
    gathered = intake.gathered_for(condition.subject, place, "subject")
    if gathered is None:
        return
    if condition.modifierExtension:
        _note(intake, gathered, place, Severity.WARNING, IssueKey.MODIFIER, "", _MODIFIED)
        return
    verification = _status(condition.verificationStatus)
    if verification in _NOT_TRUE:
        _note(
            intake,
            gathered,
            place,
            Severity.INFORMATION,
            IssueKey.NOT_FINAL,
            ".verificationStatus",
            "A refuted or wrongly entered Condition is not used.",
        )
        return
    if verification not in _UNCONFIRMED | {"", "confirmed"}:
        _unknown_status(intake, gathered, place, "verificationStatus")
        verification = "unconfirmed"
    clinical = _status(condition.clinicalStatus)
    if clinical not in _ACTIVE | _INACTIVE | {""}:
        _unknown_status(intake, gathered, place, "clinicalStatus")
    text = _text(condition.code)
    coded = _kinds_by_code(condition.code)
    words = Words(coded, asked=False, past=False) if coded is not None else kinds_in_words(text)
    active, kinds = clinical not in _INACTIVE and condition.abatementDateTime is None, words.kinds
    if words.past and active:
        # What lasts stays with the person; an infection of the past does not.
        lasting = kinds & table.LASTING
        active, kinds = bool(lasting) or not kinds, lasting or kinds
    if not text and not kinds:
        _note(
            intake,
            gathered,
            place,
            Severity.WARNING,
            IssueKey.MISSING_ELEMENT,
            ".code",
            "The Condition names nothing; send code.coding or code.text.",
        )
        return
    onset = condition.onsetDateTime or (condition.onsetPeriod.start if condition.onsetPeriod else None)
    gathered.conditions.append(
        Condition(
            origin=origin,
            text=text,
            kinds=kinds,
            # A date of recording says when it was known, at the latest.
            began=intake.period(r4.Period(start=onset or condition.recordedDate))[0],
            active=active,
            confirmed=verification not in _UNCONFIRMED and not words.asked,
        )
    )


def kinds_in_words(text: str) -> Words:
    """Read a problem in plain words.

    Examples:
        >>> sorted(kind.name for kind in kinds_in_words("No history of COPD; heart failure").kinds)
        ['HEART_FAILURE']
        >>> kinds_in_words("Query pneumonia").asked
        True
    """
    said = _ACRONYMS_OF_DENIAL.sub("non", text.casefold().replace("\u2019", "'"))
    said = _NOT_THE_PATIENT.sub(" ", said)
    said = _DENIED_AFTER.sub(" ", said)
    said = _DENIED.sub(" ", said)
    kinds = frozenset[ConditionKind]().union(*(k for pattern, k in table.WORDS if pattern.search(said)))
    return Words(
        kinds,
        asked=bool(kinds) and _ASKED.search(said) is not None,
        past=_HISTORY.search(said) is not None,
    )


def _kinds_by_code(concept: r4.CodeableConcept | None) -> frozenset[ConditionKind] | None:
    """Return what the codes mean; None when no code of a known system is understood."""
    found: frozenset[ConditionKind] | None = None
    for coding in concept.coding if concept is not None else ():
        system, code = coding.system or "", coding.code or ""
        icd = table.ICD_10_SPELLINGS.get(system)
        kinds: frozenset[ConditionKind] | None = None
        if icd is not None:
            kinds = table.kinds_of_icd_10(code, icd) or None
        elif SYSTEM_SPELLINGS.get(system) == SNOMED:
            kinds = table.SNOMED_KINDS.get(code)
        if kinds is not None:
            found = kinds if found is None else found | kinds
    return found


def _text(concept: r4.CodeableConcept | None) -> str:
    if concept is None:
        return ""
    shown = concept.text or next((c.display for c in concept.coding if c.display), "")
    return " ".join(shown.split())


def _status(concept: r4.CodeableConcept | None) -> str:
    if concept is None:
        return ""
    return next((c.code for c in concept.coding if c.code), (concept.text or "").casefold())


_MODIFIED = "A modifier extension may change the meaning; not used."


def _unknown_status(intake: Intake, gathered: Gathered, place: Place, element: str) -> None:
    _note(
        intake,
        gathered,
        place,
        Severity.WARNING,
        IssueKey.VALUE_UNKNOWN,
        f".{element}",
        "Not a known status of a Condition; kept with a reservation.",
    )


def _note(
    intake: Intake, gathered: Gathered, place: Place, severity: Severity, key: IssueKey, at: str, text: str
) -> None:
    intake.note(severity, key, place.path + at, text, gathered.key)
