"""Row 6: how long the commands take to answer, beside an interpreter that does nothing."""

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

from tests.benchmarks.table import Row, milliseconds, side_by_side

_ROOT = Path(__file__).parents[2]
_PATIENT = _ROOT / "fixtures" / "bundles" / "01-sepsis.json"


def _command(*arguments: str) -> Callable[[], object]:
    def run() -> None:
        subprocess.run([sys.executable, *arguments], check=True, capture_output=True, cwd=_ROOT)

    return run


def rows() -> list[Row]:
    """Measure the rows."""
    version, review, nothing = side_by_side(
        _command("-m", "weatherglass", "--version"),
        _command("-m", "weatherglass", "review", str(_PATIENT)),
        _command("-c", "pass"),
        rounds=11,
    )
    beside = f"python -c pass {milliseconds(nothing)}"
    return [
        Row(
            subject="weatherglass --version",
            ours=milliseconds(version),
            yardstick=beside,
            ratio=None,
            goal="at most 0.25 s",
            met=version <= 0.25,
        ),
        Row(
            subject="weatherglass review of the demo patient",
            ours=milliseconds(review),
            yardstick=beside,
            ratio=None,
            goal="at most 0.6 s",
            met=review <= 0.6,
        ),
    ]
