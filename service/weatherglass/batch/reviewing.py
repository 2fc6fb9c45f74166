"""One patient's lines in, one patient's lines of every output file out.

This is the one function that every engine runs. Its answer depends on the lines as a
set and on the settings, on nothing else: not on their order, the files they came from,
or who runs it.

Versions of one resource are told apart here, among the lines of one patient. A newer
version that names another patient, and a deletion in another Bundle, do not reach the
older version: whose lines come together is decided without comparing versions.
"""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from hashlib import sha1
from typing import NamedTuple

import msgspec

from weatherglass.batch.output.line_outcomes import (
    Reason,
    is_used,
    name_of,
    named,
    origin_of,
    origins_in,
    rejection,
    reserved,
)
from weatherglass.batch.output.table_rows import Sections, nobodys_lines, table_lines, unchanged_lines
from weatherglass.batch.output.totals import Burden, Totals, add_up
from weatherglass.batch.sources.framing import CONTAINER, INCOMPLETE, SAME_NUMBER, opened_all, text_of
from weatherglass.batch.ward.ward_row import WardRow, changed, refused_row, row_line, ward_row
from weatherglass.fhir.issues import Issue, IssueKey, Severity, UnreadableError, named_issue
from weatherglass.fhir.reading.bundle import Reading, items_of, read_items
from weatherglass.fhir.reading.patient_data import SentEntry
from weatherglass.fhir.writing.bundle import lines_of, outcome_entry, write_collection
from weatherglass.fhir.writing.frame.detail import Detail, Stamp
from weatherglass.fhir.writing.frame.terms import Terms
from weatherglass.model.findings import State
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.review import Review
from weatherglass.model.signals import label_of
from weatherglass.pipeline import Answer, review_reading, vocabulary_of

#: Sections of the output that are no resource type.
REJECTED, PATIENTS, WARD = "rejected", "patients", "ward"
_CRASHED = "The review of this patient failed ({}); nothing was concluded. Please report it."
_ENDED = "The review of this patient was ended by the system twice; nothing was concluded."
_UNREADABLE = "Nothing that was sent for this patient could be used."
_MARKS = (INCOMPLETE, SAME_NUMBER)
_NOTHING_TIMED = "There is nothing with a time to review."


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """What a whole run shares.

    Attributes:
        as_of: Moment of the review; the newest datum of each record when None.
        choices: What the site has chosen.
        stamp: The software and its rules.
        detail: How much is written of each review; the ward list is the same.
        tables: Whether the tables are written too; what is reviewed is the same.
    """

    as_of: datetime | None
    choices: LocalChoices
    stamp: Stamp
    detail: Detail = Detail.FULL
    tables: bool = False

    @property
    def fingerprint(self) -> str:
        """Return what is the same for two runs that would review the same lines alike."""
        stamp = self.stamp
        told: tuple[object, ...] = (self.as_of, self.choices, stamp.software, sorted(stamp.rules.items()))
        told = (*told, stamp.code_base, *([self.detail.value] if self.detail is not Detail.FULL else []))
        return sha1(repr(told).encode(), usedforsecurity=False).hexdigest()


class Entry(msgspec.Struct, kw_only=True):
    """What is remembered of a patient for a later run: one line of `patients.ndjson`.

    Attributes:
        patient: The name under which the lines came together. Where several servers have a patient of this
            name, each has a line of this name, and the row says which server's patient it is.
        digest: Of all lines that went into the review, the rules and the settings.
        outcomes: Lines used, not needed, rejected.
    """

    patient: str
    digest: str
    lines: int
    outcomes: tuple[int, int, int] = msgspec.field(name="fates")
    refused: str = ""
    row: WardRow


@dataclass(slots=True, kw_only=True)
class PatientOutput:
    """What a patient adds to the output.

    Attributes:
        sections: Lines by resource type, and the sections that are none.
        totals: Counts.
    """

    sections: dict[str, list[bytes]] = field(default_factory=dict)
    totals: Totals = field(default_factory=Totals)

    def put(self, section: str, *lines: bytes) -> None:
        """Add lines to a section."""
        self.sections.setdefault(section, []).extend(lines)

    def put_all(self, sections: Sections) -> None:
        """Add lines to several sections."""
        for section, lines in sections:
            self.put(section, *lines)


