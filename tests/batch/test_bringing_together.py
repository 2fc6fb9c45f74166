"""Whatever belongs to a patient reaches that patient, and nobody else."""

import json
from pathlib import Path
from typing import Any

from tests.batch.exports import pulse, report_of, rows, run_batch, write_lines
from tests.records import stay

_PHYSICAL = "http://terminology.hl7.org/CodeSystem/location-physical-type"


def _location(name: str, kind: str, part_of: str | None = None) -> dict[str, Any]:
    made: dict[str, Any] = {
        "resourceType": "Location",
        "id": name,
        "name": name.title(),
        "physicalType": {"coding": [{"system": _PHYSICAL, "code": kind}]},
    }
    return made | ({"partOf": {"reference": f"Location/{part_of}"}} if part_of else {})


def _stay(patient: str, location: str) -> dict[str, Any]:
    return stay(
        id=f"stay-{patient}",
        subject={"reference": f"Patient/{patient}"},
        period={"start": "2026-03-10T08:00:00Z"},
        location=[{"location": {"reference": location}, "status": "active"}],
    )


def _bundle(*entries: tuple[str | None, dict[str, Any]], **more: Any) -> dict[str, Any]:
    made = [{**({"fullUrl": url} if url else {}), "resource": resource} for url, resource in entries]
    return {"resourceType": "Bundle", "type": "collection", "entry": made, **more}


def _write_bundles(folder: Path, *bundles: dict[str, Any], indent: int | None = None) -> Path:
    folder.mkdir()
    for number, bundle in enumerate(bundles):
        (folder / f"bundle-{number}.json").write_text(json.dumps(bundle, indent=indent), "utf-8")
    return folder


def _run(given: Path, tmp_path: Path) -> Path:
    out = tmp_path / "out"
    assert run_batch(given, out, "--workers", "2").exception is None
    return out


def _rows_by_patient(out: Path) -> dict[str, Any]:
    return {entry["patient"]: entry["row"] for entry in rows(out / "patients.ndjson")}


def test_a_bed_brings_its_ward_along(tmp_path: Path) -> None:
    """The stay names the bed only; bed, ward and hospital lie in other files, in any order."""
    folder = tmp_path / "in"
    write_lines(folder, [_location("larkmoor", "wa", "saltmarsh"), _location("saltmarsh", "si")], "a.ndjson")
    write_lines(folder, [pulse("Patient/p1"), _stay("p1", "Location/bed-4")], "b.ndjson")
    write_lines(
        folder, [_location("bed-4", "bd", "larkmoor"), _location("bed-5", "bd", "larkmoor")], "c.ndjson"
    )
    out = _run(folder, tmp_path)
    row = _rows_by_patient(out)["Patient/p1"]
    assert (row["ward"], row["bed"]) == ("Larkmoor", "Bed-4")
    # The other bed is nobody's and is counted as not needed; the other three are used.
    assert report_of(out)["lines"] == {"in": 6, "used": 5, "not_needed": 1, "rejected": 0}


def test_places_that_hold_each_other_come_to_an_end(tmp_path: Path) -> None:
    """A ward that is part of its own bed is a fault of the sender, not a reason to go round for ever."""
    given = write_lines(
        tmp_path / "in",
        [
            pulse("Patient/p1"),
            _stay("p1", "Location/a"),
            _location("a", "bd", "b"),
            _location("b", "wa", "a"),
        ],
    )
    assert report_of(_run(given, tmp_path))["lines"]["used"] == 4


def test_a_medicine_reaches_everybody_who_takes_it(tmp_path: Path) -> None:
    """One Medication, two patients' orders, one by an absolute reference."""
    medicine = {"resourceType": "Medication", "id": "m1", "code": {"text": "Gentamicin 80 mg injection"}}
    orders = [
        {
            "resourceType": "MedicationRequest",
            "id": f"order-{patient}",
            "status": "active",
            "intent": "order",
            "subject": {"reference": f"Patient/{patient}"},
            "authoredOn": "2026-03-11T09:00:00Z",
            "medicationReference": {"reference": f"{base}Medication/m1"},
        }
        for patient, base in (("p1", ""), ("p2", ""))
    ]
    given = write_lines(tmp_path / "in", [pulse("Patient/p1"), pulse("Patient/p2", 1), *orders, medicine])
    out = _run(given, tmp_path)
    said = (out / "OperationOutcome.ndjson").read_text("utf-8")
    assert "is not in the request" not in said
    assert report_of(out)["lines"]["used"] == 5


