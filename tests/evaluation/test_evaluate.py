"""`weatherglass evaluate` from end to end, on records of our own invention."""

import json
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.evaluation.exported import MARKER, time_of, ward
from weatherglass.cli.main import run
from weatherglass.evaluation.outcomes import Ending
from weatherglass.evaluation.replay import trace_of
from weatherglass.evaluation.trace import REVIEW
from weatherglass.fhir.reading.bundle import read_lines
from weatherglass.model.local_choices import LocalChoices

Json = dict[str, Any]


@pytest.fixture(scope="module")
def found(export: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What the command leaves."""
    out = tmp_path_factory.mktemp("out")
    assert run(["evaluate", str(export), str(out), "--workers", "1", "--repeats", "50"]) == 0
    return out


@pytest.fixture(scope="module")
def report(found: Path) -> Json:
    """The report."""
    read: Json = json.loads((found / "evaluation.json").read_text("utf-8"))
    return read


def _ladder(report: Json, key: str) -> Json:
    return next(one for one in report["ladders"] if one["key"] == key)


def _row(report: Json, key: str, level: int) -> Json:
    rows: list[Json] = _ladder(report, key)["thresholds"]
    return next(row for row in rows if row["atLeast"] == level)


class TestReport:
    def test_time_and_outcomes(self, report: Json) -> None:
        """Three stays of 40 hours on a ward; one transfer, found from the Encounter to intensive care."""
        assert report["patientDays"] == 5
        assert report["outcomes"]["counted"] == {"intensive care": 1}
        assert (report["patients"]["replayed"], report["patients"]["marked as test data"]) == (3, 3)

    def test_news2_at_3(self, report: Json) -> None:
        """By hand: `a` at 26 and 38 hours and `b` at 2 are at 3; `a`'s come before the transfer at 40."""
        row = _row(report, "news2", 3)
        assert (row["sensitivity"]["number"], row["sensitivity"]["of"]) == (2, 2)
        assert (row["positivePredictiveValue"]["number"], row["positivePredictiveValue"]["of"]) == (2, 3)
        assert (row["alertsBeforeOutcome"]["number"], row["alertsBeforeOutcome"]["of"]) == (1, 2)
        assert row["alertsPer100PatientDays"] == 40
        assert row["leadHours"]["median"] == 14

    def test_incomplete_and_why(self, report: Json) -> None:
        """Every round lacks saturation, oxygen and alertness."""
        found = _ladder(report, "news2")["incomplete"]
        assert (found["rounds"]["number"], found["rounds"]["of"]) == (12, 12)
        assert {(one["input"], one["rounds"]) for one in found["reasons"]} == {
            ("spo2-scale-1", 12),
            ("air-or-oxygen", 12),
            ("consciousness", 12),
        }

    def test_the_review_is_a_ladder_too(self, report: Json) -> None:
        assert _ladder(report, REVIEW)["rounds"] == 12
        assert report["newFindingsPer100PatientDays"]["score"] > 0

    def test_nobody_can_be_recognised(self, found: Path) -> None:
        """Neither file holds a name, a reference or a day."""
        for file in ("evaluation.json", "evaluation.html"):
            text = (found / file).read_text("utf-8")
            assert MARKER not in text
            assert "Patient/" not in text
            assert "2026-03-0" not in text

    def test_again_it_is_the_same(self, export: Path, found: Path, tmp_path: Path) -> None:
        """Also with another number of workers."""
        assert run(["evaluate", str(export), str(tmp_path), "--workers", "2", "--repeats", "50"]) == 0
        for file in ("evaluation.json", "evaluation.html"):
            assert (tmp_path / file).read_bytes() == (found / file).read_bytes()

    def test_nothing_else_is_left_behind(self, found: Path) -> None:
        assert {path.name for path in found.iterdir()} == {"evaluation.json", "evaluation.html"}


class TestWithoutTheExtra:
    def test_a_plain_installation_counts_and_says_what_is_left_out(
        self, export: Path, tmp_path: Path
    ) -> None:
        """None of the libraries can be imported in this process."""
        absent = "import sys; sys.modules.update(dict.fromkeys(['numpy', 'scipy', 'sklearn', 'matplotlib']))"
        call = f"{absent}; from weatherglass.cli.main import run; sys.exit(run(sys.argv[1:]))"
        done = subprocess.run(
            [sys.executable, "-c", call, "evaluate", export, tmp_path, "--workers", "1"],
            capture_output=True, text=True, check=False,
        )  # fmt: skip
        assert done.returncode == 0, done.stderr
        assert "pip install matplotlib numpy scikit-learn scipy" in done.stdout
        report = json.loads((tmp_path / "evaluation.json").read_text("utf-8"))
        row = _row(report, "news2", 3)
        assert (row["sensitivity"]["number"], row["sensitivity"]["value"], row["sensitivity"]["low"]) == (
            2,
            1,
            None,
        )
        assert _ladder(report, "news2")["areaUnderCurve"]["allRounds"]["value"] is None


class TestPage:
    def test_it_needs_nothing_else(self, found: Path) -> None:
        """No script, no address, and a policy that would stop both."""
        page = (found / "evaluation.html").read_text("utf-8")
        assert "<script" not in page
        # A plot names its own parts ("#..."); nothing else is named.
        assert not re.search(r"(src|href)=(?![\"']#)|url\((?!#)|@import", page)
        assert "default-src 'none'" in page

    def test_it_claims_nothing_from_invented_data(self, found: Path) -> None:
        page = (found / "evaluation.html").read_text("utf-8")
        assert "No claim about patients can be made" in page
        assert "3 of 3 patients are marked as test data" in page
        assert "not a cleared medical device" in page

    def test_every_plot_can_be_heard(self, found: Path) -> None:
        """Each has a role and words of its own."""
        page = (found / "evaluation.html").read_text("utf-8")
        plots = re.findall(r"<svg [^>]*>", page)
        assert len(plots) >= 4
        assert all('role="img"' in plot and 'aria-label="' in plot for plot in plots)


class TestOwnList:
    def test_it_stands_in_place_of_the_record(self, export: Path, tmp_path: Path) -> None:
        rows = f"patient,at,kind\nb,{time_of(10)},arrest\nnobody,{time_of(10)},arrest\n"
        (tmp_path / "own.csv").write_text(rows, "utf-8")
        out = tmp_path / "out"
        own = ["--outcomes", str(tmp_path / "own.csv"), "--repeats", "0", "--workers", "1"]
        assert run(["evaluate", str(export), str(out), *own]) == 0
        report = json.loads((out / "evaluation.json").read_text("utf-8"))
        assert report["outcomes"]["counted"] == {"arrest": 1}
        assert report["scope"]["listedForUnknownPatients"] == 1
        assert _row(report, "news2", 3)["positivePredictiveValue"]["number"] == 1

    def test_beside_the_record_when_asked(self, export: Path, tmp_path: Path) -> None:
        (tmp_path / "own.csv").write_text(f"patient,at,kind\nb,{time_of(10)},arrest\n", "utf-8")
        own = ["--outcomes", str(tmp_path / "own.csv"), "--from-record", "intensive-care"]
        assert run(["evaluate", str(export), str(tmp_path), *own, "--repeats", "0", "--workers", "1"]) == 0
        report = json.loads((tmp_path / "evaluation.json").read_text("utf-8"))
        assert report["outcomes"]["counted"] == {"arrest": 1, "intensive care": 1}

    def test_nothing_is_written_over_unasked(
        self, export: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        (tmp_path / "evaluation.json").write_text("kept", "utf-8")
        call = ["evaluate", str(export), str(tmp_path), "--repeats", "0", "--workers", "1"]
        assert run(call) == 2
        assert "--replace" in capsys.readouterr().err
        assert (tmp_path / "evaluation.json").read_text("utf-8") == "kept"
        assert run([*call, "--replace"]) == 0
        assert (tmp_path / "evaluation.json").read_text("utf-8") != "kept"

    @pytest.mark.parametrize("option", ["--outcomes=/no/such", "--horizon=0", "--policy=/no"])
    def test_used_wrongly_it_exits_with_2(self, export: Path, tmp_path: Path, option: str) -> None:
        assert run(["evaluate", str(export), str(tmp_path / "out"), option]) == 2

    def test_an_input_that_is_none(self, tmp_path: Path) -> None:
        (tmp_path / "in").mkdir()
        assert run(["evaluate", str(tmp_path / "in"), str(tmp_path / "out")]) == 2


class TestNothingLaterIsSeen:
    def test_what_was_said_does_not_change_with_what_came(self) -> None:
        """The trace of the first day is the same whether or not the second day is in the data."""
        lines = [
            json.dumps(each, default=float).encode()
            for each in ward()
            if "a" in json.dumps(each, default=float)
        ]
        own = [line for line in lines if b'Patient/a"' in line or b'"id": "a"' in line]
        first = [line for line in own if b"a-26" not in line and b"a-38" not in line]
        whole, early = (
            trace_of("a", read_lines(some).records[0][1], Ending(), LocalChoices()) for some in (own, first)
        )
        assert whole is not None
        assert early is not None
        for key, steps in early.ladders.items():
            assert whole.ladders[key][: len(steps)] == steps
        assert len(whole.ladders["news2"]) == 4
        assert len(early.ladders["news2"]) == 2