def review_group(
    key: str,
    lines: Sequence[bytes],
    shared: Sequence[bytes],
    settings: Settings,
    *,
    earlier: Sequence[Entry] = (),
    ended: bool = False,
) -> PatientOutput:
    """Review the lines of one patient, or of those whom several servers call alike, or judge nobody's.

    Args:
        key: Name of the patient; one of nobody's begins with "!" or "?".
        lines: The patient's own lines, in any order.
        shared: Lines that the patient's lines refer to, in any order, repeated or not.
        settings: What the whole run shares.
        earlier: What an earlier run remembers under this name.
        ended: Whether the system has ended the review of this patient before.
    """
    own = sorted(line for line in lines if line not in _MARKS)
    marks = [mark for mark in _MARKS if mark in lines]
    others = sorted(set(shared))
    output = PatientOutput()
    output.totals.lines = len(own)
    if key[:1] in "!?":
        _judge(output, own, tables=settings.tables)
        return output
    digest = _digest(settings, own, others, marks)
    if earlier and earlier[0].digest == digest:
        _carry_over(output, earlier)
        if settings.tables:
            output.put_all(unchanged_lines([each.row.patient for each in earlier]))
        return output
    items = opened_all([*own, *others, *(mark for mark in marks if mark == INCOMPLETE)])
    entry = Entry(patient=key, digest=digest, lines=len(own), outcomes=(0, 0, 0), row=WardRow(patient=key))
    found = _Found([entry])
    if ended:
        _refuse(output, entry, own, items, Reason("ended", "", _ENDED))
    else:
        found = _review(output, entry, own, items, settings, double=SAME_NUMBER in marks)
    output.totals.patients = len(found.entries)
    if settings.tables:
        people = [(each.row.patient, each.refused) for each in found.entries]
        output.put_all(table_lines(key, people, found.answer))
    _compare(output, found.entries, earlier)
    for each in found.entries:
        output.put(PATIENTS, msgspec.json.encode(each) + b"\n")
        output.put(WARD, row_line(each.row))
    return output


class _Found(NamedTuple):
    """What came of the lines: an entry a person, and the answer; None when the review failed."""

    entries: list[Entry]
    answer: Answer | None = None


def _digest(settings: Settings, own: Sequence[bytes], others: Sequence[bytes], marks: Sequence[bytes]) -> str:
    digest = sha1(settings.fingerprint.encode(), usedforsecurity=False)
    digest.update(b"\n".join(own))
    digest.update(b"\n\n" + b"\n".join([*others, *marks]))
    return digest.hexdigest()


# A patient


def _review(
    output: PatientOutput,
    entry: Entry,
    own: Sequence[bytes],
    items: Sequence[SentEntry],
    settings: Settings,
    *,
    double: bool,
) -> _Found:
    """Review a patient and count what comes of it."""
    try:
        reading = read_items(items, vocabulary=vocabulary_of(settings.choices))
        if double:
            reading = replace(reading, issues=(*reading.issues, _double(entry.patient)))
        answer = review_reading(reading, as_of=settings.as_of, choices=settings.choices)
        issues = [named(issue, items) for issue in answer.issues]
        collection = write_collection(answer.reviews, issues, settings.stamp, detail=settings.detail)
    except UnreadableError as unreadable:
        _refuse(output, entry, own, items, Reason(IssueKey.EMPTY.value, "", _UNREADABLE), unreadable.issues)
        issues = [named(issue, items) for issue in unreadable.issues]
        outcome = outcome_entry(issues, Terms(settings.stamp.code_base), [entry.patient])
        output.put("OperationOutcome", *lines_of([outcome]))
        return _Found([entry], Answer((), tuple(issues), 0))
    except Exception as error:  # noqa: BLE001 - one patient's fault must not take the others with it
        _refuse(output, entry, own, items, Reason("fault", "", _CRASHED.format(type(error).__name__)))
        return _Found([entry])
    # The software is the same for everybody and is written once.
    written = [each for each in collection["entry"] if each["resource"]["resourceType"] != "Device"]
    for each, line in zip(written, lines_of(written), strict=True):
        output.put(each["resource"]["resourceType"], line)
    _settle(output, entry, own, items, reading)
    _count_inputs(output.totals, reading)
    entries = _entries(entry, reading, answer)
    output.totals.reviewed = len(answer.reviews)
    output.totals.refused = output.totals.empty = len(entries) - len(answer.reviews)
    for each_review in answer.reviews:
        _count_findings(output.totals, each_review)
    return _Found(entries, Answer(answer.reviews, tuple(issues), answer.counted))


def _entries(entry: Entry, reading: Reading, answer: Answer) -> list[Entry]:
    """Return an entry for each person, the first with the counts of the lines; who has no review is empty."""
    reviews = {str(review.subject.origin): review for review in answer.reviews}
    people = [key for key, _ in reading.records] or [entry.patient]
    others = msgspec.structs.replace(entry, lines=0, outcomes=(0, 0, 0))
    return [
        _entry(entry if number == 0 else others, person, reviews.get(person))
        for number, person in enumerate(people)
    ]


def _entry(entry: Entry, person: str, review: Review | None) -> Entry:
    if review is None:
        row = refused_row(person, _NOTHING_TIMED, empty=True)
        return msgspec.structs.replace(entry, refused=_NOTHING_TIMED, row=row)
    return msgspec.structs.replace(entry, row=ward_row(review))


def _double(patient: str) -> Issue:
    """Say that another patient of the run has the same number; every line is used all the same."""
    return named_issue("same-number-in-run", f"{patient}.identifier", patient)


