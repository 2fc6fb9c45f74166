"""Row 6: how long the commands take to answer, beside an interpreter that does nothing.

Compiled files stand in a folder of their own, so that the environment decides nothing: once with ours
among them, and once without, as after an installation on a disk that cannot be written.
"""

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

from tests.benchmarks.table import Row, milliseconds, side_by_side

_ROOT = Path(__file__).parents[2]
_PATIENT = _ROOT / "fixtures" / "bundles" / "01-sepsis.json"
_OURS = _ROOT / "service"
_REVIEW = ("-m", "weatherglass", "review", str(_PATIENT))


def _command(compiled: Path, *arguments: str) -> Callable[[], object]:
    told = {**os.environ, "PYTHONPYCACHEPREFIX": str(compiled), "PYTHONPATH": str(_OURS)}
    told.pop("PYTHONDONTWRITEBYTECODE", None)

    def run() -> None:
        subprocess.run([sys.executable, *arguments], check=True, capture_output=True, cwd=_ROOT, env=told)

    return run


def _without_ours(compiled: Path, *arguments: str) -> Callable[[], object]:
    run = _command(compiled, "-B", *arguments)
    ours = compiled / _OURS.relative_to(_OURS.anchor)
    _command(compiled, *arguments)()  # What it needs of others is compiled.
    shutil.rmtree(ours)
    return run


def rows() -> list[Row]:
    """Measure the rows."""
    with tempfile.TemporaryDirectory() as folder:
        whole, others = Path(folder) / "whole", Path(folder) / "others"
        version, review, uncompiled, nothing = side_by_side(
            _command(whole, "-m", "weatherglass", "--version"),
            _command(whole, *_REVIEW),
            _without_ours(others, *_REVIEW),
            _command(whole, "-c", "pass"),
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
            goal="at most 0.4 s",
            met=review <= 0.4,
        ),
        Row(
            subject="the same, none of ours compiled before",
            ours=milliseconds(uncompiled),
            yardstick=beside,
            ratio=None,
            goal="at most 0.7 s",
            met=uncompiled <= 0.7,
        ),
    ]
