"""How a problem is written: what its codes and its words say, and what they deny, ask or put into the past.

Codes decide first; text is read only where no code of a known system is understood. Text that denies ("no
history of"), belongs to somebody else ("family history") or only asks ("query") is not a condition the
patient is known to have.
"""

import re
from collections.abc import Iterable
from datetime import datetime

from weatherglass.fhir import r4
from weatherglass.fhir.datatypes import Annotation, CodeableConcept, Coding, Reference
from weatherglass.fhir.reading.problems.concept_words import text_of, texts_of, united
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.problems import ConditionKind
from weatherglass.terminology import problems as table
from weatherglass.terminology.in_english import in_english
from weatherglass.terminology.kind_tables import kinds_named
from weatherglass.terminology.observations import SNOMED, system_meant

_WORDS = word_patterns("problem-patterns.toml")
_SOMETHING_ELSE = _WORDS["something-else"]
_VACCINE = _WORDS["vaccine"]
_SOMEBODY_ELSE = _WORDS["somebody-else"]
_DENIED = _WORDS["denied"]
_CLAUSE = _WORDS["clause"]
_DENIED_AFTER = _WORDS["denied-after"]
_RESOLVED_APART = _WORDS["resolved-apart"]
_PREVENTS = _WORDS["prevents"]
_YEAR = _WORDS["year"]
_ASKED = _WORDS["asked"]
_HISTORY = _WORDS["history"]
_RHESUS_NEGATIVE = _WORDS["rhesus-negative"]
_NEGATIVE_BY_NAME = _WORDS["negative-by-name"]
_PREFIX_NON = _WORDS["prefix-non"]
_LOW_PRESSURE = _WORDS["low-pressure"]
_USUAL = _WORDS["usual"]


class Words(Plain, frozen=True):
    """What the words of a problem say.

    Attributes:
        kinds: What the patient is said to have.
        set_aside: Whether more kinds are named but denied or somebody else's.
        asked: Whether the words only ask.
        past: Whether the words speak of the past.
        prevents: Whether they speak of prevention.
    """

    kinds: frozenset[ConditionKind]
    set_aside: bool = False
    asked: bool = False
    past: bool = False
    prevents: bool = False


def kinds_in_words(text: str) -> Words:
    """Read a problem in plain words.

    Examples:
        >>> sorted(kind.name for kind in kinds_in_words("No history of COPD; heart failure").kinds)
        ['HEART_FAILURE']
        >>> kinds_in_words("Query pneumonia").asked
        True
    """
    everything = _PREFIX_NON.sub("non", in_english(text).replace("\u2019", "'"))
    everything = _NEGATIVE_BY_NAME.sub(r"\1 minus", _RHESUS_NEGATIVE.sub("rhesus d minus", everything))
    said = asserted(everything)
    kinds = kinds_named(table.WORDS, said)
    return Words(
        kinds,
        set_aside=said != everything and bool(kinds_named(table.WORDS, everything) - kinds),
        asked=bool(kinds) and _ASKED.search(said) is not None,
        past=_HISTORY.search(said) is not None,
        prevents=_PREVENTS.search(everything) is not None,
    )


def _after_denial(clause: re.Match[str]) -> str:
    """Return what is left of a clause behind the last word that denies what stands before it."""
    ends = [found.end() for found in _DENIED_AFTER.finditer(clause[0])]
    return f" {clause[0][ends[-1] :]}" if ends else clause[0]


def earlier_year_in(text: str, written: datetime | None) -> str | None:
    """Return the latest year that the words name, where it lies before the one in which they were written.

    Examples:
        >>> earlier_year_in("UTI 2019", datetime(2026, 3, 12)), earlier_year_in("UTI", None)
        ('2019', None)
    """
    latest = max(_YEAR.findall(text), default=None)
    return latest if latest and written is not None and int(latest) < written.year else None


def asserted(everything: str) -> str:
    """Return the words without those that deny a problem, mean another or are about somebody else."""
    said = _VACCINE.sub(" ", everything) if "vaccin" in everything else everything
    said = _SOMEBODY_ELSE.sub(" ", _SOMETHING_ELSE.sub(" ", said))
    said = _CLAUSE.sub(_after_denial, _RESOLVED_APART.sub("", said))
    return _DENIED.sub(" ", said)


def said_of(
    concepts: Iterable[CodeableConcept],
    references: Iterable[Reference] = (),
    written: datetime | None = None,
) -> Words:
    """Read a recorded reason as a problem is read; of a reference only the words beside it.

    A reason of the past names nothing that the patient has now.
    """
    words = [_read_concept(one) for one in concepts]
    words += [kinds_in_words(one.display) for one in references if one.display]
    texts = [text_of(one) for one in concepts] + [one.display or "" for one in references]
    kinds = frozenset[ConditionKind]().union(
        *(
            one.kinds & table.LASTING if one.past or earlier_year_in(text, written) else one.kinds
            for one, text in zip(words, texts, strict=False)
        )
    )
    return Words(
        kinds,
        set_aside=any(one.set_aside for one in words),
        asked=any(one.asked for one in words),
        prevents=any(one.prevents for one in words),
    )


def meaning_of(condition: r4.Condition) -> Words:
    """Return what the codes and words of a Condition say."""
    concept = condition.code
    texts = texts_of(concept)
    words = _read_concept(concept)
    if _is_usual_low_pressure(concept, texts, condition.note):
        return replace(words, kinds=words.kinds | {ConditionKind.LOW_PRESSURE_IS_USUAL})
    return words


def _read_concept(concept: CodeableConcept | None) -> Words:
    coded = _kinds_by_code(concept)
    return Words(coded) if coded is not None else kinds_in_words(". ".join(texts_of(concept)))


def _is_usual_low_pressure(
    concept: CodeableConcept | None, texts: list[str], notes: tuple[Annotation, ...]
) -> bool:
    """Tell whether low pressure is recorded as this person's usual state.

    Only the words "long-standing" and their like say so: a diagnosis alone may be new.
    """
    said = " ".join(texts).casefold()
    coded = {(c.code or "").replace(".", "") for c in concept.coding} if concept is not None else set()
    if not _LOW_PRESSURE.search(said) and coded.isdisjoint(table.LOW_PRESSURE_CODES):
        return False
    beside = _DENIED.sub(" ", " ".join([said, *(note.text.casefold() for note in notes)]))
    return _USUAL.search(beside) is not None


def _kinds_by_code(concept: CodeableConcept | None) -> frozenset[ConditionKind] | None:
    """Return what the codes mean; None when no code of a known system is understood."""
    return united(map(_kinds_of, concept.coding if concept is not None else ()))


def _kinds_of(coding: Coding) -> frozenset[ConditionKind] | None:
    system, code = coding.system or "", coding.code or ""
    icd = table.icd_10_edition(system)
    if icd is not None:
        return table.kinds_of_icd_10(code, icd)
    return table.SNOMED_KINDS.get(code) if system_meant(system) == SNOMED else None