def _settle(
    output: PatientOutput, entry: Entry, own: Sequence[bytes], items: Sequence[SentEntry], reading: Reading
) -> None:
    """Count what became of the patient's lines, and keep the rejected ones."""
    used: set[str] = set()
    for key, record in reading.records:
        used |= origins_in(record)
        used.discard(key)
    rejected = 0
    # Versions of one Patient are one person; two servers' are two.
    several = len(reading.records) > 1
    persons = {_person(item, several=several) for item in items[: len(own)] if item.kind == "Patient"}
    for number, reasons in sorted(reserved(reading.issues, items, len(own)).items()):
        item = items[number]
        if is_used(item, used):
            continue
        rejected += 1
        persons.discard(_person(item, several=several))
        _reject(output, own[number], entry.patient, item, reasons)
    kept = min(len(used) + len(persons), len(own) - rejected)
    _count_lines(output, entry, used=kept, rejected=rejected)


def _person(item: SentEntry, *, several: bool) -> str:
    return item.full_url or origin_of(item) if several else origin_of(item)


def _refuse(
    output: PatientOutput,
    entry: Entry,
    own: Sequence[bytes],
    items: Sequence[SentEntry],
    reason: Reason,
    issues: Sequence[Issue] = (),
) -> None:
    """Reject all lines of a patient who cannot be reviewed, each with its own reasons besides."""
    about = reserved(issues, items, len(own))
    for number, line in enumerate(own):
        _reject(output, line, entry.patient, items[number], [*about.get(number, []), reason])
    _count_lines(output, entry, used=0, rejected=len(own))
    output.totals.refused = 1
    entry.refused = reason.text
    entry.row = refused_row(entry.patient, reason.text)


def _count_lines(output: PatientOutput, entry: Entry, *, used: int, rejected: int) -> None:
    totals = output.totals
    totals.used, totals.rejected = used, rejected
    totals.not_needed = totals.lines - used - rejected
    entry.outcomes = (used, totals.not_needed, rejected)


def _count_findings(totals: Totals, review: Review) -> None:
    word = review.urgency.word
    totals.urgencies[word] = totals.urgencies.get(word, 0) + 1
    for finding in review.findings:
        burden = totals.kinds.setdefault(finding.kind.value, Burden())
        setattr(burden, finding.urgency.word, getattr(burden, finding.urgency.word) + 1)
        burden.new += finding.state is State.NEW


def _count_inputs(totals: Totals, reading: Reading) -> None:
    """Count what values were read as, which codes were not read, and what was left out."""
    for _, record in reading.records:
        add_up(totals.read_as, {label_of(signal): len(each) for signal, each in record.numbers.items()})
        add_up(totals.read_as, {label_of(signal): len(each) for signal, each in record.codes.items()})
    add_up(totals.not_read, reading.unread)
    add_up(totals.left_out, Counter(issue.key.value for issue in reading.issues))


def _reject(
    output: PatientOutput, line: bytes, patient: str, item: SentEntry, reasons: Sequence[Reason]
) -> None:
    output.put(REJECTED, rejection(line, patient, name_of(item), reasons))
    issue = reasons[0].issue
    output.totals.reasons[issue] = output.totals.reasons.get(issue, 0) + 1


# An earlier run


def _carry_over(output: PatientOutput, earlier: Sequence[Entry]) -> None:
    """Keep what an earlier run found: the same lines would give the same review."""
    output.totals.patients = output.totals.patients_unchanged = len(earlier)
    output.totals.unchanged = output.totals.lines
    for each in earlier:
        output.put(PATIENTS, msgspec.json.encode(each) + b"\n")
        row = msgspec.structs.replace(each.row, change=None, unchanged=True)
        output.put(WARD, row_line(row))


def _compare(output: PatientOutput, entries: Sequence[Entry], earlier: Sequence[Entry]) -> None:
    before = {each.row.patient: each for each in earlier}
    for entry in entries:
        then = before.pop(entry.row.patient, None)
        if then is not None:
            entry.row.change = changed(entry.row, then.row)
            output.totals.with_fewer_lines += int(entry.lines < then.lines)
    output.totals.gone += len(before)


# Nobody


def _judge(output: PatientOutput, own: Sequence[bytes], *, tables: bool) -> None:
    """Say of lines that are nobody's why they cannot be used."""
    for line in own:
        item = SentEntry("line", 0, "", text_of(line))
        try:
            item = msgspec.structs.replace(items_of(text_of(line), CONTAINER)[0], position=0)
            issues = read_items([item]).issues
        except UnreadableError as unreadable:
            issues = unreadable.issues
        reasons = [
            Reason(issue.key.value, _INSIDE.sub("", issue.path), issue.text)
            for issue in issues
            if issue.severity is not Severity.INFORMATION
        ]
        reasons = reasons or [_NOT_A_PATIENT]
        _reject(output, line, "", item, reasons)
        if tables:
            output.put_all(nobodys_lines([(name_of(item), reason) for reason in reasons]))
    output.totals.rejected = len(own)
    output.totals.nobodys = 1


#: The line itself, at the beginning of a path.
_INSIDE = re.compile(rf"^{CONTAINER}(\[0\])?[ .]*")
_NOT_A_PATIENT = Reason(
    IssueKey.NOT_THE_PATIENT.value, "", "The line does not name a patient in a usable way; not used."
)
