"""The ward list: who first and why, what changed, what to look at, who has a ceiling."""

import csv
import json
import re
from collections.abc import Iterable, Sequence
from html.parser import HTMLParser
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.batch.exports import BUNDLES, WARD, run_batch
from tests.records import answer_of, flag, full_set, measured, patient
from weatherglass.batch.ward.ward_list import Heading, ordered_rows, write_ward_list
from weatherglass.batch.ward.ward_row import Change, WardRow, refused_row, row_line, ward_row
from weatherglass.model.medicine_findings import MedicineFinding
from weatherglass.model.words.brief_words import rank_on_ward
from weatherglass.pipeline import review


@pytest.fixture(scope="module")
def ward(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo ward, reviewed."""
    out = tmp_path_factory.mktemp("ward") / "out"
    assert run_batch(WARD, out, "--workers", "1").exception is None
    return out


def _table(out: Path) -> list[dict[str, str]]:
    with (out / "ward-list.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


class _Words(HTMLParser):
    """The words of a page, without style and script."""

    def __init__(self) -> None:
        super().__init__()
        self.words: list[str] = []
        self._hidden = 0

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self._hidden += tag in ("style", "script")

    def handle_endtag(self, tag: str) -> None:
        self._hidden -= tag in ("style", "script")

    def handle_data(self, data: str) -> None:
        if not self._hidden and data.strip():
            self.words.append(" ".join(data.split()))


def _words(page: Path) -> str:
    parser = _Words()
    parser.feed(page.read_text("utf-8"))
    return "\n".join(parser.words)


def test_everybody_is_there_and_the_most_urgent_first(ward: Path) -> None:
    """Thirteen patients on one ward, in order of urgency as the reviews say it."""
    table = _table(ward)
    assert len(table) == 13
    assert {row["ward"] for row in table} == {"Larkmoor Ward"}
    order = ["emergency", "urgent", "prompt", "routine"]
    places = [order.index(row["urgency"]) for row in table]
    assert places == sorted(places)
    summaries = [json.loads(line) for line in (ward / "Observation.ndjson").read_bytes().splitlines()]
    urgency = {
        each["subject"]["reference"]: each["valueCodeableConcept"]["coding"][0]["code"]
        for each in summaries
        if each["code"]["coding"][0]["code"] == "review-urgency"
    }
    assert {row["patient"]: row["urgency"] for row in table} == urgency


def test_the_page_says_what_the_table_says(ward: Path) -> None:
    """Every urgent patient stands there with the reason, the call and the decisions."""
    said = _words(ward / "ward-list.html").replace("\n", " ")
    for row in _table(ward):
        assert row["name"] in said
        if row["urgency"] != "routine":
            assert row["why"] in said
            assert row["call"] in said
            for decision in filter(None, row["ceiling"].split(" / ")):
                assert decision in said


def test_who_has_a_ceiling_is_told_apart(ward: Path) -> None:
    """Only patients whose recorded decision limits treatment are marked so."""
    entries = [json.loads(line) for line in (ward / "patients.ndjson").read_bytes().splitlines()]
    limited = {entry["row"]["name"] for entry in entries if entry["row"]["is_limited"]}
    assert limited
    page = (ward / "ward-list.html").read_text("utf-8")
    assert page.count("treatment limited") == len(limited)
    refused = {entry["row"]["name"] for entry in entries if entry["row"]["resuscitation"]}
    assert refused - limited, "a patient who is not for resuscitation and has no ceiling"
    assert page.count('<p class="fresh">DNACPR: NOT for resuscitation') == len(
        [entry for entry in entries if entry["row"]["resuscitation"] == "DNACPR: NOT for resuscitation"]
    )


def test_every_medicine_to_look_at_is_named(ward: Path) -> None:
    """What the reviews suggest about the drug chart stands on the list, medicine by medicine."""
    table = {row["patient"]: row["chart"] for row in _table(ward)}
    named = 0
    for path in sorted(BUNDLES.glob("*.json")):
        for review_of_one in review(path.read_bytes()).reviews:
            for finding in review_of_one.findings:
                if isinstance(finding, MedicineFinding) and finding.action in ("hold", "reduce", "review"):
                    assert finding.medicine in table[str(review_of_one.subject.origin)]
                    named += 1
    assert named > 10


def test_medicines_with_one_reason_share_a_line(ward: Path) -> None:
    """Sedatives to hold for the same reasons are one line, and a new one says so; others are another."""
    chart = next(row["chart"] for row in _table(ward) if row["patient"] == "Patient/gullhaven")
    held = [line for line in chart.split(" / ") if "Consider holding" in line]
    assert len(held) == 2
    assert held[0].startswith("New. Consider holding Morphine sulfate 30 mg")
    assert "Pregabalin 150 mg capsules" in held[0]
    assert "Consider holding Diazepam 5 mg tablets:" in held[1]


def test_the_page_is_whole_in_itself(ward: Path) -> None:
    """Wards are offline, and a page with patients' data fetches nothing from anywhere."""
    page = (ward / "ward-list.html").read_text("utf-8")
    for mark in ("http://", "https://", "<script", "src=", "@import", "url("):
        assert mark not in page, mark
    assert "size: A4" in page


def _rows() -> Iterable[WardRow]:
    yield WardRow(patient="Patient/a", name="=1+1", ward="Ward 10", rank=3, urgency="emergency", why="<b>x")
    yield WardRow(patient="Patient/b", name="Ash", ward="Ward 10", rank=0, urgency="routine")
    change = Change(urgency="routine", new=["N"])
    yield WardRow(patient="Patient/c", ward="Ward 10", rank=2, urgency="urgent", change=change)


def _written(folder: Path, rows: Iterable[WardRow], warnings: Sequence[str] = ()) -> tuple[str, str]:
    table, page = folder / "t.csv", folder / "p.html"
    above = Heading(summary=["S"], warnings=warnings, software="Weatherglass")
    write_ward_list(list(rows), above, table, page)
    return table.read_text("utf-8"), page.read_text("utf-8")


def test_names_cannot_become_code(tmp_path: Path) -> None:
    """A name from a record is text, in a page and in a spreadsheet."""
    table, page = _written(tmp_path, _rows())
    assert "'=1+1" in table
    assert "<b>x" not in page
    assert "&lt;b&gt;x" in page


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\uff1d", "\uff0b", "\uff0d", "\uff20"])
@pytest.mark.parametrize("before", ["", " ", "x;", "x; ", "x|", "x\t", "x\r"])
def test_no_cell_begins_a_formula_whatever_separates_lists(tmp_path: Path, before: str, sign: str) -> None:
    """Spreadsheets of some countries take a semicolon for the end of a cell, inside quotes as well."""
    row = WardRow(patient="Patient/a", name=f"{before}{sign}1+1", ward="W", rank=3, urgency="emergency")
    table, _ = _written(tmp_path, [row])
    (cell,) = [one["name"] for one in csv.DictReader(table.splitlines())]
    for part in re.split("[;|\t]", cell):
        assert not part.strip() or part.strip()[0] not in "=+-@\uff1d\uff0b\uff0d\uff20"
    assert f"{sign}1+1" in cell


def test_every_cell_is_quoted(tmp_path: Path) -> None:
    """RFC 4180 section 2.5: a quoted field may hold anything."""
    table, _ = _written(tmp_path, _rows())
    assert all(line.startswith('"') and line.endswith('"') for line in table.splitlines())
    assert '""' in table


def test_what_changed_since_is_said(tmp_path: Path) -> None:
    """Was routine, is urgent; and what is new."""
    table, page = _written(tmp_path, _rows())
    assert "Was routine, is urgent. / New: N" in table
    assert "Was routine, is urgent." in page


def test_who_was_not_assessed_is_not_among_the_routine(tmp_path: Path) -> None:
    """One creatinine and no vital sign: a block of its own that says so, and no word of routine."""
    (one,) = answer_of(patient(), measured("scr", "creatinine", "118", "umol/L")).reviews
    row = ward_row(one)
    row.ward = "Ward 10"
    table, page = _written(tmp_path, [row])
    assert (row.urgency, row.is_assessed) == ("not assessed", False)
    assert "Not assessed: no vital signs are recorded." in page
    assert "routine" not in page.partition("</style>")[2]
    assert "not assessed" in table


def test_who_was_not_assessed_stands_before_the_routine() -> None:
    """As on the page of the ward; in the list of a batch run the dying, whose score is high, came first."""
    (ill,) = answer_of(patient(), *full_set(respiration_rate="30 /min")).reviews
    (dying,) = answer_of(patient(), flag("Last days of life"), *full_set(spo2="80 %")).reviews
    (unknown,) = answer_of(patient(), measured("scr", "creatinine", "60", "umol/L")).reviews
    some = (dying, unknown)
    assert [one.standing for one in some] == ["routine", "not assessed"]
    assert (
        sorted(some, key=rank_on_ward)
        == sorted(some, key=lambda one: ward_row(one).order)
        == [unknown, dying]
    )
    assert ward_row(ill).order < ward_row(unknown).order


def test_a_warning_stands_above_everything(tmp_path: Path) -> None:
    """A damaged input is the first thing that a reader sees."""
    _, page = _written(tmp_path, _rows(), warnings=["The input was damaged"])
    assert page.index("The input was damaged") < page.index("Ward 10")


_NAMES = st.sampled_from(["", "Ward 2", "Ward 10", "ward 2", "Ärzte\t7", "A|B"])


@pytest.mark.property
@given(st.lists(st.tuples(_NAMES, st.integers(-1, 3), st.integers(0, 40)), max_size=30))
def test_both_ways_of_sorting_agree(
    tmp_path_factory: pytest.TempPathFactory, rows: list[tuple[str, int, int]]
) -> None:
    """In memory and by DuckDB: one order, each row once."""
    path = tmp_path_factory.mktemp("rows") / "ward-rows.part"
    lines = []
    for number, (ward, rank, score) in enumerate(rows):
        row = refused_row(f"Patient/{number}", "why", empty=rank == 3)
        row.ward, row.order = ward, f"{ward}|{rank}|{score}|{number}".replace("\t", " ")
        lines.append(row_line(row))
    path.write_bytes(b"".join(lines))
    in_memory = [row.patient for row in ordered_rows(path)]
    assert [row.patient for row in ordered_rows(path, in_memory=-1)] == in_memory
    assert sorted(in_memory) == sorted(f"Patient/{number}" for number in range(len(rows)))
