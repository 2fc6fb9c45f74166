"""`weatherglass inputs`: a site is mapped from what the command says, without a value of anybody."""

import json
import tomllib
from pathlib import Path
from typing import Any

import pytest

from tests.records import AT, measured, ordered, patient, text
from weatherglass.cli.main import run

Json = dict[str, Any]
HOUSE = "https://lab.example/codes"


def _own(code: str, display: str, value: str, unit: str, system: str = HOUSE) -> Json:
    held = measured(f"o-{code}", "potassium", value, unit, at=AT)
    return {
        **held,
        "code": {"coding": [{"system": system, "code": code, "display": display}], "text": "Bea Quill"},
    }


def _order(name: str, code: str) -> Json:
    return ordered("Quillomycin", code, id=name)


@pytest.fixture
def sample(tmp_path: Path) -> Path:
    """One record of a site with codes of its own, a unit nobody knows, and a medicine nobody knows."""
    held = [
        {**patient(), "name": [{"family": "Quill"}]},
        measured("k", "potassium", "4.321", "mmol/L", at=AT),
        measured("n", "pulse", "139", "furlong", at=AT),
        _own("K7", "Potassium, plasma", "7.654", "mmol/L"),
        _own("Z1", "Shoe size", "42", "{size}"),
        _own("Quill", "Potassium", "7.1", "mmol/L"),
        _order("m1", "C09AA05"),
        _order("m2", "9999"),
        {"resourceType": "Claim", "id": "c"},
    ]
    path = tmp_path / "sample.json"
    path.write_bytes(
        text({"resourceType": "Bundle", "type": "collection", "entry": [{"resource": r} for r in held]})
    )
    return path


def _report(sample: Path, capsys: pytest.CaptureFixture[str], *more: str) -> Any:
    assert run(["inputs", str(sample), "--format", "json", *more]) == 0
    return json.loads(capsys.readouterr().out)


def test_each_code_with_what_became_of_it(sample: Path, capsys: pytest.CaptureFixture[str]) -> None:
    report = _report(sample, capsys)
    rows = {
        row["code"]: (row["readAs"], row["words"], row["unit"], row["times"], row["used"])
        for row in report["codes"]
    }
    assert rows == {
        "2823-3": ("potassium", "", "mmol/L", 1, 1),
        "8867-4": ("pulse", "", "furlong", 1, 0),
        "K7": ("", "potassium", "mmol/L", 1, 0),
        "Z1": ("", "", "{size}", 1, 0),
        "": ("", "potassium", "mmol/L", 1, 0),
    }  # fmt: skip
    assert {(row["code"], row["recognised"]) for row in report["medicines"]} == {
        ("C09AA05", "ramipril by ATC code"),
        ("9999", ""),
    }
    assert {"type": "Claim", "times": 1, "read": False} in report["resources"]
    assert "unit-unknown" in {row["issue"] for row in report["reservations"]}


def test_nothing_of_the_patient_is_shown(sample: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for shape in ("text", "json"):
        assert run(["inputs", str(sample), "--format", shape]) == 0
        said = capsys.readouterr().out
        assert "Quill" not in said
        assert not any(value in said for value in ("4.321", "7.654", "1960", "Patient/p", AT[:10]))


def test_the_proposed_lines_are_a_policy_that_reads_the_code(
    sample: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["inputs", str(sample)]) == 0
    proposed = capsys.readouterr().out.partition("For the policy file")[2].partition("\n")[2]
    assert tomllib.loads(proposed) == {"local_codes": [{"system": HOUSE, "code": "K7", "means": "potassium"}]}
    policy = tmp_path / "policy.toml"
    policy.write_text(proposed)
    rows = {row["code"]: row for row in _report(sample, capsys, "--policy", str(policy))["codes"]}
    assert (rows["K7"]["readAs"], rows["K7"]["words"]) == ("potassium", "")


def test_a_display_cannot_break_out_of_its_comment(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "one.json"
    path.write_bytes(text(_own("K7", 'potassium\nmeans = "sodium"', "4", "mmol/L", system='a"b\n')))
    assert run(["inputs", str(path)]) == 0
    proposed = capsys.readouterr().out.partition("For the policy file")[2].partition("\n")[2]
    assert [one["means"] for one in tomllib.loads(proposed)["local_codes"]] == ["potassium"]


def test_a_file_that_is_not_there_is_used_wrongly(tmp_path: Path) -> None:
    assert run(["inputs", str(tmp_path / "nothing.json")]) == 2


def _of(person: str, code: str, display: str, value: str, unit: str) -> Json:
    one = _own(code, display, value, unit)
    return {**one, "id": f"{person}-{code}", "subject": {"reference": f"Patient/{person}"}}


def test_a_code_of_letters_is_shown_once_two_people_have_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """As most laboratories and monitors have them; what one person has may be that person's name."""
    held = [
        _of("p", "CREA", "Creatinine", "80", "UMOL/L"),
        _of("q", "CREA", "Creatinine", "90", "UMOL/L"),
        _of("q", "Quill", "Creatinine", "90", "UMOL/L"),
        {**_order("m", "D3"), "medicationCodeableConcept": {"coding": [{"system": HOUSE, "code": "D3"}]}},
    ]
    path = tmp_path / "rows.ndjson"
    path.write_bytes(b"\n".join(map(text, held)) + b"\n")
    assert run(["inputs", str(path)]) == 0
    said = capsys.readouterr().out
    assert "Quill" not in said
    assert "code (not shown)" not in said, "what is listed is not said twice"
    proposed = said.partition("For the policy file")[2].partition("\n")[2]
    assert tomllib.loads(proposed)["local_codes"] == [
        {"system": HOUSE, "code": "CREA", "means": "creatinine"}
    ]
    # What only somebody who knows the chart can fill in is proposed as a comment.
    comments = (line for line in proposed.splitlines() if line.startswith("# ") and "times" not in line)
    medicine = "\n".join(line.removeprefix("# ") for line in comments)
    assert tomllib.loads(medicine) == {
        "local_medicines": [{"system": HOUSE, "code": "D3", "ingredients": ["..."]}]
    }


@pytest.mark.parametrize(
    ("name", "value", "read_as"),
    [
        (
            "Treatment escalation plan",
            {"valueString": "Not for intubation"},
            "a decision or a part of a reported score",
        ),
        ("Stridor at rest", {"valueBoolean": True}, "a sign that is a problem of that hour"),
        ("Favourite colour", {"valueString": "Green"}, ""),
    ],
)
def test_what_its_name_alone_says_is_read(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str, value: Json, read_as: str
) -> None:
    """It counts as read and used, as in the review."""
    named = {**measured("n", "pulse", "1", "/min", at=AT), "code": {"text": name}, **value}
    del named["valueQuantity"]
    path = tmp_path / "named.json"
    path.write_bytes(
        text(
            {
                "resourceType": "Bundle",
                "type": "collection",
                "entry": [{"resource": r} for r in (patient(), named)],
            }
        )
    )
    (row,) = _report(path, capsys)["codes"]
    assert (row["readAs"], row["used"]) == (read_as, int(bool(read_as)))
