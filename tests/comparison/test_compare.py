"""`weatherglass compare` on a hand-made population of five, by two rule sets and by two runs.

The published limits of potassium are those of the UK Kidney Association (2020, updated October 2023):
moderate from 6.0 mmol/L, severe from 6.5; the other rule set is an invented local one.
"""

import json
import shutil
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from tests.batch.exports import pulse, run_batch, write_lines
from tests.privacy.planted import leaks, record
from weatherglass.cli.commands.compare import command
from weatherglass.cli.errors import UsageError
from weatherglass.cli.main import run

LATER = "[critical_limits.potassium-high]\nemergency = 7.0\nurgent = 6.4\n"
POTASSIUM = {"mild": 5.2, "severe": 6.6, "moderate": 6.2, "normal": 4.2}


def potassium(patient: str, value: float) -> dict[str, Any]:
    return pulse(
        f"Patient/{patient}",
        code={"coding": [{"system": "http://loinc.org", "code": "2823-3"}]},
        valueQuantity={"value": value, "system": "http://unitsofmeasure.org", "code": "mmol/L"},
        id=f"{patient}-k",
    )


def people(values: dict[str, float]) -> Iterable[dict[str, Any]]:
    for patient, value in values.items():
        yield {"resourceType": "Patient", "id": patient, "birthDate": "1950-01-01", "gender": "female"}
        yield potassium(patient, value)