def test_somebody_known_by_an_identifier_only(tmp_path: Path) -> None:
    """A hospital number that one patient has names that patient; one that two have names nobody."""
    number = {"system": "urn:made-up:number", "value": "12"}
    shared = {"system": "urn:made-up:number", "value": "99"}
    people = [
        {"resourceType": "Patient", "id": "p1", "identifier": [number, shared]},
        {"resourceType": "Patient", "id": "p2", "identifier": [shared]},
    ]
    given = write_lines(
        tmp_path / "in",
        [
            *people,
            pulse(None, 1, subject={"identifier": number}),
            pulse(None, 2, subject={"identifier": shared}),
            pulse("Patient/p2", 3),
        ],
    )
    out = _run(given, tmp_path)
    assert report_of(out)["patients"]["reviewed"] == 2
    assert _rows_by_patient(out)["Patient/p1"]["as_of"].startswith("07:01")
    rejected = rows(out / "rejected.ndjson")
    assert [r["reasons"][0]["issue"] for r in rejected] == ["no-patient"]
    assert '"pulse-2"' in rejected[0]["line"]


def test_bundles_with_names_of_their_own(tmp_path: Path) -> None:
    """Inside a Bundle a patient is known by address and by id; two Bundles may use one id for two people."""
    people = []
    for number, family in ((1, "Alder"), (2, "Birch")):
        url = f"urn:uuid:00000000-0000-4000-8000-00000000000{number}"
        person = {"resourceType": "Patient", "id": "1", "name": [{"family": family}]}
        people.append(
            _bundle((url, person), (None, pulse("Patient/1", number)), (None, pulse(url, number + 10)))
        )
    out = _run(_write_bundles(tmp_path / "in", *people, indent=2), tmp_path)
    found = _rows_by_patient(out)
    assert [row["name"] for row in found.values()] == ["Alder", "Birch"]
    assert [row["as_of"][:5] for row in found.values()] == ["07:11", "07:12"]
    assert report_of(out)["lines"] == {"in": 6, "used": 6, "not_needed": 0, "rejected": 0}


def test_one_patient_in_several_bundles(tmp_path: Path) -> None:
    """Pages of a search: each holds a part, and the one that has a next page says so."""
    person = {"resourceType": "Patient", "id": "p1", "name": [{"family": "Alder"}]}
    first = _bundle((None, person), (None, pulse("Patient/p1", 1)), type="searchset")
    first["link"] = [{"relation": "next", "url": "https://ward.example/fhir?page=2"}]
    second = _bundle((None, pulse("Patient/p1", 2)), type="searchset")
    out = _run(_write_bundles(tmp_path / "in", first, second), tmp_path)
    assert report_of(out)["lines"] == {"in": 3, "used": 3, "not_needed": 0, "rejected": 0}
    assert _rows_by_patient(out)["Patient/p1"]["as_of"].startswith("07:02")
    assert "further pages that were not sent" in (out / "OperationOutcome.ndjson").read_text("utf-8")


def test_the_bundles_of_the_ward_give_the_results_of_its_export(tmp_path: Path) -> None:
    """The same thirteen patients as Bundles and as NDJSON: the same results."""
    from tests.batch.exports import BUNDLES, WARD

    for name, given in (("a", BUNDLES), ("b", WARD)):
        assert run_batch(given, tmp_path / name, "--workers", "2").exception is None
    kinds = [p.name for p in (tmp_path / "b").glob("[A-Z]*.ndjson") if p.stem != "OperationOutcome"]
    for kind in kinds:
        assert (tmp_path / "a" / kind).read_bytes() == (tmp_path / "b" / kind).read_bytes(), kind


def test_bundles_as_lines(tmp_path: Path) -> None:
    """A line of NDJSON may be a Bundle; its entries are counted as the lines that they are."""
    bundle = _bundle((None, pulse("Patient/p1", 1)), (None, pulse("Patient/p2", 2)))
    out = _run(write_lines(tmp_path / "in", [bundle, pulse("Patient/p1", 3)]), tmp_path)
    assert report_of(out)["lines"]["in"] == 3
    assert report_of(out)["patients"]["reviewed"] == 2
