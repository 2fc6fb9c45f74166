"""One resource that records decisions, and how its codes and words are read.

Shared by everything that can carry a plan. A source keeps what all of its directives
have in common: where they stand, when they were recorded, until when they hold, by whom.
"""

from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal, InvalidOperation

from weatherglass.fhir.datatypes import CodeableConcept, Period, Quantity, Range, Reference
from weatherglass.fhir.r4 import Resource
from weatherglass.fhir.reading.collector import Collector
from weatherglass.fhir.reading.entries.gate import is_modified, say_status
from weatherglass.fhir.reading.observations.sent_values import shortened
from weatherglass.fhir.reading.patient_data import PatientData, SentEntry
from weatherglass.fhir.reading.plans.plan_words import (
    HIGHEST_TARGET,
    LOWEST_TARGET,
    Said,
    names_a_plan,
    read_words,
)
from weatherglass.fhir.reading.problems.concept_words import has_code, text_of, texts_of
from weatherglass.fhir.safe_text import one_line
from weatherglass.model.plain import Plain
from weatherglass.model.record.care import Directive, DirectiveKind, Resuscitation
from weatherglass.model.sources import Origin
from weatherglass.model.times.known_times import latest
from weatherglass.model.words.patterns import when_asked
from weatherglass.terminology import plans as known

_LONGEST_PLAN = 400
_LONGEST_NUMBER = 20


class PlanSource(Plain, frozen=True):
    """What every directive from one resource shares."""

    collector: Collector
    data: PatientData
    path: str
    origin: Origin
    at: datetime | None = None
    roughly: datetime | None = None
    ends: datetime | None = None
    recorded_by: str = ""

    def keep(self, said: Iterable[Said]) -> None:
        """Record decisions, each once."""
        for one in dict.fromkeys(said):
            self.data.directives.append(
                Directive(
                    origin=self.origin,
                    kind=one.kind,
                    at=self.at,
                    roughly=self.roughly,
                    ends=self.ends,
                    text=one_line(one.text),
                    resuscitation=one.resuscitation,
                    target_low=one.target_low,
                    target_high=one.target_high,
                    spo2_scale=one.spo2_scale,
                    recorded_by=self.recorded_by,
                    wants_support=one.wants_support,
                )
            )

    def say(self, issue: str, element: str) -> None:
        """Write down an issue, by its name in `knowledge/issues.csv`, at an element of the resource."""
        self.collector.say(issue, f"{self.path}.{element}" if element else self.path, self.data.key)

    def undecided(self, element: str, words: str = "") -> None:
        """Write down that a part touches a decision without making one, and keep that it was sent."""
        self.say("undecided", element)
        if names_a_plan(words):
            self.keep([Said(kind=DirectiveKind.UNREAD, text=one_line(words[:_LONGEST_PLAN]))])

    def unread(self, words: str) -> None:
        """Keep that something was sent as a decision, which says none that can be read."""
        self.keep([Said(kind=DirectiveKind.UNREAD, text=shortened(words))])

    def in_force(self, element: str, status: str, *, used: Iterable[str], others: Iterable[str]) -> bool:
        """Tell whether a status counts; write down when it does not."""
        if status in used:
            return True
        say_status(
            self.collector,
            f"{self.path}.{element}",
            "a decision",
            is_known=status in others,
            patient=self.data.key,
        )
        return False

    def is_modified(self, resource: Resource) -> bool:
        """Tell whether a modifier keeps the resource from being used; write it down."""
        return is_modified(self.collector, resource, self.path, self.data.key)

    # Codes and words

    def in_concept(self, concept: CodeableConcept | None, element: str, *, is_target: bool) -> list[Said]:
        """Read a concept by its codes and by its words."""
        if concept is None:
            return []
        found = [for_cpr(answer) for answer in answers(concept)]
        for coding in concept.coding:
            code = coding.code or ""
            kind = known.TREATMENT_ANSWERS.get(code)
            if kind is not None:
                found.append(Said(kind=kind, text=text_of(concept) or known.TREATMENT_WORDS[code]))
            elif code in known.END_OF_LIFE_CODES:
                found.append(Said(kind=DirectiveKind.END_OF_LIFE, text=text_of(concept)))
        told = {one.kind for one in found if one.kind is not DirectiveKind.RESUSCITATION}
        worded = self.in_texts(texts_of(concept), element, is_target=is_target)
        found.extend(one for one in worded if one.kind not in told)
        return found

    def in_texts(
        self, texts: Iterable[str], element: str, *, is_target: bool, about_oxygen: bool = False
    ) -> list[Said]:
        """Read decisions in words; write down where a text leaves one open."""
        found: list[Said] = []
        undecided = ""
        for text in texts:
            reading = read_words(text, about_oxygen=about_oxygen, is_target=is_target)
            found.extend(reading.said)
            undecided = undecided or (text if reading.undecided else "")
        if undecided:
            self.undecided(element, undecided)
        return found

    def target(self, held: Range, element: str) -> list[Said]:
        """Read a saturation target from a range in percent."""
        low, high = _percent(held.low), _percent(held.high)
        if low is None or high is None or not LOWEST_TARGET <= low < high <= HIGHEST_TARGET:
            self.say("not-a-target", element)
            return []
        return [Said(kind=DirectiveKind.OXYGEN_TARGET, target_low=low, target_high=high)]


