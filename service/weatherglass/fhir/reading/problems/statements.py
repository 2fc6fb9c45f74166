"""What says something of a patient in words that nobody reads here: that it is there is said.

A conclusion, an impression, a flag: half of a sentence about a scan can say its contrary, so none of them is
read for a meaning. Each stands between a quiet review and "nothing urgent found" for a day; a flag as long as
it is up. An emergency among its codes is a problem of then. Which types, and in which states, is one table.
"""

from collections.abc import Iterable, Iterator
from typing import Final

from msgspec import Raw, Struct, field

from weatherglass.fhir import r4
from weatherglass.fhir.datatypes import CodeableConcept, Period, Reference
from weatherglass.fhir.decoding import UNREADABLE, decode
from weatherglass.fhir.reading.collector import Collector
from weatherglass.fhir.reading.entries.gate import has_modifier
from weatherglass.fhir.reading.observations.sent_values import name_of
from weatherglass.fhir.reading.patient_data import PatientData, SentEntry
from weatherglass.fhir.reading.people.addresses import short_name
from weatherglass.fhir.reading.problems.concept_words import text_of
from weatherglass.fhir.reading.problems.problem_words import said_of
from weatherglass.fhir.times import When
from weatherglass.knowledge.emergencies.acute_problems import EMERGENCIES
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.problems import Condition
from weatherglass.model.record.values import PutUp, SentValue
from weatherglass.model.sources import Origin
from weatherglass.model.words.lists import capital
from weatherglass.model.words.patterns import when_asked
from weatherglass.terminology.observations import OWN_RESULTS

_OWN = OWN_RESULTS.encode()
_REPORTED = frozenset({"final", "amended", "corrected", "appended"})


class _Finding(Struct, gc=False):
    """What an impression found."""

    itemCodeableConcept: CodeableConcept | None = None


class _Statement(r4.Resource, gc=False):
    """Any of them, as far as this needs it."""

    status: str = ""
    actuality: str = ""
    priority: str = ""
    identifier: Raw = Raw()
    code: CodeableConcept | None = None
    event: CodeableConcept | None = None
    topic: CodeableConcept | None = None
    category: tuple[CodeableConcept, ...] = ()
    subject: Reference | None = None
    patient: Reference | None = None
    forWhom: Reference | None = field(default=None, name="for")
    effectiveDateTime: str | None = None
    effectivePeriod: Period | None = None
    occurrenceDateTime: str | None = None
    occurrencePeriod: Period | None = None
    identifiedDateTime: str | None = None
    identifiedPeriod: Period | None = None
    period: Period | None = None
    issued: str | None = None
    date: str | None = None
    detected: str | None = None
    authored: str | None = None
    authoredOn: str | None = None
    sent: str | None = None
    basedOn: tuple[Reference, ...] = ()
    result: tuple[Reference, ...] = ()
    conclusion: str = ""
    conclusionCode: tuple[CodeableConcept, ...] = ()
    presentedForm: Raw = Raw()
    finding: tuple[_Finding, ...] = ()


class _Row(Plain, frozen=True):
    """One type of FHIR R4: what of it is a statement.

    Attributes:
        word: What it is called behind its name.
        states: The `status` (or `actuality`) in which it says something.
        sure: Those of them in which it may not change any more.
        about: The element that names the patient.
        name: The element with the concept that names it.
        times: The elements that may hold its time, the best first.
        codes: The elements whose concepts are of what was found.
        priority: The priorities with which it counts; empty where any does.
    """

    word: str
    states: frozenset[str]
    sure: frozenset[str]
    about: str = "subject"
    name: str = "code"
    times: tuple[str, ...] = ()
    codes: tuple[str, ...] = ()
    priority: frozenset[str] = frozenset()


#: "pCO2 6.1 kPa [H], pO2 9.8 kPa. Out of reference range: pCO2": a name of one or two words and its number.
_PARTS: Final = when_asked(r"[,;\u3001\u3002\n]|\.(?!\d)")
_VALUE: Final = when_asked(
    r"(\S+(?: \S+)?) [<>]?=? ?-?\d+(?:\.\d+)?"
    r"(?: ?(?:%|[A-Za-z\u00b5]+|[^\s\d]*[/\[^]\S*|10[*^]\d+/\S+))?(?: \[[HLAN]+\])?"
)
_OUT_OF_RANGE: Final = when_asked(
    r"(?i)^(?:out of|outside) (?:the )?(?:reference|normal) range: ?|^\u53c2\u7167\u7bc4\u56f2\u5916: ?"
)

