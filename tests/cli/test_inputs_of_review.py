"""What `weatherglass review` takes: a file, packed or not, a folder; and what it says of the rest."""

import gzip
import json
from pathlib import Path

import pytest

from weatherglass.cli.main import run

WARD = Path(__file__).parents[2] / "fixtures" / "bundles"


def _answer(capsysbinary: pytest.CaptureFixture[bytes], path: Path) -> dict[str, object]:
    assert run(["review", str(path), "--format", "fhir"]) == 0
    found: dict[str, object] = json.loads(capsysbinary.readouterr().out)
    return found


def test_a_packed_file_is_answered_as_the_file(
    tmp_path: Path, capsysbinary: pytest.CaptureFixture[bytes]
) -> None:
    packed = tmp_path / "one.json.gz"
    packed.write_bytes(gzip.compress((WARD / "01-sepsis.json").read_bytes()))
    assert _answer(capsysbinary, packed) == _answer(capsysbinary, WARD / "01-sepsis.json")


def test_a_folder_is_answered_patient_by_patient(
    tmp_path: Path, capsysbinary: pytest.CaptureFixture[bytes]
) -> None:
    for name in ("01-sepsis", "04-aki-nephrotoxics"):
        (tmp_path / f"{name}.json").write_bytes((WARD / f"{name}.json").read_bytes())
    (tmp_path / "notes.txt").write_text("not read")
    both = json.dumps(_answer(capsysbinary, tmp_path))
    for name in ("01-sepsis", "04-aki-nephrotoxics"):
        patient = json.loads((WARD / f"{name}.json").read_text())["entry"][0]["resource"]["id"]
        assert f"Patient/{patient}" in both


@pytest.mark.parametrize(
    ("name", "content", "said", "status"),
    [
        ("a.xml", b"\xef\xbb\xbf<Bundle xmlns='http://hl7.org/fhir'/>", "this is XML; send FHIR JSON", 1),
        ("a.json.gz", gzip.compress(b"{}" * 500, mtime=0)[:20], "packed and damaged", 1),
    ],
    ids=["xml", "damaged"],
)
def test_what_cannot_be_read_is_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str, content: bytes, said: str, status: int
) -> None:
    (tmp_path / name).write_bytes(content)
    assert run(["review", str(tmp_path / name)]) == status
    assert said in capsys.readouterr().err


def test_an_empty_folder_and_no_file_are_the_callers_mistake(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["review", str(tmp_path)]) == 2
    assert "no .json, .ndjson or .gz file in the folder" in capsys.readouterr().err
    assert run(["review", str(tmp_path / "missing")]) == 2
    assert "no such file or folder" in capsys.readouterr().err


def test_where_nothing_is_reviewed_the_reason_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for content, why in (
        ({"resourceType": "Bundle", "type": "collection"}, "about a patient"),
        ({"resourceType": "Patient", "id": "p"}, "nothing with a time"),
    ):
        path = tmp_path / "one.json"
        path.write_text(json.dumps(content))
        assert run(["review", str(path)]) == 1
        assert why in capsys.readouterr().err
