"""What every resource of one answer shares: patient, time, zone, software, terms."""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime, timezone, tzinfo
from decimal import Context, Decimal
from functools import lru_cache
from typing import Any

from weatherglass.fhir.safe_text import clean
from weatherglass.fhir.times import write_instant
from weatherglass.fhir.writing.frame.identity import finding_uuid, uuid_of
from weatherglass.fhir.writing.frame.narrative import bullets
from weatherglass.fhir.writing.frame.terms import EXTENSION_BASE, IDENTIFIER_SYSTEM, Json, Terms, unit_fields
from weatherglass.handover.told import Told
from weatherglass.model.findings import Finding, Measure, State, Urgency
from weatherglass.model.numbers.quantities import plain, unit_words
from weatherglass.model.signals import Letter
from weatherglass.model.sources import Origin, Source
from weatherglass.model.times.dates_alone import is_date_alone
from weatherglass.model.words.clock_words import Clock


@dataclass(slots=True, kw_only=True)
class WritingContext:
    """What is shared by all that is written about one patient.

    Attributes:
        patient: How the request refers to the patient.
        device: Full URL of the software's Device.
        zone: The record's own zone; all times are written in it.
        is_brief: Say in narratives the sentence only; what else it says stands in fields of its own.
        words: How moments are said.
        named: Full URL of every finding already written, by the finding's identity.
        cited: Every publication that the results point into, by its key; told once, beside them.
    """

    patient: str
    device: str
    as_of: datetime
    zone: tzinfo
    terms: Terms
    is_brief: bool = False
    named: dict[int, str] = field(default_factory=dict)
    cited: dict[str, Source] = field(default_factory=dict)
    words: Clock = field(init=False)
    _given: dict[str, int] = field(default_factory=dict)
    _told: dict[int, Told] = field(default_factory=dict)
    # A review names the same few inputs and moments many times.
    _references: dict[str, Json] = field(default_factory=dict)
    _times: dict[datetime, str] = field(default_factory=dict)
    _clocks: dict[datetime, str] = field(default_factory=dict)
    _lasting: dict[tuple[datetime, tzinfo | None], str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Set the clock that moments are said by."""
        self.words = Clock(self.zone, self.as_of)

    def told(self, finding: Finding) -> Told:
        """Return a finding as every door lays it out, the same for each resource about it."""
        told = self._told.get(id(finding))
        if told is None:
            told = self._told[id(finding)] = Told(finding, self.words)
        return told

    def time(self, moment: datetime) -> str:
        """Write a moment in the record's own zone; of a date alone the date."""
        if is_date_alone(moment):
            return moment.date().isoformat()  # Equal to an instant, so it has no place among those below.
        return self.instant(moment)

    def instant(self, moment: datetime) -> str:
        """Write a moment as an instant, where FHIR wants one or a deadline is meant."""
        written = self._times.get(moment)
        if written is None:
            zone = self.zone
            written = write_instant(moment, zone if isinstance(zone, timezone) else None)
            self._times[moment] = written
        return written

    def dated(self, moment: datetime) -> str:
        """Write a moment with its year."""
        return self.words.dated(moment)

    def clock(self, moment: datetime) -> str:
        """Write a moment for a reader."""
        if is_date_alone(moment):
            return self.words.short(moment)
        written = self._clocks.get(moment)
        if written is None:
            written = self._clocks[moment] = self.words.short(moment)
        return written

    def uuid(self, finding: Finding, edition: str = "") -> str:
        """Return the lasting name of a finding."""
        at = self._lasts(finding.at) if finding.at is not None else ""
        return self.once(finding_uuid(self.patient, finding.kind, finding.key, edition, at, finding.evidence))

    def _lasts(self, moment: datetime) -> str:
        """Return a moment as a part of a name, in the zone that it was written in."""
        # A date alone moves with the moment of the review until its noon; its name must not.
        if is_date_alone(moment):
            return f"{moment.date().isoformat()}T12:00:00+00:00"
        key = moment, moment.tzinfo
        written = self._lasting.get(key)
        if written is None:
            written = self._lasting[key] = moment.isoformat()
        return written

    def once(self, uuid: str) -> str:
        """Return a name that nothing else of this patient's results has: the name itself, the first time."""
        times = self._given.get(uuid, 0)
        self._given[uuid] = times + 1
        return uuid_of(uuid, str(times)) if times else uuid

    def has(self, uuid: str) -> bool:
        """Tell whether something of that name is among the results."""
        return uuid in self._given

    def reference(self, origin: Origin | str) -> Json:
        """Refer to an input as the request did; by words when its name is no legal reference."""
        known = self._references.get(origin)
        if known is None:
            is_legal = _LITERAL.fullmatch(origin) is not None
            known = {"reference": str(origin)} if is_legal else {"display": clean(origin) or _NAMELESS}
            self._references[origin] = known
        return known

    def names(self, origin: Origin) -> bool:
        """Tell whether a result that is written already names an input."""
        return origin in self._references

    def cite(self, source: Source) -> str:
        """Return the place in a publication by its key; the publication is told once for the patient."""
        self.cited.setdefault(source.key, source)
        return source.place

    @staticmethod
    def identifier(uuid: str) -> list[Json]:
        """Return the identifier element of a result."""
        return [{"system": IDENTIFIER_SYSTEM, "value": uuid}]


#: What FHIR R4 allows as a literal reference: an address, a urn, or Type/id.
_LITERAL = re.compile(r"(?:https?://|urn:(?:uuid|oid):)[!-~]+|[A-Z][A-Za-z]+/[A-Za-z0-9\-.]{1,64}")
_NAMELESS = "an input without a name"


def derived_from(context: WritingContext, evidence: Iterable[Origin]) -> list[Json]:
    """Refer to the inputs that R4 lets an Observation be derived from; Provenance names the others."""
    return [context.reference(o) for o in evidence if _type_in(o) in _DERIVABLE]


#: The targets of Observation.derivedFrom; a urn does not tell its type.
_DERIVABLE = frozenset(
    ("Observation", "QuestionnaireResponse", "DocumentReference", "Media", "ImagingStudy", "")
)


def _type_in(origin: str) -> str:
    parts = origin.rsplit("/", 2)
    return parts[-2] if len(parts) > 1 and not origin.startswith("urn:") else ""


def extension(name: str, **value: Any) -> Json:
    """Return one of our own extensions."""
    return {"url": EXTENSION_BASE + name, **value}


_SOURCE = f"{EXTENSION_BASE}source"


def standing(context: WritingContext, finding: Finding) -> list[Json]:
    """Return how urgent a finding is, where it belongs and since when, as extensions."""
    found = list(_ranked(finding.urgency, finding.letter, finding.state))
    if finding.since is not None:
        found.append(extension("since", valueDateTime=context.time(finding.since)))
    return found + [{"url": _SOURCE, "valueString": places} for places in _places(context, finding.sources)]


def _places(context: WritingContext, sources: Iterable[Source]) -> Iterator[str]:
    """Yield the places in each publication that were checked alike, under its key once."""
    grouped: dict[str, list[Source]] = {}
    for source in sources:
        context.cite(source)
        grouped.setdefault(source.checked, []).append(source)
    for first, *more in grouped.values():
        where = "; ".join(source.locator for source in (first, *more))
        yield f"{first.key}: {where} ({first.mark})" if more else first.place


@lru_cache(maxsize=256)
def _ranked(urgency: Urgency, letter: Letter, state: State | None) -> tuple[Json, ...]:
    ranked = [extension("urgency", valueCode=urgency.word), extension("letter", valueCode=letter.value)]
    if state is not None:
        ranked.append(extension("state", valueCode=state.value))
    return tuple(ranked)


@lru_cache(maxsize=256)
def publication_of(source: Source) -> str:
    """Write a publication in full, after the key that places in it are given by."""
    return f"{source.key}: {source.citation}" + (f", {source.address}" if source.address else "")


def source_list(sources: tuple[Source, ...]) -> str:
    """Return the publications behind a finding, each once with how it was checked, for a narrative.

    The places in them stand in the extensions of the same resource, which cite them.
    """
    named = dict.fromkeys([source.checked for source in sources])
    return bullets([f"Sources: {', '.join(named)}"] if named else [])


def quantity(value: Decimal, unit: str) -> Json:
    """Return a Quantity with its UCUM unit; the number keeps its digits."""
    return {"value": number(value), **unit_fields(unit)}


def number(value: Decimal) -> Decimal:
    """Return a decimal that JSON writes without an exponent and that other programs can hold.

    A converted value can have more digits than the eighteen that FHIR's decimal asks a reader to keep.
    """
    text = str(value)
    if "E" not in text and len(text) <= _HELD:
        return value
    return Decimal(format(_HELD_DIGITS.plus(value), "f"))


_HELD = 18
_HELD_DIGITS = Context(prec=_HELD)


def say(measure: Measure, context: WritingContext | None = None) -> str:
    """Write a measure as a reader wants it: 'creatinine 196 umol/L, 12 Mar 06:10'."""
    if isinstance(measure.value, str):
        said = measure.value
    else:
        unit = unit_words(measure.unit) if measure.unit is not None else ""
        said = f"{plain(measure.value)} {unit}" if unit else plain(measure.value)
    when = f", {context.clock(measure.at)}" if context is not None and measure.at is not None else ""
    return clean(f"{measure.label} {said}{when}")
