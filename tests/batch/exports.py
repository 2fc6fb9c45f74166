"""Inputs for the batch, made from the demo ward or in place, and what every run has to obey."""

import gzip
import json
import random
import re
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from click.testing import CliRunner, Result

from weatherglass.cli.commands.batch import command

ROOT = Path(__file__).parents[2]
WARD = ROOT / "fixtures" / "ndjson"
BUNDLES = ROOT / "fixtures" / "bundles"


def run_batch(*arguments: str | Path) -> Result:
    """Run the command in this process and return what came of it."""
    return CliRunner().invoke(command, [str(argument) for argument in arguments], standalone_mode=False)


def files_of(folder: Path) -> dict[str, bytes]:
    """Every file of an output folder."""
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


def joined(folder: Path) -> dict[str, bytes]:
    """The files that parts at an address come to, without the report and Hadoop's own files."""
    found: dict[str, bytes] = {}
    for name, text in sorted(files_of(folder).items()):
        if name[0] not in "._" and name != "run.json":
            whole = re.sub(r"-\d{5}(?=\.)", "", name)
            found[whole] = found.get(whole, b"") + text
    return found


def rows(path: Path) -> list[Any]:
    """The lines of an NDJSON file."""
    return [json.loads(line) for line in path.read_bytes().splitlines()]


def report_of(out: Path) -> Any:
    """The report of a run, after checking that its counts add up and fit the other files."""
    report = json.loads((out / "run.json").read_text("utf-8"))
    lines, patients = report["lines"], report["patients"]
    assert lines["in"] == lines["used"] + lines["not_needed"] + lines["rejected"] + lines.get("unchanged", 0)
    assert patients["in"] == patients["reviewed"] + patients["refused"] + patients.get("unchanged", 0)
    assert lines["in"] == sum(report["input"]["by_type"].values())
    assert lines["rejected"] == len(rows(out / "rejected.ndjson"))
    assert patients["in"] == len(rows(out / "patients.ndjson"))
    on_disk = {path.name for path in out.iterdir()}
    assert on_disk == {*report["files"], "run.json"}, "nothing besides the named files, no work folder"
    for name, written in report["files"].items():
        assert (out / name).stat().st_size == written["bytes"]
    return report


def lines_in(folder: Path) -> list[bytes]:
    """Every line of an export that is not blank."""
    texts = (
        gzip.decompress(path.read_bytes()) if path.suffix == ".gz" else path.read_bytes()
        for path in sorted(folder.iterdir())
    )
    return [line for text in texts for line in text.splitlines() if line.strip()]


def split_anew(lines: Sequence[bytes], folder: Path, *, seed: int, files: int, packed: bool = False) -> Path:
    """Write lines in another order, over other files, one type mixed with others."""
    folder.mkdir(parents=True)
    shuffled = list(lines)
    random.Random(seed).shuffle(shuffled)
    for number in range(files):
        text = b"\n".join(shuffled[number::files]) + (b"\n" if number % 2 else b"")
        if packed and number % 2 == 0:
            (folder / f"part-{number}.ndjson.gz").write_bytes(gzip.compress(text, 1))
        else:
            (folder / f"part-{number}.ndjson").write_bytes(text)
    return folder


def write_lines(folder: Path, resources: Iterable[Any], name: str = "rows.ndjson") -> Path:
    """Write resources as one NDJSON file of a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    text = "".join(json.dumps(resource, ensure_ascii=False) + "\n" for resource in resources)
    (folder / name).write_text(text, "utf-8")
    return folder


def pulse(patient: str | None, number: int = 0, **more: Any) -> dict[str, Any]:
    """One pulse Observation; `patient` is a reference."""
    made: dict[str, Any] = {
        "resourceType": "Observation",
        "id": f"pulse-{number}",
        "status": "final",
        "code": {"coding": [{"system": "http://loinc.org", "code": "8867-4"}]},
        "effectiveDateTime": f"2026-03-12T07:{number % 60:02}:00Z",
        "valueQuantity": {"value": 80 + number % 20, "system": "http://unitsofmeasure.org", "code": "/min"},
    }
    if patient is not None:
        made["subject"] = {"reference": patient}
    return made | more