def open_source(
    collector: Collector,
    data: PatientData,
    entry: SentEntry,
    origin: Origin,
    *,
    recorded: str | None,
    period: Period | None,
    recorded_by: str,
) -> PlanSource:
    """Open a source; a date that cannot be read is written down and left out."""
    starts, ends = collector.period(period)
    written = collector.begins(recorded)
    # A plan written today for tomorrow is not in force today.
    at = latest((starts, written))
    dates = (recorded, period.start if period else None, period.end if period else None)
    known = [collector.roughly(text) for text in dates[:2]] if at is None else []
    roughly = max((when.at for when in known if when is not None), default=None)
    source = PlanSource(collector, data, entry.path, origin, at, roughly, ends, recorded_by)
    if roughly is not None:
        source.say("decision-day-unknown", "")
    elif any(text and collector.dated(text) is None for text in dates):
        source.say("decision-date-not-read", "")
    return source


def for_cpr(answer: Resuscitation) -> Said:
    """Return a resuscitation decision."""
    return Said(kind=DirectiveKind.RESUSCITATION, resuscitation=answer)


def answers(concept: CodeableConcept | None) -> list[Resuscitation]:
    """Return the resuscitation decisions a concept's codes state."""
    if concept is None:
        return []
    found = [known.RESUSCITATION_ANSWERS.get(coding.code or "") for coding in concept.coding]
    return list(dict.fromkeys(answer for answer in found if answer is not None))


def speaks(concept: CodeableConcept | None, *, is_target: bool) -> bool:
    """Tell whether a concept touches a decision, by its codes or its words."""
    if concept is None:
        return False
    if answers(concept) or has_code(concept, known.END_OF_LIFE_CODES | set(known.TREATMENT_ANSWERS)):
        return True
    return any(touches(text, is_target=is_target) for text in texts_of(concept))


def touches(text: str | None, *, is_target: bool) -> bool:
    """Tell whether words touch a decision."""
    return bool(text) and read_words(text or "", is_target=is_target).touches


def names_cpr(concept: CodeableConcept | None, words: str = "") -> bool:
    """Tell whether an act is resuscitation itself."""
    if has_code(concept, known.RESUSCITATION_ACTS):
        return True
    said = [text.casefold().strip() for text in [*texts_of(concept), words]]
    return any(text == "cpr" or "resuscitation" in text for text in said)


def is_saturation(concept: CodeableConcept | None) -> bool:
    """Tell whether a measure is oxygen saturation."""
    said = " ".join(texts_of(concept)).casefold()
    return has_code(concept, known.SATURATION_CODES) or any(
        word in said for word in ("saturation", "spo2", "sats")
    )


def is_oxygen(concept: CodeableConcept | None) -> bool:
    """Tell whether an order is for oxygen."""
    said = " ".join(texts_of(concept)).casefold()
    return has_code(concept, known.OXYGEN_ORDER_CODES) or "oxygen" in said or is_saturation(concept)


def who(*references: Reference | None) -> str:
    """Return who recorded it as the record says it: a display, else the reference."""
    shown = (one_line(one.display or one.reference or "") for one in references if one is not None)
    return next((text for text in shown if text), "")


def first_text(texts: Iterable[str]) -> str:
    """Return the first text that says something."""
    return next((one_line(text) for text in texts if text.strip()), "")


def number_in(raw: bytes) -> Decimal | None:
    """Return a JSON number, or None when it is not one of reasonable length."""
    text = bytes(raw)
    if not text or len(text) > _LONGEST_NUMBER or text[0] not in b"-0123456789":
        return None
    try:
        return Decimal(text.decode("ascii"))
    except (InvalidOperation, UnicodeDecodeError):
        return None


def _percent(quantity: Quantity | None) -> Decimal | None:
    if quantity is None or quantity.comparator or (quantity.code or quantity.unit) not in ("%", "percent"):
        return None
    return number_in(quantity.value)


# Orders for oxygen


_OXYGEN = when_asked(r"\boxygen\b")


def names_oxygen(text: str) -> bool:
    """Tell whether an order is one for oxygen, by its words."""
    return _OXYGEN.search(text.casefold()) is not None


def keep_target(
    collector: Collector,
    data: PatientData,
    entry: SentEntry,
    origin: Origin,
    texts: Iterable[str],
    *,
    at: datetime | None,
    ends: datetime | None,
) -> None:
    """Record the target that the words of an oxygen order name, if they name one."""
    source = PlanSource(collector, data, entry.path, origin, at, None, ends)
    found = source.in_texts(texts, "dosageInstruction", is_target=False, about_oxygen=True)
    source.keep(one for one in found if one.kind is DirectiveKind.OXYGEN_TARGET)
