"""Whether a line of the drug chart meets a recorded allergy, and how: the same, a relative, a side effect.

What is compared are names: of ingredients, of classes, and the words of both. An allergy that
names nothing known is compared by its own words, so that a medicine nobody recognises is
found by them too.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from enum import IntEnum
from typing import Final

from weatherglass.facts.medicines.drug_chart import Line
from weatherglass.knowledge.medicines import allergy_classes as table
from weatherglass.knowledge.medicines.allergy_classes import CLASSES, RELATIVES, AllergyClass, Relative
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.plain import Plain
from weatherglass.model.record.care import Allergy
from weatherglass.model.record.medicines import Medicine
from weatherglass.model.sources import Origin, Source
from weatherglass.model.words.patterns import when_asked


class Strength(IntEnum):
    """What a meeting asks for."""

    NOTE = 0  # A side effect or an intolerance: to be known, and no reason to stop.
    ASK = 1  # A cross-reaction is possible.
    AVOID = 2


#: The group of what was begun or given shortly before a reaction: nobody has recorded an allergy yet.
SUSPECTED: Final = "suspected-cause"


class Meeting(Plain, frozen=True):
    """A recorded allergy and a medicine on the chart.

    Attributes:
        why: What links them, as a part of a sentence; empty where the names are the same.
        group: Key of the class that links them; empty where the names are the same.
    """

    allergy: Allergy
    strength: Strength
    is_severe: bool
    why: str
    group: str
    source: Source

    @property
    def noun(self) -> str:
        """What is recorded."""
        if self.group == SUSPECTED:
            return "reaction"
        return "intolerance" if self.strength is Strength.NOTE else "allergy"

    @property
    def since(self) -> datetime | None:
        """When the allergy was written down."""
        return self.allergy.recorded


_LONGEST_NAME: Final = 4
_WORD: Final = when_asked(r"[a-z]+")
_HYPHENED: Final = when_asked(r"[a-z]+(?:-[a-z]+)+")
_WORDS: Final = word_patterns("chart-patterns.toml")
_WHILE_IT_RAN: Final = _WORDS["while-it-ran"]
_SEVERE: Final = when_asked(rf"\b(?:{'|'.join((*table.SEVERE, *table.SEVERE_DELAYED))})")
_NOT_ASKED_FOR: Final = _WORDS["not-asked-for"]
_DELAYED: Final = when_asked(rf"\b(?:{'|'.join(table.SEVERE_DELAYED)})")


def names_in(text: str) -> frozenset[str]:
    """Return every run of up to four words of a text, in lower case, and each hyphened word.

    Examples:
        >>> sorted(names_in("Co-amoxiclav 1.2 g"))
        ['amoxiclav', 'amoxiclav g', 'co', 'co amoxiclav', 'co amoxiclav g', 'co-amoxiclav', 'g']
    """
    said = text.casefold()
    words = _WORD.findall(said)
    runs = {
        " ".join(words[at : at + length])
        for length in range(1, _LONGEST_NAME + 1)
        for at in range(len(words) - length + 1)
    }
    return frozenset(runs.union(_HYPHENED.findall(said)))


def groups_of(
    names: frozenset[str], ingredients: Iterable[str], codes: Iterable[str], atc: Iterable[str] = ()
) -> frozenset[str]:
    """Return the classes that a recorded allergy is to, by its words, its medicines and its codes.

    Args:
        names: Every run of words that it is written in.
        ingredients: The medicines that it names.
        codes: Its SNOMED CT codes.
        atc: Its ATC codes, of a substance or of a group.
    """
    named = names.union(ingredients)
    coded = frozenset(codes)
    of_group = tuple(atc)
    return frozenset(
        row.key
        for row in CLASSES.values()
        if not row.words.isdisjoint(names)
        or not row.codes.isdisjoint(coded)
        or any(code.upper().startswith(row.atc) for code in of_group if row.atc)
        or (row.by_member and row.holds(named))
    )


def meetings(allergies: Iterable[Allergy], lines: Iterable[Line]) -> Mapping[Origin, Meeting]:
    """Return what each line meets, the most important of it, by the origin of the line."""
    real = [allergy for allergy in allergies if not allergy.denies]
    if not real:
        return {}
    found: dict[Origin, Meeting] = {}
    for line in lines:
        met = list(met_by(line.medicine, real))
        if met:
            found[line.order] = max(met, key=lambda one: (one.strength, one.is_severe))
    return found


def met_by(medicine: Medicine, allergies: Iterable[Allergy]) -> Iterator[Meeting]:
    """Return how a medicine meets each of the allergies."""
    names = names_in(medicine.text).union(medicine.ingredients)
    for allergy in allergies:
        meeting = _same(allergy, names) or _of_class(allergy, names) or _related(allergy, names)
        if meeting is not None:
            yield meeting


def against_named(asks: str, allergies: Iterable[Allergy]) -> tuple[Allergy, ...]:
    """Return the allergies that something named in what is asked for would meet; "no heparin" asks for none.

    Examples:
        >>> against_named("aspirin 300 mg unless it is excluded", ())
        ()
    """
    real = [allergy for allergy in allergies if not allergy.denies]
    if not real:
        return ()
    names = names_in(_NOT_ASKED_FOR.sub("", asks.casefold()))
    met = ((one, _same(one, names) or _of_class(one, names)) for one in real)
    return tuple(one for one, how in met if how is not None and how.strength is not Strength.NOTE)


def is_severe(allergy: Allergy) -> bool:
    """Tell whether an allergy is one of high risk: by what was recorded, or by what happened."""
    return allergy.is_high_risk or allergy.severity == "severe" or has_severe_signs(allergy)


def has_severe_signs(allergy: Allergy) -> bool:
    """Tell whether the words of what happened are those of a severe reaction."""
    return _SEVERE.search(_happened(allergy)) is not None


def _same(allergy: Allergy, names: frozenset[str]) -> Meeting | None:
    if names.isdisjoint(allergy.ingredients):
        return None
    expected = frozenset[str]().union(*(CLASSES[key].expected for key in allergy.groups))
    strength = Strength.NOTE if _is_tolerable(allergy, expected) else Strength.AVOID
    return Meeting(allergy, strength, is_severe(allergy), "", "", table.URGENCY_SOURCE)


def _of_class(allergy: Allergy, names: frozenset[str]) -> Meeting | None:
    rows = [CLASSES[key] for key in sorted(allergy.groups) if CLASSES[key].holds(names)]
    found = [_meeting_of_class(allergy, row) for row in rows]
    return max(found, key=lambda one: one.strength, default=None)


def _meeting_of_class(allergy: Allergy, row: AllergyClass) -> Meeting:
    strength = Strength.AVOID
    if _is_tolerable(allergy, row.expected):
        strength = Strength.NOTE
    elif row.asks and not _is_delayed(allergy):
        strength = Strength.ASK
    return Meeting(allergy, strength, is_severe(allergy), f"it is {row.label}", row.key, row.source)


def _related(allergy: Allergy, names: frozenset[str]) -> Meeting | None:
    """Return a possible cross-reaction; what is no allergy has none."""
    rows = [row for row in RELATIVES if not row.of.isdisjoint(allergy.groups) and _is_meant(row, names)]
    expected = frozenset[str]().union(*(CLASSES[key].expected for key in allergy.groups))
    if not rows or _is_tolerable(allergy, expected):
        return None
    row = rows[0]
    severe = is_severe(allergy)
    avoids = _is_delayed(allergy) or (severe and row.after_severe)
    strength = Strength.AVOID if avoids else Strength.ASK
    return Meeting(allergy, strength, severe, row.said, "relative", row.source)


def _is_meant(row: Relative, names: frozenset[str]) -> bool:
    return not row.members.isdisjoint(names) or any(CLASSES[key].holds(names) for key in row.classes)


def _is_tolerable(allergy: Allergy, expected: frozenset[str]) -> bool:
    """Tell whether nothing but side effects are recorded, or an intolerance that was not severe."""
    if is_severe(allergy):
        return False
    usual = table.SIDE_EFFECTS | expected
    happened = [_plain(each) for each in allergy.reactions]
    only_usual = bool(happened) and all(_is_usual(each, usual) for each in happened)
    return only_usual or allergy.is_intolerance


def _is_usual(happened: str, usual: frozenset[str]) -> bool:
    """Tell whether every part of what happened is the usual: 'nausea, vomiting and headache'."""
    happened = _WHILE_IT_RAN.sub("", happened)
    parts = [part.strip() for part in re.split(r",| and |\+|/|;", happened)]
    return happened in usual or all(part in usual for part in parts if part)


def _is_delayed(allergy: Allergy) -> bool:
    return _DELAYED.search(_happened(allergy)) is not None


def _happened(allergy: Allergy) -> str:
    return _plain(" ".join((allergy.text, *allergy.reactions)))


def _plain(text: str) -> str:
    return text.casefold().replace("-", " ").strip(" .")
