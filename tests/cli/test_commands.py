"""The command line: what it prints, where errors go, and the exit codes 0, 1 and 2."""

import gc
import json
import subprocess
import sys
from pathlib import Path

import click
import pytest

from tests.records import bundle, full_set, patient, text
from weatherglass import __version__
from weatherglass.cli.main import run
from weatherglass.cli.printing.group import command_group
from weatherglass.facts.ceiling import NOT_RECORDED

_ROOT = Path(__file__).parents[2]
_PATIENT = str(_ROOT / "fixtures" / "bundles" / "04-aki-nephrotoxics.json")


def test_version(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["--version"]) == 0
    assert capsys.readouterr().out == f"weatherglass {__version__}\n"


def test_version_imports_nothing_heavy() -> None:
    """Start-up is paid by every script that asks for the version."""
    code = "import sys; from weatherglass.cli.main import run; run(['--version']); print(sorted(sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    heavy = ("click", "msgspec", "pydantic", "fastapi", "duckdb", "httpx", "fhir.resources", "pyspark")
    assert not [name for name in heavy if f"'{name}'" in done.stdout]


def test_review_imports_no_engine_and_no_server() -> None:
    code = (
        "import sys; from weatherglass.cli.main import run; "
        f"run(['review', {_PATIENT!r}]); print(sorted(sys.modules))"
    )
    done = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    heavy = (
        *("fastapi", "uvicorn", "duckdb", "httpx", "fhir.resources", "pyspark", "jinja2", "cryptography"),
        "pydantic",  # Only a policy file needs it.
        *("weatherglass.review.catalogue", "weatherglass.fhir.writing.bundle"),  # What only others print.
    )
    assert not [name for name in heavy if f"'{name}'" in done.stdout.splitlines()[-1]]


def test_review_as_text(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["review", _PATIENT]) == 0
    shown = capsys.readouterr().out
    for words in (
        "Cordelia Saltmere",
        "kidney injury stage 2 (KDIGO)",
        "Handover",
        "Situation",
        "not a cleared medical device",
    ):
        assert words in shown
    assert max(map(len, shown.splitlines())) <= 100


def test_review_as_fhir(capfdbinary: pytest.CaptureFixture[bytes]) -> None:
    assert run(["review", _PATIENT, "--format", "fhir"]) == 0
    assert json.loads(capfdbinary.readouterr().out)["type"] == "collection"


def test_handover(capfdbinary: pytest.CaptureFixture[bytes]) -> None:
    assert run(["review", _PATIENT, "--format", "handover"]) == 0
    assert json.loads(capfdbinary.readouterr().out)["type"] == "document"


def test_standard_input_and_lines() -> None:
    lines = b"\n".join(map(text, [patient(), *full_set()]))
    done = subprocess.run(
        [sys.executable, "-m", "weatherglass", "review", "-"], input=lines, capture_output=True, check=True
    )
    assert b"NEWS2 0" in done.stdout


def test_as_of(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["review", _PATIENT, "--as-of", "2026-03-10T12:00:00+00:00"]) == 0
    assert "as of 12:00 on 10 March" in capsys.readouterr().out


def test_only_what_was_asked_for(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["review", _PATIENT, "--criteria", "aki-kdigo"]) == 0
    shown = capsys.readouterr().out
    assert "Only these were asked for: aki-kdigo" in shown
    assert "MEWS" not in shown


