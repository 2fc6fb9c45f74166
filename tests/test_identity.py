"""Who it is about, at every door that prints a person: name, birth date, number.

Two identifiers are what a ward checks before it talks about somebody (WHO Collaborating
Centre for Patient Safety Solutions, 2007, Patient identification: "at least two"); from memory.
"""

import csv
import json
from pathlib import Path
from typing import Any

import pytest

from tests.batch.exports import run_batch, write_lines
from tests.records import Json, bundle, full_set, patient, text
from weatherglass.batch.ward.ward_row import ward_row
from weatherglass.cli.commands.demo import ward_list
from weatherglass.cli.printing.text import review_text
from weatherglass.fhir.reading.bundle import read_bytes
from weatherglass.fhir.writing.composition import write_handover
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.review import Review
from weatherglass.pipeline import review, review_reading
from weatherglass.stamp import stamp
from weatherglass.web.page import stand_alone_page, view_page
from weatherglass.web.view import PatientView, patient_view

_WARD = Path(__file__).parents[1] / "fixtures" / "bundles"
_SEPSIS = (_WARD / "01-sepsis.json").read_bytes()


def _view(body: bytes) -> PatientView:
    reading = read_bytes(body)
    answer = review_reading(reading)
    return patient_view(answer.reviews[0], reading.records[0][1], answer.issues, LocalChoices())


def _reviews(path: Path) -> tuple[Review, ...]:
    return review(path.read_bytes()).reviews


def _unnumbered() -> tuple[bytes, Review]:
    body = text(bundle(patient(born=None, name=[{"text": "Ottilie Marsh"}]), *full_set()))
    return body, review(body).reviews[0]


class TestNumber:
    def test_the_handover_begins_with_it(self) -> None:
        """Name, birth date and number are said before anything else."""
        (one,) = review(_SEPSIS).reviews
        assert one.handover.situation[0] == (
            "I am calling about Ambrose Tidewell, born 14 June 1957, number LM-1001, 68 years old, male, "
            "on Larkmoor Ward, bed 1."
        )

    def test_the_handover_document(self) -> None:
        """The Patient in the document has the number, and its narrative says it."""
        answer = review(_SEPSIS)
        document = write_handover(answer.reviews[0], answer.issues, stamp())
        person: Json = next(
            e["resource"] for e in document["entry"] if e["resource"]["resourceType"] == "Patient"
        )
        assert "LM-1001" in [each["value"] for each in person["identifier"]]
        assert "Ambrose Tidewell, born 14 June 1957, number LM-1001" in person["text"]["div"]

    def test_the_text(self) -> None:
        """It stands right below the name."""
        answer = review(_SEPSIS)
        head = review_text(answer.reviews[0], answer.issues).splitlines()
        assert head[1].startswith("Ambrose Tidewell ")
        assert head[2] == "Born 14 June 1957, number LM-1001"
        assert "LM-1001" in ward_list(answer.reviews)

    def test_the_page(self) -> None:
        person = _view(_SEPSIS).person
        assert (person.name, person.born, person.number) == (
            "Ambrose Tidewell",
            "born 14 June 1957",
            "number LM-1001",
        )

    def test_the_ward_list(self, tmp_path: Path) -> None:
        """Table and page name it; a patient without one is said to have none recorded."""
        folder = write_lines(
            tmp_path / "in", [entry["resource"] for entry in json.loads(_SEPSIS)["entry"]], "one.ndjson"
        )
        more = [patient(name=[{"text": "Ottilie Marsh"}]), *full_set(pulse="140 /min")]
        (folder / "two.ndjson").write_bytes(b"\n".join(map(text, more)))
        assert run_batch(folder, tmp_path / "out").exception is None
        with (tmp_path / "out" / "ward-list.csv").open(encoding="utf-8", newline="") as file:
            table = {row["name"]: row["number"] for row in csv.DictReader(file)}
        assert table == {"Ambrose Tidewell": "LM-1001", "Ottilie Marsh": ""}
        page = (tmp_path / "out" / "ward-list.html").read_text("utf-8")
        assert "number LM-1001" in page
        assert "Patient/p, number not recorded" in page


