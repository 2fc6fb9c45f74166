"""Row 7: where the time of one review goes, stage by stage and question by question.

No goals: this is the profile that says what stands between a missed goal and its floor.
Each stage is timed on its own with everything before it already done, so the stages add
up to a little less than the whole.
"""

from collections.abc import Callable, Iterator
from functools import partial
from statistics import median
from time import perf_counter
from typing import TypeVar

from tests.benchmarks.records import record
from tests.benchmarks.table import Row, milliseconds
from weatherglass.facts.bedside import Bedside
from weatherglass.fhir.reading.bundle import Reading, read_bytes
from weatherglass.fhir.writing.bundle import encode, write_collection
from weatherglass.fhir.writing.frame.detail import Detail
from weatherglass.model.findings import Finding
from weatherglass.pipeline import DEFAULT_CHOICES
from weatherglass.review.assess import bedside_at
from weatherglass.review.question import Question
from weatherglass.review.questions import QUESTIONS
from weatherglass.review.synthesis import synthesise
from weatherglass.stamp import stamp

_ROUNDS = {60: 60, 1_000: 30, 10_000: 7}
_SHOWN = 12
_Answer = TypeVar("_Answer")


def rows() -> list[Row]:
    """Measure each size."""
    return [row for size, rounds in _ROUNDS.items() for row in _of(size, rounds)]


def _of(size: int, rounds: int) -> Iterator[Row]:
    body = record(size)
    rounds_taken = [dict(_once(body)) for _ in range(rounds)]
    taken = {name: median(each[name] for each in rounds_taken) for name in rounds_taken[0]}
    questions = {name: taken.pop(name) for name in list(taken) if name.startswith("assess_")}
    taken["assess: every question"] = sum(questions.values())
    whole = sum(taken.values())
    yield _row(f"{size:,} Observations, all stages", whole, whole)
    for name in ("read", "bedside", "assess: every question", "synthesise", "write", "encode"):
        yield _row(f"  {name}", taken[name], whole)
    slowest = sorted(questions.items(), key=lambda item: -item[1])
    for name, seconds in slowest[:_SHOWN]:
        yield _row(f"    {name.removeprefix('assess_')}", seconds, whole)
    rest = sum(seconds for _, seconds in slowest[_SHOWN:])
    yield _row(f"    {len(slowest) - _SHOWN} further questions", rest, whole)


def _once(body: bytes) -> Iterator[tuple[str, float]]:
    """Go through one review and yield how long each stage took."""
    watch = _Watch()
    reading: Reading = watch(lambda: read_bytes(body))
    yield "read", watch.seconds
    _, patient = next(iter(reading.records))
    as_of = patient.newest
    assert as_of is not None
    bedside = watch(lambda: bedside_at(patient, as_of, DEFAULT_CHOICES))
    yield "bedside", watch.seconds
    findings: list[Finding] = []
    for assessment in QUESTIONS:
        findings += watch(partial(_asked, assessment, bedside))
        yield assessment.ask.__name__, watch.seconds
    review = watch(lambda: synthesise(bedside, tuple(findings)))
    yield "synthesise", watch.seconds
    bundle = watch(
        lambda: write_collection((review,), reading.issues, stamp(), detail=Detail.FULL, members=False)
    )
    yield "write", watch.seconds
    watch(lambda: encode(bundle))
    yield "encode", watch.seconds


def _asked(assessment: Question, bedside: Bedside) -> list[Finding]:
    return list(assessment.ask(bedside))


class _Watch:
    seconds = 0.0

    def __call__(self, call: Callable[[], _Answer]) -> _Answer:
        start = perf_counter()
        answer = call()
        self.seconds = perf_counter() - start
        return answer


def _row(subject: str, seconds: float, whole: float) -> Row:
    share = f"{seconds / whole:.1%} of all stages"
    return Row(subject=subject, ours=milliseconds(seconds), yardstick=share, ratio=None, goal="", met=None)
