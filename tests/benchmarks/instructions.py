"""Instructions instead of seconds: the same on a busy machine as on a quiet one.

Each subject runs in a process of its own under valgrind, a few times and a few times more; the
difference, divided, is the price of one. Without valgrind there are no rows.
"""

import re
import shutil
import subprocess
import sys
from pathlib import Path

from tests.benchmarks.counted import SUBJECTS
from tests.benchmarks.table import Row

_ROOT = Path(__file__).parents[2]
_FEW, _MORE = 2, 6
#: Subject -> what it is held against, and the most it may be.
_GOALS = {
    "whole review, 60 Observations": ("orjson.loads, 60 Observations", 9.0),
    "whole review, 1,000 Observations": ("orjson.loads, 1,000 Observations", None),
    "brief, 60 Observations": ("whole review, 60 Observations", None),
    "one question asked, 60 Observations": ("whole review, 60 Observations", 0.25),
}


def rows() -> list[Row]:
    """Count the rows; none where there is no valgrind."""
    if shutil.which("valgrind") is None:
        return []
    _count(next(iter(SUBJECTS)), 1)  # Compiled files are written once, and counted for nobody.
    price = {name: (_count(name, _MORE) - _count(name, _FEW)) / (_MORE - _FEW) for name in SUBJECTS}
    return [
        _row(name, price[name], yardstick, price[yardstick], goal)
        for name, (yardstick, goal) in _GOALS.items()
    ]


def _row(name: str, ours: float, yardstick: str, theirs: float, goal: float | None) -> Row:
    ratio = ours / theirs
    return Row(
        subject=name,
        ours=f"{ours / 1e6:.1f} M",
        yardstick=f"{yardstick} {theirs / 1e6:.1f} M",
        ratio=ratio,
        goal=f"at most {goal:g} times" if goal is not None else "",
        met=None if goal is None else ratio <= goal,
    )


def _count(name: str, times: int) -> int:
    """Return the instructions of a process that does something so many times."""
    done = subprocess.run(
        [
            "valgrind", "--tool=callgrind", "--callgrind-out-file=/dev/null",
            sys.executable, "-m", "tests.benchmarks.counted", name, str(times),
        ],
        check=True,
        capture_output=True,
        text=True,
        cwd=_ROOT,
        env={"PYTHONHASHSEED": "0", "PYTHONPATH": str(_ROOT / "service"), "PATH": "/usr/bin:/bin"},
    )  # fmt: skip
    return int(re.findall(r"Collected : (\d+)", done.stderr)[-1])
