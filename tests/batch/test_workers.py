"""Worker processes that go away at the worst moment cost nothing but time."""

import multiprocessing
from functools import partial

from weatherglass.batch.engine.workers import Workers, whole


def _squared(number: int) -> int:
    return number * number


def test_workers_killed_between_two_tasks_are_replaced() -> None:
    """Nobody waits for an idle worker: that it is gone shows when the next task is handed out."""
    with Workers(2) as workers:
        for child in multiprocessing.active_children():
            child.kill()
            child.join()
        answers = workers.answers(whole(partial(_squared, n)) for n in range(5))
        assert sorted(answers) == [0, 1, 4, 9, 16]
