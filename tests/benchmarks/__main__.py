"""`make bench`: measure everything side by side and print one table."""

import os
import platform
import sys
from collections.abc import Callable, Sequence
from importlib import import_module
from pathlib import Path

from tests.benchmarks.table import Row, printed
from weatherglass.memory import settle

#: Title and module of every group of rows; a module may say that it has none here.
_GROUPS = (
    ("1 Reading", "tests.benchmarks.reading"),
    ("2 Review in process", "tests.benchmarks.reviewing"),
    ("3 Over HTTP, one worker, wrk", "tests.benchmarks.over_http"),
    ("4 General engines, extraction only", "tests.benchmarks.engines"),
    ("5 The night", "tests.benchmarks.batch"),
    ("6 Start-up", "tests.benchmarks.starting"),
    ("7 Where the time of a review goes", "tests.benchmarks.stages"),
    ("8 Instructions, under valgrind", "tests.benchmarks.instructions"),
    ("9 Memory of an answer about many", "tests.benchmarks.memory"),
    ("10 The past again, by moment", "tests.benchmarks.looking_back"),
)


def main(wanted: Sequence[str]) -> int:
    """Print the table; arguments name the groups to measure, all of them when there are none."""
    print(_machine())  # noqa: T201 - the table is this command's output
    settle()  # As the server and the batch workers do; it holds for the yardsticks of the same process too.
    for title, module in _GROUPS:
        if wanted and not any(module.endswith(name) or title.startswith(name) for name in wanted):
            continue
        rows: Callable[[], list[Row]] = import_module(module).rows
        print(printed(title, rows()), flush=True)  # noqa: T201
    return 0


def _machine() -> str:
    return f"{os.cpu_count()} cores, {_processor()}, Python {platform.python_version()}"


def _processor() -> str:
    try:
        lines = Path("/proc/cpuinfo").read_text("utf-8").splitlines()
    except OSError:
        return platform.machine()
    named = (line.partition(":")[2].strip() for line in lines if line.startswith("model name"))
    return next(named, platform.machine())


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
