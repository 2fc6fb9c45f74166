"""From an opened file to HTML: one patient, a ward, or what is wrong with the file.

The server draws the view, and the browser only shows it: a page that computed in the
browser would be a second implementation of the rules. What the view says comes from
the same `pipeline` as every other door; the raw answer is fetched from the operation
itself. Every template escapes by default.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import datetime
from functools import cache, lru_cache
from pathlib import Path
from typing import Any, NamedTuple

from jinja2 import Environment, FileSystemLoader

from weatherglass.fhir.issues import Issue, UnreadableError, grouped, issues_of
from weatherglass.fhir.reading.bundle import Reading, read_bytes, read_lines
from weatherglass.fhir.safe_text import clean
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.record.record import Record
from weatherglass.model.review import Review
from weatherglass.pipeline import review_reading, vocabulary_of
from weatherglass.review.selection import Selection
from weatherglass.web import criteria_page as criteria
from weatherglass.web.assets import DRAWING_SCRIPTS, PAGE_SCRIPTS, STYLES, policy_hash, text_of
from weatherglass.web.demo_ward import demo_patients
from weatherglass.web.moments import AT_NEWEST, Wanted, chosen_moment
from weatherglass.web.templating import environment
from weatherglass.web.view import PatientView, patient_view
from weatherglass.web.ward_line import ward_view

_TEMPLATES = Path(__file__).parent / "templates"
Reviewed = Sequence[tuple[int, Review, Record]]


class Page(NamedTuple):
    """A piece of HTML with the status it is sent with, and how many patients it shows."""

    status: int
    html: bytes
    patients: int = 0


@cache
def _environment() -> Environment:
    made = environment(FileSystemLoader(_TEMPLATES))
    # Keys stay in the order in which the view gives them; unescaped, so that `clean` sees what is there.
    made.globals["alone"] = False
    made.policies["json.dumps_kwargs"] = {"separators": (",", ":"), "ensure_ascii": False}
    return made


def load_templates() -> None:
    """Make every template ready to be filled."""
    templates = _environment()
    for name in templates.list_templates():
        templates.get_template(name)


def _render(template: str, **values: object) -> bytes:
    return clean(_environment().get_template(template).render(**values)).encode()


def landing_page(launch: Mapping[str, Any] | None = None, *, is_closed: bool = False) -> bytes:
    """Return the page on which a file is opened.

    Args:
        launch: How a record system's records are opened; None when that is not set up.
        is_closed: Whether the service wants callers to sign in.
    """
    return _render(
        "landing.html",
        styles=STYLES,
        scripts=(*DRAWING_SCRIPTS, *PAGE_SCRIPTS),
        demo=demo_patients(),
        launch=launch,
        is_closed=is_closed,
    )


def criteria_page(wanted: criteria.Choice) -> bytes:
    """Return the published tables: the publications, or the rows that are wanted."""
    # Words that only an address brings are answered and not kept.
    return _kept_criteria(wanted) if wanted.is_known else _criteria(wanted)


def _criteria(wanted: criteria.Choice) -> bytes:
    publications = criteria.selected(wanted)
    return _render(
        "criteria.html",
        styles=STYLES,
        publications=publications,
        rows=sum(len(publication.entries) for publication in publications),
        wanted=wanted,
        options=criteria.choices(),
    )


_kept_criteria = lru_cache(maxsize=16)(_criteria)


def failure_page(issues: Sequence[Issue]) -> Page:
    """Return what is said of a file that cannot be reviewed."""
    return Page(422, _render("failure.html", issues=grouped(issues)))


def view_page(
    body: bytes,
    choices: LocalChoices,
    *,
    lines: bool,
    wanted: Wanted = AT_NEWEST,
    patient: int | None = None,
    allowed: Callable[[Iterable[str]], None] = lambda _: None,
) -> Page:
    """Return the view of an opened file.

    Args:
        body: A Bundle, or NDJSON.
        choices: What the site has chosen.
        lines: Whether it is NDJSON.
        wanted: Which moment was asked for.
        patient: Which patient of the file, counted from 0; the ward when None and there are several.
        allowed: Raises when a caller may not send a record of these patients.
    """
    try:
        reading = _read(body, choices, lines=lines)
    except UnreadableError as unreadable:
        return failure_page(unreadable.issues)
    allowed(key for key, _ in reading.records)
    several = len(reading.records) > 1
    # All patients of a file stand at one moment, also where only one of them is shown.
    moment = chosen_moment(wanted, (record for _, record in reading.records))
    if patient is not None:
        reading = only_patient(reading, patient)
    reviewed, issues = review_records(reading, choices, as_of=moment.at)
    kind = "application/fhir+ndjson" if lines else "application/fhir+json"
    if not reviewed:
        return failure_page(issues)
    if len(reviewed) == 1:
        view = _view_of(reviewed[0], issues, choices, body)
        html = _render(
            "patient.html", v=view, from_ward=several, content_type=kind, at_moment=moment.kind, wanted=wanted
        )
        return Page(200, html, 1)
    shared = grouped(issue for issue in issues if not issue.patient)
    html = _render(
        "ward.html",
        ward=ward_view(reviewed),
        issues=shared,
        content_type=kind,
        at_moment=moment.kind,
        wanted=wanted,
    )
    return Page(200, html, len(reviewed))


def _read(body: bytes, choices: LocalChoices, *, lines: bool) -> Reading:
    vocabulary = vocabulary_of(choices)
    return read_lines(body.splitlines(), vocabulary) if lines else read_bytes(body, vocabulary)


def only_patient(reading: Reading, patient: int) -> Reading:
    """Return what was read about one patient."""
    records = reading.records[patient : patient + 1]
    keys = {"", *(key for key, _ in records)}
    issues = tuple(issue for issue in reading.issues if issue.patient in keys)
    return Reading(records, issues, reading.counted)


def review_records(
    reading: Reading,
    choices: LocalChoices,
    *,
    as_of: datetime | None = None,
    only: Selection | None = None,
) -> tuple[Reviewed, tuple[Issue, ...]]:
    """Review every record and keep it beside its review, with its place in the file."""
    answer = review_reading(reading, as_of=as_of, choices=choices, only=only)
    records = {record.subject.origin: (index, record) for index, (_, record) in enumerate(reading.records)}
    reviewed = [(*records[review.subject.origin], review) for review in answer.reviews]
    return [(index, review, record) for index, record, review in reviewed], answer.issues


def _view_of(
    one: tuple[int, Review, Record],
    issues: Sequence[Issue],
    choices: LocalChoices,
    body: bytes,
    key: str = "p",
) -> PatientView:
    _, review, record = one
    own = issues_of(review.subject.origin, issues)
    return patient_view(review, record, own, choices, body=body, key=key)


def stand_alone_page(
    body: bytes,
    choices: LocalChoices,
    *,
    lines: bool,
    as_of: datetime | None = None,
    only: Selection | None = None,
) -> bytes | None:
    """Return the reviews as one document that needs no server: style and scripts stand in it.

    Its own security policy names them by their hashes, so that nothing else can run.
    None when nothing could be reviewed.

    Raises:
        UnreadableError: The body is not usable at all.
    """
    reviewed, issues = review_records(_read(body, choices, lines=lines), choices, as_of=as_of, only=only)
    if not reviewed:
        return None
    styles = [text_of(name) for name in STYLES]
    scripts = [text_of(name) for name in DRAWING_SCRIPTS]
    return _render(
        "stand_alone.html",
        views=[_view_of(one, issues, choices, body, f"p{one[0]}") for one in reviewed],
        alone=True,
        styles=styles,
        scripts=scripts,
        style_hashes=" ".join(policy_hash(text) for text in styles),
        script_hashes=" ".join(policy_hash(text) for text in scripts),
    )
