"""The newest results in one strip: by the moment of their sample, the newest first."""

from collections.abc import Iterable
from dataclasses import dataclass

from weatherglass.model.latest import LatestResult
from weatherglass.model.numbers.quantities import unit_words
from weatherglass.model.review import Review
from weatherglass.model.words.result_words import against_words, before_words
from weatherglass.web.drawing.clockface import Clockface


@dataclass(frozen=True, slots=True, kw_only=True)
class ResultView:
    """One result.

    Attributes:
        mark: "high", "low, flagged critical"; empty where its sender's range holds it.
        before: The value before it alone; empty where there is none or it is the same.
        before_at: The same with its time.
        against: The range that its sender sent, and the patient's own.
    """

    name: str
    value: str
    unit: str
    mark: str
    before: str
    before_at: str
    against: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ResultsView:
    """The strip: results under the moment of their sample, and what was sent and not read.

    Attributes:
        moments: Of each sample, for a program: the browser says how old it is.
    """

    samples: tuple[tuple[str, tuple[ResultView, ...]], ...]
    moments: tuple[str, ...]
    not_read: tuple[str, ...]


def results_view(review: Review, face: Clockface) -> ResultsView:
    """Return the strip of one review."""
    rows = sorted(review.latest.rows, key=lambda row: row.newest.at, reverse=True)
    samples: dict[str, list[ResultView]] = {}
    moments: dict[str, str] = {}
    for row in rows:
        moments.setdefault(face.short(row.newest.at), row.newest.at.isoformat())
        samples.setdefault(face.short(row.newest.at), []).append(_result(row, face))
    return ResultsView(
        samples=tuple(_frozen(samples.items())),
        moments=tuple(moments.values()),
        not_read=review.latest.not_read,
    )


def _frozen(
    samples: Iterable[tuple[str, list[ResultView]]],
) -> Iterable[tuple[str, tuple[ResultView, ...]]]:
    return ((at, tuple(found)) for at, found in samples)


def _result(row: LatestResult, face: Clockface) -> ResultView:
    before = row.previous.shown if row.previous is not None else ""
    return ResultView(
        name=row.name,
        value=row.newest.shown,
        unit=unit_words(row.unit),
        mark=row.mark,
        before="" if before == row.newest.shown else before,
        before_at=before_words(row, face),
        against=against_words(row),
    )
