"""Instructions instead of seconds: the same on a busy machine as on a quiet one.

Everything is done in one process under valgrind, which writes down at each mark what it has counted
since the last one. Without valgrind there are no rows.
"""

import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from tests.benchmarks.counted import SUBJECTS, TIMES, stages
from tests.benchmarks.table import Row

_ROOT = Path(__file__).parents[2]
_SHOWN = 8
#: Subject -> what it is held against, and the most it may be.
_GOALS = {
    "whole review, 60 Observations": ("orjson.loads, 60 Observations", 9.0),
    "whole review, 1,000 Observations": ("orjson.loads, 1,000 Observations", None),
    "brief, 60 Observations": ("whole review, 60 Observations", None),
    "one question asked, 60 Observations": ("whole review, 60 Observations", 0.25),
    "what a draft can raise, 60 Observations": ("whole review, 60 Observations", None),
}


def rows() -> list[Row]:
    """Count the rows, and the stages of one review; none where there is no valgrind."""
    if shutil.which("valgrind") is None:
        return []
    counted = _counted()
    # Before the first mark stands the start, and between two subjects the warming up of the next.
    price = {name: counted[1 + 2 * place] / TIMES for place, name in enumerate(SUBJECTS)}
    held = [
        _row(name, price[name], yardstick, price[yardstick], goal)
        for name, (yardstick, goal) in _GOALS.items()
    ]
    by_stage = dict(zip(stages(), counted[1 + 2 * len(SUBJECTS) :], strict=False))
    return [*held, *_profile(by_stage)]


def _row(name: str, ours: float, yardstick: str, theirs: float, goal: float | None) -> Row:
    ratio = ours / theirs
    return Row(
        subject=name,
        ours=_millions(ours),
        yardstick=f"{yardstick} {_millions(theirs)}",
        ratio=ratio,
        goal=f"at most {goal:g} times" if goal is not None else "",
        met=None if goal is None else ratio <= goal,
    )


def _millions(count: float) -> str:
    return f"{count / 1e6:.2f} M"


def _profile(by_stage: dict[str, int]) -> Iterator[Row]:
    """Say where the instructions of one review go: what a missed goal is made of."""
    whole = sum(by_stage.values())
    asked = sorted((name for name in by_stage if name.startswith("ask ")), key=lambda name: -by_stage[name])
    shown = {name: count for name, count in by_stage.items() if name not in asked}
    shown["every question"] = sum(by_stage[name] for name in asked)
    shown |= {f"  {name}": by_stage[name] for name in asked[:_SHOWN]}
    shown[f"  {len(asked) - _SHOWN} further questions"] = sum(by_stage[name] for name in asked[_SHOWN:])
    for name, count in shown.items():
        share = f"{count / whole:.1%} of one review of 60 Observations"
        yield Row(subject=name, ours=_millions(count), yardstick=share, ratio=None, goal="", met=None)


def _counted() -> list[int]:
    """Return the instructions before each mark, since the one before it."""
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run(
            [
                "valgrind", "--tool=callgrind", "--dump-before=getloadavg",
                f"--callgrind-out-file={folder}/out", sys.executable, "-m", "tests.benchmarks.counted",
            ],
            check=True,
            capture_output=True,
            cwd=_ROOT,
            env={"PYTHONHASHSEED": "0", "PYTHONPATH": str(_ROOT / "service"), "PATH": "/usr/bin:/bin"},
        )  # fmt: skip
        parts = sorted(Path(folder).glob("out.*"), key=lambda part: int(part.suffix[1:]))
        return [_total(part.read_text("utf-8")) for part in parts]


def _total(part: str) -> int:
    found = re.search(r"^(?:summary|totals): (\d+)", part, re.MULTILINE)
    if found is None:
        raise AssertionError("valgrind wrote no total")
    return int(found[1])
