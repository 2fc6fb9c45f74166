"""`weatherglass.review`: whatever a record is given as, the answer is that of every other door."""

import gzip
import json
import subprocess
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import duckdb
import pyarrow as pa
import pytest
from fhir.resources.R4B.bundle import Bundle
from starlette.testclient import TestClient

import weatherglass
from tests.batch.exports import WARD, run_batch
from tests.privacy.planted import leaks, record, spoilt
from weatherglass.api.app import create_app
from weatherglass.cli.main import run
from weatherglass.tables.schema import TABLES

BUNDLES = sorted((Path(__file__).parents[2] / "fixtures" / "bundles").glob("*.json"))
AKI = next(path for path in BUNDLES if "nephrotoxics" in path.name)


def as_resource(path: Path) -> Any:
    return Bundle.model_validate_json(path.read_bytes())


GIVEN: dict[str, Callable[[Path], Any]] = {
    "path": lambda path: path,
    "name": str,
    "bytes": Path.read_bytes,
    "packed": lambda path: gzip.compress(path.read_bytes()),
    "text": lambda path: path.read_text("utf-8"),
    "text with a byte order mark": lambda path: "\ufeff" + path.read_text("utf-8"),
    "resource": as_resource,
}


@pytest.mark.parametrize("name", GIVEN)
def test_whatever_it_is_given_as(name: str) -> None:
    """The same FHIR, byte for byte."""
    expected = weatherglass.review(AKI.read_bytes()).fhir_json()
    assert weatherglass.review(GIVEN[name](AKI)).fhir_json() == expected


@pytest.mark.parametrize("path", BUNDLES, ids=lambda path: path.stem)
def test_a_dict_changes_no_judgement(path: Path) -> None:
    """A float has lost how it was written, so words may differ; urgency and findings do not."""
    ours, text = weatherglass.review(json.loads(path.read_bytes())), weatherglass.review(path)
    assert [one.urgency for one in ours] == [one.urgency for one in text]
    assert [(f.kind, f.key, f.urgency, f.at) for f in ours[0].findings] == [
        (f.kind, f.key, f.urgency, f.at) for f in text[0].findings
    ]


@pytest.fixture(scope="module")
def door() -> TestClient:
    """The service."""
    return TestClient(create_app(), headers={"Content-Type": "application/fhir+json"})


@pytest.mark.parametrize("path", BUNDLES, ids=lambda path: path.stem)
def test_the_answer_of_the_service(path: Path, door: TestClient) -> None:
    """The bytes of `POST /fhir/$review-deterioration`."""
    answer = door.post("/fhir/$review-deterioration", content=path.read_bytes())
    assert weatherglass.review(path).fhir_json() == answer.content


def test_the_answer_of_the_command_line(capsysbinary: pytest.CaptureFixture[bytes]) -> None:
    """With options as with none."""
    moment = "2026-03-11T20:00:00Z"
    assert run(["review", str(AKI), "--format", "fhir", "--as-of", moment, "--criteria", "news2"]) == 0
    ours = weatherglass.review(AKI, as_of=moment, criteria=["news2"])
    assert ours.fhir_json() + b"\n" == capsysbinary.readouterr().out
    at = datetime(2026, 3, 11, 20, tzinfo=UTC)
    assert weatherglass.review(AKI, as_of=at, criteria="news2").fhir_json() == ours.fhir_json()


def test_the_tables_of_a_batch(tmp_path: Path) -> None:
    """The ward as a folder: the rows that `batch --tables` writes, but for the order of patients."""
    assert run_batch(WARD, tmp_path / "out", "--tables").exception is None
    ward = weatherglass.review(WARD)
    for schema in TABLES:
        if schema.name == "issues":
            continue  # Places in a folder are numbers of lines; in a batch they are names.
        held = pa.table(ward.table(schema.name))
        assert held.num_rows == len(ward.table(schema.name)) > 0
        path = tmp_path / "out" / f"{schema.name}.parquet"
        for one, other in (("held", f"'{path}'"), (f"'{path}'", "held")):
            query = f"SELECT * FROM {one} EXCEPT ALL SELECT * FROM {other}"  # noqa: S608
            assert duckdb.execute(query).fetchall() == []


def test_a_policy_is_a_file_or_its_content(tmp_path: Path) -> None:
    """An invented local limit: 6.2 mmol/L of potassium becomes an emergency."""
    (tmp_path / "policy.toml").write_text("[critical_limits.potassium-high]\nemergency = 6.0\n")
    by_file = weatherglass.review(AKI, policy=tmp_path / "policy.toml")
    by_content = weatherglass.review(AKI, policy={"critical_limits": {"potassium-high": {"emergency": 6.0}}})
    assert by_file.fhir_json() == by_content.fhir_json()
    assert [one.urgency for one in by_file] == ["emergency"]


def test_a_table_is_handed_on_by_its_stream() -> None:
    """To pyarrow with the documented types, and to DuckDB by name, more than once."""
    findings = weatherglass.review(AKI).findings_table()
    held = pa.table(findings)
    assert held.column_names == list(findings.columns)
    assert str(held.schema.field("as_of").type) == "timestamp[us, tz=UTC]"
    for _ in range(2):
        assert duckdb.sql("SELECT count(*) FROM findings").fetchall() == [(len(findings),)]  # type: ignore[union-attr]
    assert [row["sentence"] for row in findings.rows()] == held.column("sentence").to_pylist()