@pytest.mark.parametrize(
    "arguments",
    [
        ["review", "no-such-file.json"],
        ["review", _PATIENT, "--as-of", "yesterday"],
        ["review", _PATIENT, "--format", "pdf"],
        ["review", _PATIENT, "--criteria", "mood"],
        ["review"],
        ["criteria", "show", "unknown-1999"],
        ["nonsense"],
    ],
)
def test_used_wrongly_is_2(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert run(arguments) == 2
    assert capsys.readouterr().err


@pytest.mark.parametrize("body", [b"hello", b"[]", b'{"resourceType":"Bundle","type":"collection"}'])
def test_unusable_input_is_1(tmp_path: Path, body: bytes, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "in.json"
    file.write_bytes(body)
    assert run(["review", str(file)]) == 1
    assert capsys.readouterr().err.startswith("weatherglass: ")


def test_criteria_list_names_every_edition(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["criteria", "list"]) == 0
    shown = capsys.readouterr().out
    assert "news2-2017" in shown
    assert "documented-choices" in shown


def test_criteria_find_leads_from_a_printed_number_to_its_row(capsys: pytest.CaptureFixture[str]) -> None:
    """Every word is in the row, or one is and its edition has the rest: UKKA 2023 calls 6.0 moderate."""
    assert run(["criteria", "find", "Moderate", "hyperkalaemia"]) == 0
    found = capsys.readouterr().out
    assert "critical-results: " in found
    assert "potassium-high: >= 6.0 mmol/L  ->  moderate hyperkalaemia: urgent" in found
    assert "severe hyperkalaemia" not in found
    assert run(["criteria", "find", "CURB", "urea"]) == 0
    assert "urea > 7 mmol/L  ->  1 point" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("printed", "row"),
    [
        (
            "Lactate 4.3 mmol/L, up from 2.3 (11 hours before): in the range of tissue hypoperfusion.",
            "lactate-high: >= 4",
        ),
        ("5 or more in 14 complete sets in a row", "Sustained high: >= 5"),
        ("NEWS2 14, one parameter scores 3", "Response, 3 in one parameter: at least hourly"),
        ("P/F 20.3", "p-f-"),
    ],
)
def test_criteria_find_takes_a_printed_sentence(
    printed: str, row: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Where no row holds every word the nearest are shown; a patient's own numbers do not count."""
    assert run(["criteria", "find", printed]) == 0
    found = capsys.readouterr().out
    assert found.startswith("No row holds all of these words; nearest:")
    assert row in found


def test_criteria_find_says_that_nothing_is_near() -> None:
    assert run(["criteria", "find", "xyzzy", "14"]) == 2


def test_criteria_show_prints_rows_with_place_and_mark(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["criteria", "show", "news2-2017"]) == 0
    shown = capsys.readouterr().out
    assert "25 or more /min" in shown
    assert "Chart 1, row 'Respiration rate' [confirmed]" in shown


def test_demo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.chdir(_ROOT)
    assert run(["demo", "--out", str(tmp_path / "out")]) == 0
    shown = capsys.readouterr().out
    assert shown.startswith("Ward list, most urgent first")
    assert len(list((tmp_path / "out").glob("*.json"))) == 13


def test_demo_outside_a_clone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert run(["demo", "--fixtures", "nowhere"]) == 2


def test_a_fault_of_ours_is_1_and_shows_no_value(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def broken(*_: object) -> int:
        raise ValueError("Quill-Zanzibar")

    monkeypatch.setattr("weatherglass.cli.main._dispatch", broken)
    assert run(["review", _PATIENT]) == 1
    said = capsys.readouterr().err
    assert "a fault of ours (ValueError" in said
    assert "Quill-Zanzibar" not in said


def test_text_carries_no_bundle(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """A single round is reviewed as well as a long stay."""
    file = tmp_path / "one.json"
    file.write_bytes(text(bundle(patient(), *full_set())))
    assert run(["review", str(file)]) == 0
    assert "NEWS2 0" in capsys.readouterr().out


def test_values_of_the_future_are_named_in_the_text(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A device whose clock is ahead: what was not looked at stands in the text, not in FHIR alone."""
    record = tmp_path / "record.json"
    record.write_bytes(text(bundle(patient(), *full_set(pulse="140 /min"))))
    assert run(["review", str(record), "--as-of", "2026-03-01T09:00:00+04:00"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "7 value(s) are later than the moment of the review and were not looked at." in said


@pytest.mark.parametrize(
    ("stem", "is_recorded"),
    [
        ("07-drowsy-opioids", True),
        ("09-incomplete-after-operation", False),
        ("11-pregnant", False),
        ("12-child", False),
    ],
)
def test_a_status_that_is_not_recorded_is_said_at_the_head(
    stem: str, is_recorded: bool, capsys: pytest.CaptureFixture[str]
) -> None:
    """Silence reads as "for full treatment"; what is recorded needs no such sentence."""
    assert run(["review", str(_ROOT / "fixtures" / "bundles" / f"{stem}.json")]) == 0
    head = capsys.readouterr().out.partition("\nOverall\n")[0]
    assert (NOT_RECORDED in head) is not is_recorded
    assert ("Recorded: for attempted resuscitation" in head) is is_recorded


@pytest.mark.parametrize(
    ("content", "said"),
    [
        pytest.param("carry_forward_minuts = 5", "did you mean carry_forward_minutes?", id="unknown-key"),
        pytest.param(
            "[roles]\nsenoir = 'x'",
            "roles.senoir: not a key of the policy; did you mean senior?",
            id="in-a-table",
        ),
        pytest.param("carry_forward_minutes = 500", "carry_forward_minutes", id="out-of-range"),
        pytest.param("= 5", "is not TOML", id="not-toml"),
        pytest.param(None, "No such file", id="missing"),
    ],
)
def test_a_slip_in_the_policy_is_the_users(
    content: str | None, said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """It is used wrongly, code 2, and the key is named; never a fault of ours."""
    policy = tmp_path / "policy.toml"
    if content is not None:
        policy.write_text(content)
    file = _ROOT / "fixtures" / "bundles" / "08-well-going-home.json"
    assert run(["review", str(file), "--policy", str(policy)]) == 2
    told = capsys.readouterr().err
    assert said in told
    assert "a fault of ours" not in told


def test_the_version_stands_in_the_help(capsys: pytest.CaptureFixture[str]) -> None:
    """Whoever looks for it finds it."""
    assert run(["--help"]) == 0
    assert "--version" in capsys.readouterr().out


def test_a_reader_is_not_told_to_call_themselves(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The role of the reader is a setting; ours, no publication says so."""
    policy = tmp_path / "policy.toml"
    policy.write_text("[roles]\nreader = 'ward doctor'")
    file = _ROOT / "fixtures" / "bundles" / "04-aki-nephrotoxics.json"
    assert run(["review", str(file), "--policy", str(policy)]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "See the patient yourself and call medical registrar now" in said
    assert "Call ward doctor" not in said


def test_the_collector_works_again_once_a_command_is_loaded() -> None:
    """It is off while modules are loaded, also where one cannot be."""
    group = command_group(
        {"review": ("weatherglass.cli.commands.review", ""), "none": ("weatherglass.none", "")}
    )
    assert group.get_command(click.Context(group), "review") is not None
    with pytest.raises(ModuleNotFoundError):
        group.get_command(click.Context(group), "none")
    assert gc.isenabled()
    gc.unfreeze()
