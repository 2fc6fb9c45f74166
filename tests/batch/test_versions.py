"""Of several versions of one resource in an export, the newest counts: as in a request."""

import json
import random
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from tests.batch.compared import check_spark, check_workers
from tests.batch.exports import (
    WARD,
    files_of,
    lines_in,
    pulse,
    report_of,
    rows,
    run_batch,
    split_anew,
    write_lines,
)
from tests.records import ordered, stay
from weatherglass.batch.reviewing import Settings, review_group
from weatherglass.model.local_choices import LocalChoices, LocalCode
from weatherglass.stamp import stamp

Json = dict[str, Any]
EARLY, LATE = {"lastUpdated": "2026-03-11T08:00:00Z"}, {"lastUpdated": "2026-03-11T10:30:00+02:00"}


def _order(status: str, meta: Json, patient: str = "Patient/p1") -> Json:
    written: Json = {"meta": meta, "status": status, "authoredOn": "2026-03-10T08:00:00Z"}
    return ordered("ibuprofen 400 mg", id="m1", subject={"reference": patient}, **written)


def _stay(location: str) -> Json:
    return stay(
        id="e1",
        subject={"reference": "Patient/p1"},
        period={"start": "2026-03-10T08:00:00Z"},
        location=[{"location": {"reference": location}}],
    )


def _ward(name: str, meta: Json) -> Json:
    kind = {"coding": [{"code": "wa"}]}
    return {"resourceType": "Location", "id": "ward-4", "name": name, "physicalType": kind, "meta": meta}


def _issues(out: Path) -> list[tuple[str, str, str]]:
    return [
        (issue["severity"], issue["details"]["coding"][0]["code"], issue["expression"][0])
        for outcome in rows(out / "OperationOutcome.ndjson")
        for issue in outcome["issue"]
        if "expression" in issue
    ]


class TestOverlappingExports:
    """The whole ward twice: in two files, or every line twice in any order."""

    @pytest.mark.parametrize("twice", ["each-file", "every-line"])
    def test_nothing_changes_but_the_issue(self, twice: str, tmp_path: Path) -> None:
        assert run_batch(WARD, tmp_path / "once").exception is None
        given = tmp_path / "in"
        if twice == "each-file":
            given.mkdir()
            for path in WARD.iterdir():
                for name in (path.name, f"again-{path.name}"):
                    (given / name).write_bytes(path.read_bytes())
        else:
            lines = lines_in(WARD)
            split_anew([*lines, *lines], given, seed=3, files=4)
        assert run_batch(given, tmp_path / "twice").exception is None
        once, out = files_of(tmp_path / "once"), files_of(tmp_path / "twice")
        own = {"OperationOutcome.ndjson", "patients.ndjson", "run.json", "ward-list.html"}
        assert {n: t for n, t in once.items() if n not in own} == {
            n: t for n, t in out.items() if n not in own
        }
        before, after = report_of(tmp_path / "once"), report_of(tmp_path / "twice")
        assert after["lines"]["in"] == 2 * before["lines"]["in"]
        assert after["lines"]["rejected"] == before["lines"]["rejected"]
        # A patient's copies are not needed. Shared lines count as used where somebody needs them, each of
        # them: 16 of the ward's 17 Locations and Medications.
        assert after["lines"]["used"] - before["lines"]["used"] == 16
        told = Counter(key for _, key, _ in _issues(tmp_path / "twice"))
        told.subtract(key for _, key, _ in _issues(tmp_path / "once"))
        assert +told == {"duplicate": after["patients"]["in"]}
        assert not -told