_OPEN = frozenset({"requested", "received", "accepted", "ready", "in-progress", "on-hold", "active"})
_TOLD = frozenset({"in-progress", "completed"})
_FOUND = _REPORTED | {"registered", "partial", "preliminary"}
#: FHIR R4 value set request-priority: as soon as possible, and at once.
AT_ONCE: Final = frozenset({"asap", "stat"})
#: Of tasks and messages only what somebody waits for: the rest is of the day's routine.
_PRESSING = AT_ONCE | {"urgent"}
#: Statuses are those of FHIR R4. That these types say what a reader of the chart would read is our choice;
#: plans of care and documents are not among them: every patient has some from the first day.
_ROWS: Final = {
    "DiagnosticReport": _Row(
        "report",
        _REPORTED | {"partial", "preliminary"},
        _REPORTED,
        times=("effectiveDateTime", "issued", "effectivePeriod"),
        codes=("conclusionCode",),
    ),
    "ClinicalImpression": _Row(
        "clinical impression",
        _TOLD,
        frozenset({"completed"}),
        times=("date", "effectiveDateTime", "effectivePeriod"),
        codes=("finding",),
    ),
    "AdverseEvent": _Row(
        "adverse event",
        frozenset({"actual", "potential"}),
        frozenset({"actual"}),
        name="event",
        times=("date", "detected"),
        codes=("event",),
    ),
    "Flag": _Row("flag", frozenset({"active"}), frozenset({"active"})),
    "DetectedIssue": _Row(
        "detected issue",
        _FOUND,
        _REPORTED,
        about="patient",
        times=("identifiedDateTime", "identifiedPeriod"),
    ),
    "RiskAssessment": _Row(
        "risk assessment", _FOUND, _REPORTED, times=("occurrenceDateTime", "occurrencePeriod")
    ),
    "QuestionnaireResponse": _Row(
        "questionnaire", _TOLD | {"amended"}, frozenset({"completed", "amended"}), times=("authored",)
    ),
    "Task": _Row("task", _OPEN, _OPEN, about="forWhom", times=("authoredOn",), priority=AT_ONCE),
    "Communication": _Row("message", _TOLD, _TOLD, name="topic", times=("sent",), priority=_PRESSING),
    "CommunicationRequest": _Row(
        "message", _OPEN, _OPEN, name="category", times=("authoredOn",), priority=_PRESSING
    ),
}


def keep_statement(collector: Collector, entry: SentEntry, origin: Origin) -> None:
    """Keep that a resource says something nobody reads, and take the emergencies that its codes name."""
    row = _ROWS.get(entry.kind)
    if row is None:
        return
    try:
        said = decode(entry.raw, _Statement)
    except UNREADABLE:
        return  # Its type is named as not read; nothing of it can be.
    is_said = _counts(row, entry.kind, said)
    answers = {short_name(one.reference) for one in said.basedOn if one.reference}
    if not (is_said or (answers and said.status in _REPORTED)):
        return
    data = collector.whose(getattr(said, row.about), entry)
    if data is None:
        return
    if said.status in _REPORTED:
        data.answered |= answers
    if not is_said:
        return
    named = (*_concepts(said, row.name), *said.category)
    name, shown = _named(next((one for one in named if _has_name(one)), CodeableConcept()), row.word)
    if entry.kind == "Flag":
        _put_up(collector, data, PutUp(name=name, shown=shown, origin=origin), said.period or Period())
        return
    when = next(_times(collector, said, row.times), None)
    if when is None:
        return
    data.saw(when)
    if not _prints_again(said):
        data.keep_sent(SentValue(name=name, shown=shown, at=when.at, origin=origin))
    is_sure = (said.status or said.actuality) in row.sure
    for element in row.codes:
        data.conditions.extend(_emergencies(_concepts(said, element), when, origin, is_sure=is_sure))


def _counts(row: _Row, kind: str, said: _Statement) -> bool:
    """Tell whether it says something, in a state that counts, and was not written by this software."""
    if (said.status or said.actuality) not in row.states:
        return False
    if row.priority and said.priority not in row.priority:
        return False
    # The values of a report are read one by one: what is printed of them again is not.
    has_words = said.conclusion or said.conclusionCode or (said.presentedForm and not said.result)
    if kind == "DiagnosticReport" and not has_words:
        return False
    return not has_modifier(said) and _OWN not in bytes(said.identifier)


def _put_up(collector: Collector, data: PatientData, flag: PutUp, period: Period) -> None:
    """Keep a flag, which says something as long as it is up."""
    when = collector.dated(period.start)
    at = when.at if when is not None else None
    data.put_up.append(replace(flag, at=at, ends=collector.ends(period.end)))


def _prints_again(said: _Statement) -> bool:
    """Tell whether a conclusion only prints the results again that were sent one by one."""
    if not said.result or not said.conclusion:
        return False
    parts = [one.strip() for one in _PARTS.split(said.conclusion) if one.strip()]
    values = [found[1].casefold() for found in map(_VALUE.fullmatch, parts) if found]
    others = [_OUT_OF_RANGE.sub("", one).casefold() for one in parts if not _VALUE.fullmatch(one)]
    return 0 < len(values) <= len(said.result) and set(others) <= {*values, ""}


def _has_name(concept: CodeableConcept) -> bool:
    return bool(concept.text) or any(one.code or one.display for one in concept.coding)


def _named(concept: CodeableConcept, word: str) -> tuple[str, str]:
    """Return what a statement is called, and what it is where that does not say it."""
    if not _has_name(concept):
        return capital(word), ""
    name = name_of(concept)
    return name, "" if word in name.casefold() else word


def _concepts(said: _Statement, element: str) -> Iterator[CodeableConcept]:
    held = getattr(said, element)
    for one in held if isinstance(held, tuple) else (held,):
        concept = one.itemCodeableConcept if isinstance(one, _Finding) else one
        if concept is not None:
            yield concept


def _times(collector: Collector, said: _Statement, elements: Iterable[str]) -> Iterator[When]:
    """Yield the times that are written and name their day at least."""
    for element in elements:
        written = getattr(said, element)
        at = (written.end or written.start) if isinstance(written, Period) else written
        when = collector.dated(at)
        if when is not None:
            yield when


def _emergencies(
    concepts: Iterable[CodeableConcept], when: When, origin: Origin, *, is_sure: bool
) -> Iterator[Condition]:
    """Yield what codes name that is an emergency: a problem of then."""
    for concept in concepts:
        words = said_of((concept,))
        kinds = words.kinds & EMERGENCIES
        if kinds and not words.past:
            yield Condition(
                origin=origin,
                text=text_of(concept),
                kinds=kinds,
                began=when.begins,
                has_onset=True,  # Somebody has just seen it.
                confirmed=is_sure and not words.asked,
            )