@pytest.fixture(scope="module")
def export(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_lines(tmp_path_factory.mktemp("export") / "in", people(POTASSIUM))


@pytest.fixture(scope="module")
def later(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("policy") / "later.toml"
    path.write_text(LATER)
    return path


@pytest.fixture(scope="module")
def old(export: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A finished run by the published limits."""
    return ran(export, tmp_path_factory.mktemp("old") / "out")


@pytest.fixture(scope="module")
def new(export: Path, later: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A finished run by the local ones."""
    return ran(export, tmp_path_factory.mktemp("new") / "out", "--policy", later)


def ran(given: Path, out: Path, *more: str | Path) -> Path:
    assert run_batch(given, out, "--workers", "1", *more).exception is None
    return out


def spoiled(run: Path, folder: Path, name: str, content: bytes) -> Path:
    """A copy of a run with one file that holds something else."""
    shutil.copytree(run, folder)
    (folder / name).write_bytes(content)
    return folder


def compared(*arguments: str | Path) -> Result:
    return CliRunner().invoke(command, [str(one) for one in arguments], standalone_mode=False)


def values_of(*arguments: str | Path) -> Any:
    done = compared(*arguments, "--format", "json")
    assert done.exception is None, done.exception
    return json.loads(done.stdout)


def test_two_rule_sets_on_one_population(old: Path, new: Path) -> None:
    """Worked by hand: 6.6 falls from emergency to urgent, 6.2 from urgent; 4.2 is normal in both."""
    told = values_of(old, new)
    assert told["patients"]["compared"] == 4
    turned = {one["patient"]: one for one in told["differences"]}
    severe, moderate = turned["Patient/severe"], turned["Patient/moderate"]
    assert (severe["old"]["urgency"], severe["new"]["urgency"]) == ("emergency", "urgent")
    assert (moderate["old"]["urgency"], moderate["course"]) == ("urgent", "less urgent")
    assert "Patient/normal" not in turned
    assert [one["patient"] for one in told["differences"]][:2] == ["Patient/severe", "Patient/moderate"]
    assert told["patients"]["callDiffers"] == 2
    (criterion,) = [one for one in told["criteria"] if one["key"] == "potassium-high"]
    assert criterion["kind"] == "critical-result"
    assert criterion["less"] == 1  # 6.6
    assert criterion["gone"] == 1  # 6.2: below the local limits, so no longer a finding


def test_the_other_way_round_is_the_mirror(old: Path, new: Path) -> None:
    """What is gone one way is new the other way, and who falls one way rises the other way."""
    there, back = values_of(old, new), values_of(new, old)
    mirror = {"gone": "new", "less": "more", "more": "less", "new": "gone", "words": "words"}
    turned = {(one["kind"], one["key"]): one for one in back["criteria"]}
    for one in there["criteria"]:
        other = turned[one["kind"], one["key"]]
        assert {mirror[name]: one[name] for name in mirror} == {name: other[name] for name in mirror}
    assert there["patients"]["byCourse"]["less urgent"] == back["patients"]["byCourse"]["more urgent"] > 0


def test_a_run_against_itself_says_nothing_differs(new: Path) -> None:
    done = compared(new, new)
    assert done.exception is None
    assert "4 patients compared. Nothing is said differently of any of them." in done.stdout


def test_rule_sets_are_run_over_the_population(old: Path, new: Path, export: Path, later: Path) -> None:
    """The same as comparing two runs that a site has made itself."""
    run_here = values_of("default", later, export, "--workers", "1")
    assert run_here["differences"] == values_of(old, new / "run.json")["differences"]
    assert run_here["old"]["given"] == "default"


def test_a_finished_run_of_another_version_against_the_rules_of_this_one(
    export: Path, later: Path, tmp_path: Path
) -> None:
    """The moment is that of the finished run; rule sets that differ are named."""
    out = ran(export, tmp_path / "old", "--as-of", "2026-03-12T09:00:00Z")
    report = json.loads((out / "run.json").read_text())
    report["software"], report["rules"]["news2-2017"] = "Weatherglass 0.0.9", "other"
    (out / "run.json").write_text(json.dumps(report))
    told = values_of(out, later, export, "--workers", "1")
    assert told["ruleSetsThatDiffer"] == ["news2-2017"]
    assert told["old"]["software"] == "Weatherglass 0.0.9"
    assert told["new"]["asOf"] == told["old"]["asOf"]
    assert told["warnings"] == []


def test_patients_of_one_side_are_named(old: Path, tmp_path: Path) -> None:
    fewer = write_lines(tmp_path / "in", people({"mild": 5.2, "other": 4.0}))
    told = values_of(old, ran(fewer, tmp_path / "new"))
    assert told["patients"]["onlyInOld"] == ["Patient/moderate", "Patient/normal", "Patient/severe"]
    assert told["patients"]["onlyInNew"] == ["Patient/other"]
    assert told["patients"]["compared"] == 1
    assert "The two runs did not read the same records." in told["warnings"]


def test_other_moments_are_said(old: Path, tmp_path: Path) -> None:
    report = (old / "run.json").read_bytes().replace(b'"as_of": null', b'"as_of": "2026-03-13T09:00:00Z"')
    done = compared(old, spoiled(old, tmp_path / "later", "run.json", report))
    assert "look at different moments" in done.stdout


def test_as_text_the_worst_comes_first(old: Path, new: Path) -> None:
    """Heads, criteria, then the patients who would be called later, each with both sentences."""
    text = compared(old, new).stdout
    assert text.index("By criterion") < text.index("LESS URGENT BY NEW") < text.index("1. Patient")
    first = text[text.index("1. Patient/severe") : text.index("2. Patient/moderate")]
    assert "OLD  EMERGENCY" in first
    assert "NEW  URGENT" in first
    assert "critical result, potassium high (emergency -> urgent)" in " ".join(first.split())
    assert max(map(len, text.splitlines()[2:])) <= 100, "but for the names of the folders"


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("default", "default"), "needs EXPORT"),
        (("default", "nowhere.toml", "{export}"), "nowhere.toml"),
        (("default", "default", "nowhere"), "nowhere"),
        (("{export}", "default", "{export}"), "no finished run"),
        (("default", "default", "{export}", "--as-of", "2026"), "--as-of"),
    ],
)
def test_used_wrongly(
    arguments: tuple[str, ...], said: str, export: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    given = [one.format(export=export) for one in arguments]
    assert run(["compare", *given]) == 2
    assert said in capsys.readouterr().err


def test_finished_runs_take_no_population(old: Path, new: Path, export: Path) -> None:
    done = compared(old, new, export)
    assert isinstance(done.exception, UsageError)
    assert "leave EXPORT" in str(done.exception)


@pytest.mark.parametrize("spoilt", [b"not json\n", b'{"patient": 5}\n', b"\xff\n"])
def test_a_spoilt_memory_is_named_by_its_line_alone(spoilt: bytes, old: Path, tmp_path: Path) -> None:
    done = compared(old, spoiled(old, tmp_path / "out", "patients.ndjson", spoilt))
    assert isinstance(done.exception, UsageError)
    assert "line 1 of patients.ndjson" in str(done.exception)


def test_patients_out_of_order_are_refused(old: Path, tmp_path: Path) -> None:
    """Two runs are walked through side by side; out of order, patients would be taken for missing."""
    lines = (old / "patients.ndjson").read_bytes().splitlines(keepends=True)
    out = spoiled(old, tmp_path / "out", "patients.ndjson", b"".join(reversed(lines)))
    assert "not in order" in str(compared(old, out).exception)


def test_a_disk_that_fails_is_a_failure(export: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("weatherglass.comparison.sides.run_local", full)
    assert run(["compare", "default", "default", str(export)]) == 1


def test_nothing_of_the_record_is_on_standard_error(
    tmp_path: Path, later: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    given = write_lines(tmp_path / "in", [entry["resource"] for entry in record()["entry"]])
    assert run(["compare", "default", str(later), str(given), "--workers", "1"]) == 0
    assert not leaks(capfd.readouterr().err)
