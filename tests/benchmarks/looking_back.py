"""Row 10: what one moment of the past takes when `weatherglass evaluate` reviews it again.

Two sizes, whose difference is without the start and the report. The yardstick is a whole review of a
patient's last moment as the night makes it, by a batch over the same two populations.
"""

import json
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.benchmarks.population import Population, write_population
from tests.benchmarks.table import Row, milliseconds

_FEW, _MANY = 20, 80


def rows() -> list[Row]:
    """Measure the row."""
    with tempfile.TemporaryDirectory() as folder:
        few = write_population(Path(folder) / "few", patients=_FEW)
        many = write_population(Path(folder) / "many", patients=_MANY)
        before, rounds_before = _evaluated(few, Path(folder) / "back-few")
        after, rounds_after = _evaluated(many, Path(folder) / "back-many")
        night = _night(many, Path(folder) / "night-many") - _night(few, Path(folder) / "night-few")
    a_round = (after - before) / (rounds_after - rounds_before)
    a_patient = night / (_MANY - _FEW)
    return [
        Row(
            subject=f"evaluate, one of {rounds_after:,} moments, start apart",
            ours=milliseconds(a_round),
            yardstick=f"batch, one patient {milliseconds(a_patient)}",
            ratio=a_round / a_patient,
            goal="",
            met=None,
        )
    ]


def _evaluated(given: Population, out: Path) -> tuple[float, int]:
    """Return the seconds, and how many moments were reviewed."""
    seconds = _timed("evaluate", str(given.folder), str(out), "--workers", "1", "--repeats", "0")
    report = json.loads((out / "evaluation.json").read_bytes())
    return seconds, report["ladders"][0]["rounds"]


def _night(given: Population, out: Path) -> float:
    return _timed("batch", str(given.folder), str(out), "--workers", "1")


def _timed(*arguments: str) -> float:
    began = time.perf_counter()
    subprocess.run([sys.executable, "-m", "weatherglass", *arguments], check=True, capture_output=True)
    return time.perf_counter() - began
