"""What a sender sends, what it was read as, and what was not read: for whoever connects a site.

Codes, their displays and units are counted; no value, no time, no name and no free text of
anybody is kept. A code counts as used where something of its Observation stands in a record.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple, TypeVar

import msgspec
from msgspec import Raw, Struct

from weatherglass.fhir.datatypes import CodeableConcept
from weatherglass.fhir.decoding import UNREADABLE, decode
from weatherglass.fhir.issues import Issue
from weatherglass.fhir.r4 import Component, Observation
from weatherglass.fhir.reading.bundle import Reading
from weatherglass.fhir.reading.dispatch import READERS, REFERENCED_TYPES, origin_of
from weatherglass.fhir.reading.observations.code_mapping import meaning_of
from weatherglass.fhir.reading.observations.codes_shown import shown
from weatherglass.fhir.reading.observations.seen import kinds_seen
from weatherglass.fhir.reading.observations.sent_values import has_a_value, words_of
from weatherglass.fhir.reading.observations.worded.worded_signs import by_its_words
from weatherglass.fhir.reading.patient_data import SentEntry
from weatherglass.fhir.resource_types import RESOURCE_TYPES
from weatherglass.fhir.safe_text import one_line
from weatherglass.model.plain import Plain
from weatherglass.model.record.medicines import MatchMethod, Medicine
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, Signal, label_of
from weatherglass.model.words.patterns import when_asked
from weatherglass.terminology.observations import (
    LOINC,
    LOOKALIKES,
    MEANING_BY_SIGNAL,
    OWN_RESULTS,
    SNOMED,
    Coded,
    Contested,
    Decision,
    Numeric,
    Panel,
    Vocabulary,
    system_meant,
)
from weatherglass.terminology.sign_words import sign_named_in

_Counted = TypeVar("_Counted")

_LONGEST = 60
_COUNT = when_asked(r"^\d+ ")
#: Of the codes that are not read there is a list.
_LISTED = when_asked(r"^\d+ Observation\(s\) with code ")
_CODE = when_asked(r"[A-Za-z0-9][A-Za-z0-9.+\-^/%#_]{0,23}")
_SHORT_NAMES = {
    LOINC: "LOINC",
    SNOMED: "SNOMED CT",
    "http://www.whocc.no/atc": "ATC",
    "http://www.nlm.nih.gov/research/umls/rxnorm": "RxNorm",
}
_MEDICINES = frozenset(("MedicationRequest", "MedicationStatement", "MedicationAdministration"))
_OWN = OWN_RESULTS.encode()


class Sent(NamedTuple):
    """A code as it is sent, with the unit of its value; empty where there is none that may be shown."""

    system: str
    code: str
    display: str
    unit: str


class CodeRow(Plain, frozen=True):
    """What became of one code in one unit.

    Attributes:
        read_as: What it means here; empty when it is not read.
        words: The key of the signal that its words name, where it is not read.
        times: How often it came with a value.
        used: How often something of it stands in a record.
    """

    sent: Sent
    read_as: str
    words: str
    times: int
    used: int


class MedicineRow(NamedTuple):
    """What became of one medicine code; no code where the medicine is named in words alone."""

    system: str
    code: str
    recognised: str
    times: int


class Coverage(Plain, frozen=True):
    """What came and what became of it, the most frequent first."""

    resources: tuple[tuple[str, int, bool], ...]
    codes: tuple[CodeRow, ...]
    medicines: tuple[MedicineRow, ...]
    reservations: tuple[tuple[str, str, int], ...]
    patients: int

    @property
    def unread(self) -> tuple[CodeRow, ...]:
        """The codes that mean nothing here."""
        return tuple(row for row in self.codes if not row.read_as)

    @property
    def not_used(self) -> tuple[CodeRow, ...]:
        """The codes that are known, and of which some values were not used."""
        return tuple(row for row in self.codes if row.read_as and row.used < row.times)


class _Medicated(Struct, gc=False):
    medicationCodeableConcept: CodeableConcept | None = None


class _Around(Struct, gc=False):
    id: str | None = None
    contained: tuple[Raw, ...] = ()


_medicated = msgspec.json.Decoder(_Medicated).decode


class _Codes:
    """What is counted of codes; those of letters alone wait until two people have them."""

    def __init__(self) -> None:
        self.times: Counter[tuple[Sent, str, str]] = Counter()
        self.used: Counter[tuple[Sent, str, str]] = Counter()
        self._people: dict[tuple[str, str], set[str]] = {}

    def add(self, row: tuple[Sent, str, str], whose: str, *, used: bool) -> None:
        """Count one value."""
        self.times[row] += 1
        self.used[row] += used
        if not row[1]:
            self._people.setdefault((row[0].system, row[0].code), set()).add(whose)

    def rows(self) -> list[CodeRow]:
        """Return the rows, the most frequent first; a word that one person has may be anything."""
        times: Counter[tuple[Sent, str, str]] = Counter()
        used: Counter[tuple[Sent, str, str]] = Counter()
        for row, number in self.times.items():
            sent, meant, words = row
            told = row if self._may_be_shown(row) else (Sent("", "", "", sent.unit), meant, words)
            times[told] += number
            used[told] += self.used[row]
        return [CodeRow(*row, number, used[row]) for row, number in _ordered(times)]

    def _may_be_shown(self, row: tuple[Sent, str, str]) -> bool:
        sent, meant, _ = row
        return bool(meant or shown(sent.code)) or len(self._people[(sent.system, sent.code)]) > 1


def coverage_of(items: Sequence[SentEntry], reading: Reading, vocabulary: Vocabulary) -> Coverage:
    """Count what came and what became of it.

    Args:
        items: The resources of the input.
        reading: What was read of them.
        vocabulary: What codes mean at the site.
    """
    records = [record for _, record in reading.records]
    used = {origin for record in records for origin in _origins(record)}
    codes = _Codes()
    for origin, obs in _observations(items):
        holders: list[Observation | Component] = [obs, *obs.component]
        for holder in holders:
            row = _row(vocabulary, holder)
            if row is not None:
                codes.add(row, _whose(obs), used=bool(row[1]) and origin in used)
    return Coverage(
        tuple(_resources(items)),
        tuple(codes.rows()),
        tuple(_medicines(items, records)),
        tuple(_reservations(reading.issues)),
        len(reading.records),
    )


def _whose(obs: Observation) -> str:
    if obs.subject is None:
        return ""
    number = obs.subject.identifier
    return obs.subject.reference or (f"{number.system}|{number.value}" if number is not None else "")


def _ordered(counts: Mapping[_Counted, int]) -> list[tuple[_Counted, int]]:
    """Return what was counted, the most frequent first."""
    return sorted(counts.items(), key=lambda each: (-each[1], each[0]))


def _origins(record: Record) -> Iterator[str]:
    for series in record.numbers.values():
        yield from (measurement.origin for measurement in series.items)
    for answers in record.codes.values():
        yield from (answer.origin for answer in answers.items)
    yield from (directive.origin for directive in record.directives)
    yield from (condition.origin for condition in record.conditions)  # A sign that was affirmed is one.


def _resources(items: Iterable[SentEntry]) -> Iterator[tuple[str, int, bool]]:
    known = {*READERS, *REFERENCED_TYPES}
    counts = Counter(item.kind for item in items if item.kind in RESOURCE_TYPES)
    for kind, times in _ordered(counts):
        yield kind, times, kind in known or kind == "DiagnosticReport"


def _observations(items: Iterable[SentEntry]) -> Iterator[tuple[str, Observation]]:
    for item in items:
        if item.kind == "Observation":
            obs = _decoded(item.raw)
            if obs is not None:
                yield origin_of(item, "Observation", obs.id), obs
        elif item.kind == "DiagnosticReport" and b'"contained"' in item.raw:
            yield from _inside(item)


def _inside(item: SentEntry) -> Iterator[tuple[str, Observation]]:
    try:
        around = decode(item.raw, _Around)
    except UNREADABLE:
        return
    name = origin_of(item, item.kind, around.id)
    for number, raw in enumerate(around.contained):
        obs = _decoded(raw) if b'"Observation"' in bytes(raw) else None
        if obs is not None:
            yield f"{name}#{obs.id or f'contained-{number}'}", obs


def _decoded(raw: bytes | Raw) -> Observation | None:
    try:
        obs = decode(raw, Observation)
    except UNREADABLE:
        return None
    # What this software wrote itself is not read back.
    return None if obs.identifier and _OWN in bytes(obs.identifier) else obs


def _row(vocabulary: Vocabulary, holder: Observation | Component) -> tuple[Sent, str, str] | None:
    """Return how one value was coded and what that means; None where there is no value to read."""
    meaning = meaning_of(vocabulary, holder.code)
    if meaning is None and isinstance(holder, Observation):
        meaning = meaning_of(vocabulary, by_its_words(holder).code)
    if isinstance(meaning, Contested):
        meaning = meaning.chosen
    is_said_by_code = isinstance(meaning, Decision) or (
        isinstance(meaning, Coded) and meaning.fixed is not None
    )
    if isinstance(meaning, Panel) or not (has_a_value(holder) or is_said_by_code):
        return None
    sent = _sent(vocabulary, holder)
    if isinstance(meaning, Numeric | Coded):
        return sent, label_of(meaning.signal), ""
    if meaning is not None:
        return sent, "a decision or a part of a reported score", ""
    if isinstance(holder, Observation) and kinds_seen(holder):
        return sent, "a sign that is a problem of that hour", ""
    suspected = sign_named_in(words_of(holder.code))
    return sent, "", _means(suspected) if sent.code not in LOOKALIKES else ""


def _means(suspected: Signal | CodedSignal | None) -> str:
    return suspected.value if suspected is not None and suspected.value in MEANING_BY_SIGNAL else ""


def _sent(vocabulary: Vocabulary, holder: Observation | Component) -> Sent:
    quantity = holder.valueQuantity
    unit = one_line((quantity.code or quantity.unit or "")[:_LONGEST]) if quantity is not None else ""
    codings = [coding for coding in holder.code.coding if coding.code]
    known = [one for one in codings if meaning_of(vocabulary, CodeableConcept(coding=(one,))) is not None]
    for coding in sorted(known or codings, key=lambda one: (one.system or "", one.code or "")):
        code = (coding.code or "") if coding in known or _CODE.fullmatch(coding.code or "") else ""
        if code:
            display = one_line((coding.display or "")[: _LONGEST * 2])[:_LONGEST]
            return Sent(
                system_meant(coding.system or "") or one_line(coding.system or ""), code, display, unit
            )
    return Sent("", "", "", unit)


def _medicines(items: Iterable[SentEntry], records: Iterable[Record]) -> Iterator[MedicineRow]:
    known: dict[str, Medicine] = {}
    for record in records:
        known |= {str(order.origin): order.medicine for order in record.orders}
        known |= {str(given.origin): given.medicine for given in record.administrations}
    counts: Counter[tuple[str, str, str]] = Counter()
    for item in items:
        if item.kind not in _MEDICINES:
            continue
        try:
            concept = _medicated(item.raw).medicationCodeableConcept
            origin = origin_of(item, item.kind, decode(item.raw, _Around).id)
        except UNREADABLE:
            continue
        medicine = known.get(origin)
        if medicine is None:
            recognised = "not on the chart"
        elif medicine.method is MatchMethod.NONE:
            recognised = ""
        else:
            named = " + ".join(medicine.ingredients) or "one that is known by its code alone"
            recognised = f"{named} by {medicine.method.value}"
        codings = concept.coding if concept is not None else ()
        first = min(((one.system or "", shown(one.code or "")) for one in codings), default=("", ""))
        counts[(one_line(first[0]) if first[1] else "", first[1], recognised)] += 1
    for row, times in _ordered(counts):
        yield MedicineRow(*row, times)


def _reservations(issues: Iterable[Issue]) -> Iterator[tuple[str, str, int]]:
    # A sentence that begins with a count is the same whatever the count.
    told = (issue for issue in issues if not _LISTED.match(issue.text))
    counts = Counter((issue.key.value, _COUNT.sub("n ", issue.text)) for issue in told)
    for (key, text), times in _ordered(counts):
        yield key, text, times


def system_name(system: str) -> str:
    """Return what a code system is called; its address where it has no short name."""
    return _SHORT_NAMES.get(system, system or "no system")
