"""One review and its record as a page shows them.

Everything said here comes from the review; the record adds only what is drawn: the
values themselves. Nothing is judged: a page that compared a value with a limit would
be a second, unreviewed rule.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any, TypedDict

from weatherglass.assessments.trends.usual_values import may_hold_the_illness
from weatherglass.facts.bedside import Bedside
from weatherglass.fhir.issues import Issue, Same, Severity, grouped
from weatherglass.medicines.telling.coverage import NOT_CHECKED, counted
from weatherglass.model.findings import Finding, Kind
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.record.record import Record
from weatherglass.model.review import DecisionInShort, DecisionShape, Review
from weatherglass.model.signals import Signal
from weatherglass.model.subject import Sex
from weatherglass.model.words.call_words import call_line, due_in_short
from weatherglass.model.words.person_words import aged, birth, numbered
from weatherglass.review.assess import bedside_at
from weatherglass.web.drawing.clockface import Clockface
from weatherglass.web.drawing.kidneys import KidneysView, kidneys_view
from weatherglass.web.drawing.results_view import ResultsView, results_view
from weatherglass.web.drawing.score_strip import ScoreStripView, score_strip
from weatherglass.web.drawing.signs_row import SignView, signs_row
from weatherglass.web.drawing.strips import StripView, UsualRange, strip_views
from weatherglass.web.drawing.treatments import TreatmentsView, treatments_view
from weatherglass.web.finding_view import LetterView, letter_views
from weatherglass.web.inputs import input_words
from weatherglass.web.medicine_view import MedicineView, asked, chart_caution, medicine_views, silent_words
from weatherglass.web.what_was_sent import NotUsed, not_used


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """Who this is."""

    name: str
    age: str
    sex: str
    born: str
    number: str
    place: str


@dataclass(frozen=True, slots=True, kw_only=True)
class First:
    """What to do first, and by when.

    Attributes:
        urgency: The word at the head; "not assessed" and its like where nobody can tell and nothing calls.
        shape: Which shape goes with the word: the level, or "open" where nobody could assess.
        line: Whom to call and by when, in a sentence; empty where nobody is called.
        due: The deadline alone, and how long ago it passed, for a list.
        not_assessed: What could not be assessed, in a sentence; stands where a call would when there is none.
        left_out: What was sent and nobody looked at, in sentences, where the headline does not say it.
        besides: What the call has to reckon with: a recorded ceiling of treatment.
        bedside: What to do at the bedside until somebody comes; empty where nobody is called.
        due_at: The deadline for a program; empty where it is now or nobody is called.
        is_overdue: Whether it had passed at the moment of the review.
    """

    urgency: str
    level: int
    shape: str
    headline: str
    call: tuple[str, ...]
    line: str
    due: str
    decided_by: str
    besides: str
    bedside: str
    due_at: str
    is_overdue: bool
    investigations: tuple[str, ...]
    not_assessed: str
    left_out: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PatientView:
    """One patient's page.

    Attributes:
        key: Prefix of every id on the page, so that several can stand in one document.
        moment: The moment of the review for a program: the browser compares it with its own clock.
        silent_words: Which lines of the drug chart have no suggestion of their own, and why.
        silent: How many they are.
        restarts: How many suggestions have a restart plan.
        asked: What the drug chart is looked at for, in the words of the head of the page.
        is_stale: Whether the vital signs are too old to rely on, or there are none.
        decisions: The recorded decisions in few words.
        is_plain: Whether they limit nothing, do not conflict and are known: they need no box.
        signs: The seven vital signs in one row.
        results: The newest results.
        notes: The cautions of the findings, each once, as the findings number them.
        ceiling: Recorded decisions; empty when none is recorded, which the page says.
        handover: Title and sentences of each part.
        spoken: The first minute of the call.
        no_kidneys: Why there is nothing about the kidneys, where there is not.
        drawing: Plain values for the browser to draw.
    """

    key: str
    person: Person
    as_of: str
    moment: str
    zone: str
    data_age: str
    is_stale: bool
    decisions: tuple[DecisionInShort, ...]
    is_plain: bool
    ceiling: tuple[str, ...]
    first: First
    score: ScoreStripView | None
    signs: tuple[SignView, ...]
    results: ResultsView
    letters: tuple[LetterView, ...]
    notes: tuple[str, ...]
    silent_words: tuple[str, ...]
    silent: int
    restarts: int
    strips: tuple[StripView, ...]
    treatments: TreatmentsView | None
    kidneys: KidneysView | None
    no_kidneys: str
    medicines: tuple[MedicineView, ...]
    chart_caution: str
    chart_counted: str
    not_checked: str
    asked: tuple[str, ...]
    handover: tuple[tuple[str, tuple[str, ...]], ...]
    not_used: tuple[NotUsed, ...]
    remarks: tuple[Same, ...]
    spoken: tuple[str, ...]
    cautions: tuple[str, ...]
    drawing: Mapping[str, Any]

    @property
    def has_echoes(self) -> bool:
        """Whether a finding says by another rule what one beside it says."""
        return any(finding.echoes for letter in self.letters for finding in letter.findings)


def patient_view(
    review: Review,
    record: Record,
    issues: Sequence[Issue],
    choices: LocalChoices,
    *,
    body: bytes = b"",
    key: str = "p",
) -> PatientView:
    """Return one patient's page as plain values.

    Args:
        review: The review.
        record: What it was made of.
        issues: What could not be used, or used with a reservation.
        choices: What the site has chosen.
        body: What was opened, where inputs that could not be used are looked up; nothing is named without.
        key: Prefix of every id on the page.
    """
    moment = _known(review.as_of or record.newest)
    bedside = bedside_at(record, moment, choices)
    seen = bedside.record
    face = Clockface(review.zone, moment)
    inputs = input_words(seen, face)
    lead = review.lead
    score = score_strip(lead, face) if lead is not None else None
    strips = _strips(bedside, review, face)
    treatments = treatments_view(seen, face)
    kidneys = kidneys_view(seen, review.findings, face)
    letters, notes = letter_views(review, inputs, face)
    return PatientView(
        key=key,
        person=person_of(review, moment),
        as_of=face.dated(moment),
        moment=moment.isoformat(),
        zone=_zone_words(face),
        data_age=review.data_age,
        is_stale=review.is_stale,
        decisions=review.decisions,
        is_plain=all(one.shape is DecisionShape.FOR for one in review.decisions),
        ceiling=review.ceiling,
        first=first_of(review),
        score=score,
        signs=signs_row(strips, lead if lead is not None and lead.is_current else None, face),
        results=results_view(review, face),
        letters=letters,
        notes=notes,
        strips=strips,
        treatments=treatments,
        kidneys=kidneys,
        no_kidneys=_CREATININE_UNREAD
        if Signal.CREATININE.value in bedside.signs_unread
        else "No creatinine is recorded",
        **_chart(review, medicine_views(review.findings, seen, inputs, face, bedside.drug_chart)),
        handover=review.handover.parts,
        spoken=review.handover.spoken,
        not_used=not_used(grouped(i for i in issues if i.severity is not Severity.INFORMATION), body, face),
        remarks=grouped(i for i in issues if i.severity is Severity.INFORMATION),
        cautions=tuple(caution for caution in review.cautions if caution != NOT_CHECKED),
        drawing=_drawing(face, strips, score, treatments, kidneys),
    )


_CREATININE_UNREAD = "A creatinine was sent and not read"


def _strips(bedside: Bedside, review: Review, face: Clockface) -> tuple[StripView, ...]:
    usual = usual_ranges(review.findings, may_be_illness=may_hold_the_illness(bedside))
    is_usual = bedside.confusion_is_usual
    record, unread = bedside.record, bedside.signs_unread
    return strip_views(record, bedside.sets, usual, face, confusion_is_usual=is_usual, unread=unread)


class _Chart(TypedDict):
    """What the page says of the drug chart; the fields of `PatientView`."""

    medicines: tuple[MedicineView, ...]
    silent_words: tuple[str, ...]
    silent: int
    restarts: int
    chart_caution: str
    chart_counted: str
    not_checked: str
    asked: tuple[str, ...]


def _chart(review: Review, medicines: tuple[MedicineView, ...]) -> _Chart:
    return _Chart(
        medicines=medicines,
        silent_words=silent_words(medicines),
        silent=sum(m.silence is not None for m in medicines),
        restarts=sum(m.finding is not None and m.finding.restart is not None for m in medicines),
        chart_caution=chart_caution(review.findings),
        chart_counted=counted(review),
        not_checked=NOT_CHECKED,
        asked=asked(medicines),
    )


def _known(moment: datetime | None) -> datetime:
    if moment is None:
        raise ValueError("A record without any time cannot be reviewed.")
    return moment


def person_of(review: Review, moment: datetime | None) -> Person:
    """Say who this is; what is not recorded is said to be so."""
    subject = review.subject
    age = aged(subject, moment.astimezone(review.zone)) if moment is not None else "age not recorded"
    return Person(
        name=subject.name or "Name not recorded",
        age=age.removesuffix(" old"),
        sex=subject.sex.value if subject.sex in (Sex.FEMALE, Sex.MALE, Sex.OTHER) else "sex not recorded",
        born=birth(subject),
        number=numbered(subject),
        place=review.place or "place not recorded",
    )


def first_of(review: Review) -> First:
    """Say what to do first and by when."""
    call = review.escalation
    return First(
        urgency=review.standing,
        level=int(review.urgency),
        shape="open" if review.is_unassessed else str(int(review.urgency)),
        headline=review.found,
        call=call.roles if call is not None else (),
        line=call_line(call, review.clock) if call is not None else "",
        due=due_in_short(call, review.clock) if call is not None else "",
        decided_by=call.decided_by if call is not None else "",
        besides=call.besides if call is not None else "",
        bedside=review.at_bedside,
        due_at=call.due.isoformat() if call is not None and not call.is_now else "",
        is_overdue=call is not None and call.late is not None,
        investigations=review.investigations,
        not_assessed=review.not_assessed or review.closed,
        left_out=review.unread,
    )


def _zone_words(face: Clockface) -> str:
    offset = face.now.astimezone(face.zone).utcoffset()
    minutes = int((offset or timedelta()).total_seconds() // 60)
    sign = "-" if minutes < 0 else "+"
    return f"UTC{sign}{abs(minutes) // 60:02d}:{abs(minutes) % 60:02d}"


def usual_ranges(findings: Sequence[Finding], *, may_be_illness: bool = False) -> dict[Signal, UsualRange]:
    """Return the patient's own usual ranges, by sign, as the review found them."""
    said = {
        measure.key: measure.value
        for finding in findings
        if finding.kind is Kind.CONTEXT
        for measure in finding.measures
        if isinstance(measure.value, Decimal)
    }
    found: dict[Signal, UsualRange] = {}
    for signal in Signal:
        low, high = said.get(f"{signal.value}-usual-low"), said.get(f"{signal.value}-usual-high")
        if low is not None and high is not None:
            found[signal] = UsualRange(low, high, may_be_illness)
    return found


def _drawing(
    face: Clockface,
    strips: Sequence[StripView],
    score: ScoreStripView | None,
    treatments: TreatmentsView | None,
    kidneys: KidneysView | None,
) -> dict[str, Any]:
    return {
        "asOf": face.seconds(face.now),
        "strips": {strip.key: strip.drawing for strip in strips if strip.drawing},
        "score": score.drawing if score is not None else None,
        "treatments": treatments.drawing if treatments is not None else None,
        "kidneys": kidneys.drawing if kidneys is not None else None,
    }
