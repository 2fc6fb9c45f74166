"""Nothing that a sender wrote is still in memory when the request is over: no cache keeps it."""

import subprocess
import sys

from tests.running import ROOT
from weatherglass.model.remembered import remembered


def test_nothing_of_a_request_remains() -> None:
    done = subprocess.run(
        [sys.executable, "-W", "ignore", "-m", "tests.privacy.remains"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert done.stdout.startswith("[[200, 200, 200, 200, 200, "), "the texts were not read at all"


def test_an_answer_is_remembered_for_equal_questions_only() -> None:
    asked: list[tuple[str, ...]] = []

    @remembered(2)
    def length(*texts: str) -> int:
        asked.append(texts)
        return len(texts)

    for texts in (("a", "b"), ("a", "b"), ("a, b",), ("a'", "b"), ("a, b",)):
        assert length(*texts) == len(texts)
    assert asked == [("a", "b"), ("a, b",), ("a'", "b"), ("a, b",)]