class TestEngines:
    """Any number of workers, files and orders; the same bytes as single requests."""

    @pytest.fixture
    def export(self, tmp_path: Path) -> Path:
        """Versions in several files, of own and of shared resources."""
        person = {"resourceType": "Patient", "id": "p1", "name": [{"family": "Quill"}]}
        older = [
            {**person, "meta": EARLY, "birthDate": "1990-01-01"},
            _order("active", EARLY),
            _ward("Old Ward", EARLY),
            pulse("Patient/p1", 1, meta=EARLY),
            _stay("https://hospital.example/fhir/Location/ward-4"),
        ]
        newer = [
            {**person, "meta": LATE, "birthDate": "1950-01-01"},
            _order("stopped", LATE),
            _ward("New Ward", LATE),
            pulse("Patient/p1", 1, meta=LATE, status="entered-in-error"),
            pulse("Patient/p1", 2),
        ]
        folder = tmp_path / "in"
        write_lines(folder, older, "a.ndjson")
        return write_lines(folder, newer, "b.ndjson")

    def test_the_newest_counts(self, export: Path, tmp_path: Path) -> None:
        out = check_workers(export, tmp_path)
        (entry,) = rows(out / "patients.ndjson")
        assert entry["row"]["ward"] == "New Ward"
        report = report_of(out)
        # Used: the person, the order, the stay, the pulse, and both versions of the shared ward.
        assert report["lines"] == {"in": 10, "used": 6, "not_needed": 4, "rejected": 0}
        assert ("information", "duplicate", "MedicationRequest/m1") in _issues(out)
        assert "REFERENCE_NOT_FOUND" not in str(_issues(out))

    @pytest.mark.spark
    def test_spark_gives_the_same(self, export: Path, tmp_path: Path) -> None:
        check_spark(export, check_workers(export, tmp_path), tmp_path)

    def test_order_and_files_change_nothing(self, export: Path, tmp_path: Path) -> None:
        lines = lines_in(export)
        assert run_batch(export, tmp_path / "one").exception is None
        expected = files_of(tmp_path / "one")
        for seed in range(3):
            given = split_anew(lines, tmp_path / f"in-{seed}", seed=seed, files=3)
            assert run_batch(given, tmp_path / f"out-{seed}").exception is None
            found = files_of(tmp_path / f"out-{seed}")
            assert {n: t for n, t in found.items() if n != "run.json"} == {
                n: t for n, t in expected.items() if n != "run.json"
            }


class TestHistories:
    """A Bundle of a resource's history, with a deletion in it."""

    @staticmethod
    def _history(*entries: Json) -> Json:
        return {"resourceType": "Bundle", "type": "history", "entry": list(entries)}

    def test_what_was_deleted_is_not_used(self, tmp_path: Path) -> None:
        folder = tmp_path / "in"
        folder.mkdir()
        gone = {
            "request": {"method": "DELETE", "url": "MedicationRequest/m1"},
            "response": {"status": "204", "lastModified": LATE["lastUpdated"]},
        }
        bundle = self._history(gone, {"resource": _order("active", EARLY)}, {"resource": pulse("Patient/p1")})
        (folder / "history.json").write_text(json.dumps(bundle), "utf-8")
        assert run_batch(folder, tmp_path / "out").exception is None
        report = report_of(tmp_path / "out")
        assert report["lines"] == {"in": 3, "used": 1, "not_needed": 2, "rejected": 0}
        assert report["input"]["by_type"]["deletion"] == 1
        assert ("information", "deleted", "MedicationRequest/m1") in _issues(tmp_path / "out")

    def test_a_deletion_of_what_nobody_sent_is_counted(self, tmp_path: Path) -> None:
        folder = tmp_path / "in"
        folder.mkdir()
        gone = {"request": {"method": "DELETE", "url": "Observation/elsewhere"}}
        bundle = self._history(gone, {"resource": pulse("Patient/p1")})
        (folder / "history.json").write_text(json.dumps(bundle), "utf-8")
        assert run_batch(folder, tmp_path / "out").exception is None
        assert report_of(tmp_path / "out")["lines"] == {"in": 2, "used": 1, "not_needed": 1, "rejected": 0}


class TestPeopleOfOneId:
    """Nobody is merged with somebody else."""

    def test_contained_patients_are_nobody(self, tmp_path: Path) -> None:
        held = [{"resourceType": "Patient", "id": "p"}]
        lines = [pulse("#p", n, contained=held) for n in range(2)] + [pulse("Patient/p1", 3)]
        assert run_batch(write_lines(tmp_path / "in", lines), tmp_path / "out").exception is None
        report = report_of(tmp_path / "out")
        assert report["patients"]["in"] == 1
        assert report["rejected_by_reason"] == {"no-patient": 2}


def test_order_within_a_group_changes_nothing() -> None:
    settings = Settings(as_of=None, choices=LocalChoices(), stamp=stamp())
    lines = [
        json.dumps(one).encode()
        for one in (
            _order("active", EARLY),
            _order("stopped", LATE),
            _order("active", {}),
            _order("on-hold", {}),
            pulse("Patient/p1", 1),
            pulse("Patient/p1", 1, status="amended"),
        )
    ]
    first = review_group("Patient/p1", lines, [], settings)
    for seed in range(5):
        turned = random.Random(seed).sample([*lines, lines[0]], 7)
        other = review_group("Patient/p1", turned, [], settings)
        assert other.sections["ward"] == first.sections["ward"]


def test_a_sites_own_codes_are_read_here_too() -> None:
    """As in every other door: a local code of the policy means what the site says."""
    own = LocalCode(system="urn:site", code="hr", means="pulse")
    settings = Settings(as_of=None, choices=LocalChoices(local_codes=(own,)), stamp=stamp())
    line = json.dumps(
        pulse("Patient/p1", 1, code={"coding": [{"system": "urn:site", "code": "hr"}]})
    ).encode()
    assert review_group("Patient/p1", [line], [], settings).totals.used == 1