def test_a_table_without_rows_has_its_columns() -> None:
    nobody = weatherglass.review({"resourceType": "Bundle", "type": "collection"})
    assert len(nobody) == 0
    held = pa.table(nobody.findings_table())
    assert (held.num_rows, held.num_columns) == (0, len(nobody.findings_table().columns))


def test_there_is_no_other_table() -> None:
    with pytest.raises(KeyError):
        weatherglass.review(AKI).table("names")


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ("{", "Not valid JSON"),
        (b"", "Not valid JSON"),
        (b"\x1f\x8b0", "damaged"),
        ("no such file", "neither JSON text nor the name of a file"),
        ("x" * 9000, "neither JSON text nor the name of a file"),
        (Path("no such file"), "no such file"),
        ({"resourceType": "Bundle", "entry": object()}, "JSON cannot hold"),
        ({"resourceType": "Spoon"}, "Not a FHIR R4 resource"),
        (5, "not int"),
        (None, "not NoneType"),
    ],
)
def test_what_is_no_record_is_said(given: Any, said: str) -> None:
    with pytest.raises(weatherglass.InputError, match=said):
        weatherglass.review(given)


@pytest.mark.parametrize("at", ["2026", "2026-03-12", "2026-03-12T07:30:00", datetime(2026, 3, 12, 7)])  # noqa: DTZ001
def test_a_moment_without_an_offset_is_refused(at: Any) -> None:
    """It would be another moment elsewhere."""
    with pytest.raises(weatherglass.OptionError, match="offset"):
        weatherglass.review(AKI, as_of=at)


def test_unknown_options_are_named() -> None:
    with pytest.raises(weatherglass.OptionError, match="not known: newz2; did you mean news2"):
        weatherglass.review(AKI, criteria=["newz2"])
    with pytest.raises(weatherglass.PolicyError, match="policy: carry_forward: not a key"):
        weatherglass.review(AKI, policy={"carry_forward": 5})
    with pytest.raises(weatherglass.PolicyError, match=r"nowhere\.toml"):
        weatherglass.review(AKI, policy="nowhere.toml")


@pytest.mark.parametrize("body", [pytest.param(body, id=name) for name, body in spoilt()])
def test_an_error_and_a_repr_quote_nothing(body: bytes) -> None:
    """They end up in logs."""
    try:
        told = repr(weatherglass.review(body))
    except weatherglass.InputError as error:
        told = f"{error} {error!r} {error.issues}"
    assert not leaks(told)


def test_reprs_hold_nothing_of_the_person() -> None:
    found = weatherglass.review(record())
    assert not leaks(f"{found!r} {found[0]!r} {found.findings_table()!r}")
    assert len(repr(found)) < 100


def test_the_view_in_a_notebook_is_safe_and_nameless() -> None:
    """Markup of a record is text; the person's name stays out of a file that is sent on."""
    bundle = json.loads(AKI.read_bytes())
    for entry in bundle["entry"]:
        if entry["resource"]["resourceType"] == "MedicationRequest":
            entry["resource"]["medicationCodeableConcept"] = {"text": "<script>alert(1)</script> tablets"}
    found = weatherglass.review(bundle)
    shown = found._repr_html_() + found[0]._repr_html_() + found.findings_table()._repr_html_()
    assert "&lt;script&gt;" in shown
    assert "<script" not in shown
    family = next(e["resource"] for e in bundle["entry"] if e["resource"]["resourceType"] == "Patient")[
        "name"
    ][0]
    assert family["family"] not in shown
    assert found[0].headline.split(".")[0] in shown


def test_nothing_to_review_is_no_all_clear() -> None:
    shown = weatherglass.review({"resourceType": "Bundle", "type": "collection"})._repr_html_()
    assert "Nothing could be reviewed" in shown


def test_importing_costs_nothing() -> None:
    """Nothing is loaded until it is used; nothing heavy with the first review."""
    script = (
        "import sys; before = set(sys.modules); import weatherglass; dir(weatherglass)\n"
        "print(sorted(n for n in set(sys.modules) - before if n.startswith('weatherglass.')))\n"
        "weatherglass.review; heavy = ('duckdb', 'fastapi', 'click', 'pyarrow')\n"
        "print([name for name in heavy if name in sys.modules])"
    )
    ran = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert ran.stdout.splitlines() == ["[]", "[]"]


def test_the_function_is_not_hidden_by_the_room_of_its_name() -> None:
    """Importing `weatherglass.review.assess` first, in an interpreter of its own."""
    script = (
        "from weatherglass.review.assess import assess\n"
        "import weatherglass.review.synthesis, weatherglass\n"
        "from weatherglass import review\n"
        "print(callable(weatherglass.review), review is weatherglass.review, callable(assess))"
    )
    ran = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert ran.stdout.split() == ["True", "True", "True"]


def test_an_unknown_name_is_an_attribute_error() -> None:
    with pytest.raises(AttributeError, match="nothing_like_it"):
        weatherglass.nothing_like_it  # type: ignore[attr-defined]  # noqa: B018
