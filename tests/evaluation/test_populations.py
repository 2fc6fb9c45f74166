"""Populations of outside generators: who was never in hospital counts no day on a ward.

carebundle 0.5.0 makes one ambulatory visit a person; clinosim 0.6.5 makes stays, visits to the emergency
department and to clinics. The days are worked out here from their own Encounters, by other lines than ours.
"""

import json
import subprocess
import sys
from collections import defaultdict
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.once import clinosim
from weatherglass.cli.main import run

pytestmark = pytest.mark.slow
Json = dict[str, Any]


def _evaluated(export: Path, out: Path) -> Json:
    assert run(["evaluate", str(export), str(out), "--workers", "1", "--repeats", "0"]) == 0
    read: Json = json.loads((out / "evaluation.json").read_text("utf-8"))
    return read


def test_outpatients_have_no_day_on_a_ward(tmp_path: Path) -> None:
    program = Path(sys.executable).with_name("carebundle")
    asked = "--profile mixed --count 25 --seed 42 --sex mixed --age-range 25-95 --format ndjson --out"
    subprocess.run([program, "generate", *asked.split(), tmp_path / "in"], check=True, capture_output=True)
    told = _evaluated(tmp_path / "in", tmp_path / "out")
    assert (told["patientDays"], told["patientDaysWithoutStay"]) == (0, 0)
    assert (told["patients"]["replayed"], told["patients"]["never on a ward"]) == (0, 25)


def _resources(folder: Path, kind: str) -> Iterator[Json]:
    for path in sorted(folder.rglob(f"{kind}*.ndjson")):
        for line in path.read_text("utf-8").splitlines():
            yield json.loads(line)


def test_the_days_of_stays_and_of_nothing_else(
    tools: Path, tmp_path: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Inpatient and emergency Encounters by patient, each hour once; clinics for none."""
    made = clinosim(tools, tmp_path_factory)
    export = tmp_path / "in"
    export.mkdir()
    for kind in ("Patient", "Encounter", "Observation"):
        kept = [json.dumps(each) for each in _resources(made, kind) if "nursing-scores" not in str(each)]
        (export / f"{kind}.ndjson").write_text("\n".join(kept) + "\n", "utf-8")
    stays: dict[str, list[Json]] = defaultdict(list)
    for each in _resources(export, "Encounter"):
        stays[each["subject"]["reference"]].append(each)
    told = _evaluated(export, tmp_path / "out")
    never = [
        name for name, own in stays.items() if not any(one["class"]["code"] in ("IMP", "EMER") for one in own)
    ]
    assert never
    assert told["patients"]["never on a ward"] >= len(never)
    longest = sum((_time(own) for own in stays.values()), timedelta()) / timedelta(days=1)
    assert 0 < told["patientDays"] <= longest + 0.01


def _time(encounters: list[Json]) -> timedelta:
    """Return the time in hospital, each hour once."""
    spans = sorted(
        (datetime.fromisoformat(one["period"]["start"]), datetime.fromisoformat(one["period"]["end"]))
        for one in encounters
        if one["class"]["code"] in ("IMP", "EMER") and "end" in one.get("period", {})
    )
    total, until = timedelta(), None
    for start, end in spans:
        begin = start if until is None else max(start, until)
        if end > begin:
            total += end - begin
        until = end if until is None else max(until, end)
    return total