def test_what_is_not_recorded_is_said() -> None:
    """A blank is named, so that the caller fills it in."""
    body, one = _unnumbered()
    assert one.handover.situation[0].startswith(
        "I am calling about Ottilie Marsh, birth date not recorded, number not recorded, age not recorded"
    )
    assert "Birth date not recorded, number not recorded" in review_text(one, ())
    assert _view(body).person.number == "number not recorded"


#: Overrides, embeddings, isolates and marks of Unicode Standard Annex 9, and what a terminal obeys.
_STEERING = "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f\u061c"
_UNSEEN = f"{_STEERING}\x1b\x07\x9b"
_KEPT = frozenset(
    "resourceType id reference fullUrl system code status intent type use gender mode class url value unit "
    "birthDate authoredOn effectiveDateTime start end issued recordedDate dateTime onsetDateTime date "
    "performedDateTime occurrenceDateTime created timestamp method lastUpdated periodUnit".split()
)


def _steered(node: Any) -> Any:
    """Put what cannot be seen into every string that is no code, time, reference or number."""
    if isinstance(node, dict):
        return {key: _inside(key, value) for key, value in node.items()}
    return [_steered(each) for each in node] if isinstance(node, list) else node


def _inside(key: str, value: Any) -> Any:
    if isinstance(value, str):
        return value if key in _KEPT else f"\u202e{value}{_UNSEEN}"
    if isinstance(value, list) and all(isinstance(each, str) for each in value):
        return [f"\u202e{each}{_UNSEEN}" for each in value]
    return _steered(value)


def _seen(said: str) -> list[str]:
    """Return what is left of it, raw or escaped as JSON escapes it."""
    low = said.lower()
    return [f"{ord(c):04x}" for c in _UNSEEN if c in said or f"\\u{ord(c):04x}" in low]


@pytest.fixture(scope="module", params=["01-sepsis", "10-ceiling-of-treatment", "13-recovering-aki"])
def steered(request: pytest.FixtureRequest) -> bytes:
    """A patient of the ward whose every free text would turn a line round."""
    body = json.dumps(_steered(json.loads((_WARD / f"{request.param}.json").read_bytes()))).encode()
    assert _seen(body.decode())
    return body


class TestWhatCannotBeSeen:
    """Names, places and other words are written without it, at every door."""

    def test_text(self, steered: bytes) -> None:
        answer = review(steered)
        assert not _seen(review_text(answer.reviews[0], answer.issues))
        assert not _seen(ward_list(answer.reviews))

    def test_fhir(self, steered: bytes) -> None:
        answer = review(steered)
        assert not _seen(answer.collection(stamp(), members=True).decode())
        assert not _seen(json.dumps(write_handover(answer.reviews[0], answer.issues, stamp()), default=str))

    def test_page(self, steered: bytes) -> None:
        assert not _seen(view_page(steered, LocalChoices(), lines=False).html.decode())
        page = stand_alone_page(steered, LocalChoices(), lines=False)
        assert page is not None
        article = page.decode().partition("<body")[2]
        assert "Weatherglass" in article
        assert not [mark for mark in _UNSEEN if mark in page.decode()]

    def test_ward_list(self, steered: bytes, tmp_path: Path) -> None:
        resources = [entry["resource"] for entry in json.loads(steered)["entry"]]
        assert run_batch(write_lines(tmp_path / "in", resources), tmp_path / "out").exception is None
        for name in ("ward-list.csv", "ward-list.html", "patients.ndjson", "run.json"):
            assert not _seen((tmp_path / "out" / name).read_text("utf-8")), name

    def test_the_words_themselves_stay(self, steered: bytes) -> None:
        """Only the marks go: name, place and number are those of the record without them."""
        (one,) = review(steered).reviews
        plain = {each.subject.origin: each for path in _WARD.glob("*.json") for each in _reviews(path)}
        same = plain[one.subject.origin]
        assert (one.subject, one.place, one.ceiling) == (same.subject, same.place, same.ceiling)
        assert not _seen(repr(one))


def test_letters_from_right_to_left_stay() -> None:
    """Hebrew and Arabic letters, and the joiner that Persian needs, are the name itself."""
    name = "\u05d1\u05d9\u05d0 \u0628\u06cc\u200c\u062a\u0627"
    (one,) = review(text(bundle(patient(name=[{"text": f"\u200f{name}\u202c"}]), *full_set()))).reviews
    assert one.subject.name == name
    assert ward_row(one).name == name
