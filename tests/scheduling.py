"""Who runs what, where several processes share the tests.

A file stays together, because its fixtures are its own. What shares a dear thing stays together too: one
process owns the JVM, one the browser, one the judges. Where every case stands alone, the file is split. The
dearest begin first, so that the last minutes are filled with what is short.
"""

from bisect import bisect_left
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from functools import cache
from itertools import accumulate
from pathlib import Path
from typing import Any, Final

import pytest
from xdist.scheduler import LoadScopeScheduling

#: Where one session's fixture serves all: the judges, the record system with its sign-in, the browser.
_TOGETHER: Final = ("tests/conformance/", "tests/sandbox/", "tests/web/")
#: Files of which every case stands alone and takes seconds.
_APART: Final = frozenset({"tests/property/test_laws.py"})
#: What takes longest from its first test to its last, longest first; beginnings of names.
FIRST: Final = (
    "spark",
    "tests/web/",
    "tests/ehr/test_real",
    "tests/property/",
    "tests/sandbox/",
    "tests/interop/",
    "tests/deploy/",
    "tests/hospital/",
    "tests/faults/",
    "tests/conformance/",
    "tests/batch/",
    "tests/evaluation/",
    "tests/api/",
    "tests/cli/",
)
_ROOT: Final = Path(__file__).parents[1]


@cache
def _needs_spark(file: str) -> bool:
    path = _ROOT / file
    return path.name != Path(__file__).name and "pytest.mark.spark" in path.read_text("utf-8")


@cache
def _unit_of_file(file: str) -> str:
    if _needs_spark(file):
        return "spark"
    return next((folder for folder in _TOGETHER if file.startswith(folder)), file)


def unit_of(nodeid: str) -> str:
    """Return the name of what a test is run together with."""
    file = nodeid.partition("::")[0]
    return nodeid if file in _APART else _unit_of_file(file)


def dearest_first(nodeids: Iterable[str]) -> Callable[[pytest.Item], tuple[int, int, str, str]]:
    """Return a key by which the units of these tests begin with the dearest; a file keeps its own order."""
    sizes = Counter(map(unit_of, nodeids))

    def place(item: pytest.Item) -> tuple[int, int, str, str]:
        unit = unit_of(item.nodeid)
        early = (at for at, name in enumerate(FIRST) if unit.startswith(name))
        return next(early, len(FIRST)), -sizes[unit], unit, item.nodeid.partition("::")[0]

    return place


def beginning_apart(folders: Sequence[Any], process: int, processes: int) -> list[Any]:
    """Return what is to be collected, for each process from another beginning on.

    A file that Python has not compiled yet is compiled by the process that comes to it first; the others,
    which come later, find it done.
    """
    before = list(accumulate((_written(each.path) for each in folders), initial=0))
    first = bisect_left(before, before[-1] * process / processes)
    return [*folders[first:], *folders[:first]]


def _written(path: Path) -> int:
    files = (*path.glob("*.py"), *path.glob("*/*.py")) if path.is_dir() else (path,)
    return sum(file.stat().st_size for file in files)


def tell_what_is_shown(config: pytest.Config) -> None:
    """Let a process send of a test that passed no more than is shown: five of seven messages are not.

    Where more is asked for, lines a test, durations or a report of each, everything is sent.
    """
    if config.option.verbose > 0 or config.option.durations is not None or config.option.xmlpath:
        return
    (worker,) = (plugin for plugin in config.pluginmanager.get_plugins() if hasattr(plugin, "sendevent"))
    send = worker.sendevent

    def send_what_is_shown(name: str, **told: Any) -> None:
        if name in ("logstart", "logfinish"):
            return
        if name == "testreport" and told["data"]["outcome"] == "passed":
            if told["data"]["when"] != "call":
                return
            told["data"]["keywords"] = {}
        send(name, **told)

    worker.sendevent = send_what_is_shown


class _Listed(list[str]):
    """The tests that a process collected; asked for a place once a test, so it knows them by name."""

    def __init__(self, tests: Iterable[str]) -> None:
        super().__init__(tests)
        self._places = {test: place for place, test in enumerate(self)}

    def index(self, test: str, *_: Any) -> int:
        """Return the place of a test."""
        return self._places[test]


class Scheduling(LoadScopeScheduling):  # type: ignore[misc] # No types come with it.
    """Units of tests, the dearest first, in time that grows with their number alone."""

    def _split_scope(self, nodeid: str) -> str:
        return unit_of(nodeid)

    def add_node_collection(self, node: Any, collection: Any) -> None:
        """Take what a process collected."""
        super().add_node_collection(node, collection)
        if node in self.registered_collections:
            self.registered_collections[node] = _Listed(self.registered_collections[node])

    def schedule(self) -> None:
        """Put the units in order and hand out the first."""
        self.config.option.loadscopereorder = False
        super().schedule()

    def mark_test_complete(self, node: Any, item_index: int, duration: float = 0) -> None:
        """Forget a unit that is done: what is pending is counted after every test."""
        super().mark_test_complete(node, item_index, duration)
        unit = unit_of(self.registered_collections[node][item_index])
        if all(self.assigned_work[node].get(unit, {"": False}).values()):
            del self.assigned_work[node][unit]
