"""Worker processes, and somebody who looks after them.

Each worker takes one task at a time and answers. A worker that goes away without an
answer (out of memory, killed, a fault below Python) is replaced and its task is given
out again; the second time the task hears which patient it was at, so that one patient
cannot end a whole night. Workers end on their own when their parent is gone.

Workers are forked before anything with threads of its own is loaded, so this module
must stay free of DuckDB and Spark.
"""

import gc
import multiprocessing
import os
import signal
import traceback
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field
from functools import partial
from multiprocessing.connection import Connection, wait
from multiprocessing.context import ForkProcess
from typing import Any, Generic, Self, TypeVar

from weatherglass.batch.engine.shard import Beacon
from weatherglass.batch.faults import RunFailedError

_Answer = TypeVar("_Answer")
_FORK = multiprocessing.get_context("fork")
_MOST_DEATHS = 3


class WorkerFailedError(RunFailedError):
    """A task failed in a worker; the message is for a log, without values of the input."""


class WorkerLostError(RunFailedError):
    """A task ended several workers and cannot be made smaller."""


@dataclass(slots=True, kw_only=True)
class Task(Generic[_Answer]):
    """One thing to do.

    Attributes:
        function: Called with the worker's beacon and with `ended`. It has to survive pickling:
            `functools.partial` of a function of a module does, and its arguments are type-checked.
        ended: Numbers of the patients that ended a worker twice.
    """

    function: Callable[[Beacon, AbstractSet[int]], _Answer]
    ended: frozenset[int] = frozenset()
    deaths: list[int] = field(default_factory=list)


def whole(call: Callable[[], _Answer]) -> Task[_Answer]:
    """A task that is not about one patient after another, so that it has no place to show.

    Args:
        call: What to do; has to survive pickling.
    """
    return Task(function=partial(_without_place, call))


def _without_place(call: Callable[[], _Answer], beacon: Beacon, ended: AbstractSet[int]) -> _Answer:
    del beacon, ended
    return call()


class _Worker:
    """One process and the pipe to it."""

    def __init__(self, strangers: Iterable["_Worker"]) -> None:
        self.beacon = Beacon()
        self.pipe, theirs = _FORK.Pipe()
        others = [self.pipe, *(stranger.pipe for stranger in strangers)]
        self.process: ForkProcess = _FORK.Process(
            target=_serve, args=(theirs, self.beacon, others), daemon=True
        )
        self.process.start()
        theirs.close()
        self.task: Task[Any] | None = None

    def give(self, task: Task[Any]) -> None:
        self.task = task
        self.beacon.show(-1)
        self.pipe.send((task.function, task.ended))

    def end(self) -> None:
        self.pipe.close()
        self.process.join(timeout=0.2)
        if self.process.is_alive():
            self.process.kill()
            self.process.join()


class Workers:
    """A number of workers; use it as a context."""

    def __init__(self, count: int) -> None:
        """Start workers.

        Args:
            count: How many.
        """
        gc.collect()
        gc.freeze()  # What is loaded by now is never looked through again, here or in the workers.
        self._workers: list[_Worker] = []
        for _ in range(count):
            self._workers.append(_Worker(self._workers))

    def __enter__(self) -> Self:
        """Hand out the workers."""
        return self

    def __exit__(self, *_: object) -> None:
        """End them."""
        for worker in self._workers:
            worker.end()

    def answers(self, tasks: Iterable[Task[_Answer]]) -> Iterator[_Answer]:
        """Do tasks and yield their answers as they come.

        Raises:
            WorkerFailedError: A task raised something unforeseen.
            WorkerLostError: A task ended several workers.
            OSError: A task met one, such as a full disk.
        """
        rest = iter(tasks)
        again: deque[Task[_Answer]] = deque()
        while True:
            for worker in self._workers:
                if worker.task is None:
                    task = again.popleft() if again else next(rest, None)
                    if task is None:
                        break
                    try:
                        worker.give(task)
                    except (BrokenPipeError, ConnectionResetError):
                        again.append(self._replaced(worker))  # It went away between two tasks.
            busy = {worker.pipe: worker for worker in self._workers if worker.task is not None}
            if not busy:
                if again:
                    continue
                return
            for pipe in wait(list(busy)):
                worker = busy[pipe]  # type: ignore[index]
                try:
                    answer = worker.pipe.recv()
                except (EOFError, ConnectionResetError):
                    again.append(self._replaced(worker))
                else:
                    worker.task = None
                    yield _unpacked(answer)

    def _replaced(self, lost: _Worker) -> Task[Any]:
        """Replace a worker that went away, and return its task for another try."""
        task = lost.task
        if task is None:  # pragma: no cover - only busy workers are waited for
            raise WorkerLostError("a worker went away without a task")
        ordinal = lost.beacon.seen()
        lost.process.join()
        at = self._workers.index(lost)
        rest = [worker for worker in self._workers if worker is not lost]
        lost.pipe.close()
        self._workers[at] = _Worker(rest)
        if task.deaths.count(ordinal) >= 1 and ordinal >= 0:
            task.ended |= {ordinal}
        task.deaths.append(ordinal)
        if task.deaths.count(-1) >= _MOST_DEATHS:
            raise WorkerLostError(
                f"a worker was ended {_MOST_DEATHS} times at the same work; is there enough memory?"
            )
        return task


def _unpacked(answer: Any) -> Any:
    if isinstance(answer, BaseException):
        raise answer
    return answer


def _serve(pipe: Connection, beacon: Beacon, others: list[Connection]) -> None:
    """Take tasks until the parent is gone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # The parent decides.
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    for other in others:
        other.close()
    while True:
        try:
            function, ended = pipe.recv()
        except (EOFError, OSError):
            os._exit(0)
        try:
            answer: Any = function(beacon, ended)
        except OSError as error:
            answer = OSError(error.errno, error.strerror, error.filename)
        except Exception as error:  # noqa: BLE001 - whatever it is, the parent has to hear of it
            answer = WorkerFailedError(_said(error))
        try:
            pipe.send(answer)
        except OSError:
            os._exit(0)


def _said(error: Exception) -> str:
    """Say what failed and where, without the values of the input that a message may hold."""
    places = traceback.extract_tb(error.__traceback__)[-3:]
    where = " < ".join(f"{place.name}:{place.lineno}" for place in reversed(places))
    ours = type(error).__module__.startswith("weatherglass.")
    return f"{type(error).__name__}{f': {error}' if ours else ''} in {where}"
