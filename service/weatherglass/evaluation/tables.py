"""What an evaluation counted, moment by moment, as Parquet: only where a site asks for it.

The page and its JSON hold counts and shares alone; these tables name patients and moments.
"""

import tempfile
from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

from weatherglass.evaluation.trace import REVIEW, Outcome, Trace
from weatherglass.model.findings import Urgency
from weatherglass.tables.rows import Row, line_of
from weatherglass.tables.schema import REPLAYED
from weatherglass.tables.writing import write_parquet

_ONE_TICK = timedelta(microseconds=1)
#: Apart from the tables of a batch, which may lie in the same folder.
FILES = tuple(f"evaluation-{table.name}.parquet" for table in REPLAYED)


def write_tables(traces: Sequence[Trace], folder: Path) -> dict[str, int]:
    """Write the tables of an evaluation.

    Args:
        traces: The replayed patients, in order.
        folder: Where the files go.

    Returns:
        Rows by table.

    Raises:
        OSError: The disk is full, or the folder cannot be written to.
    """
    makers = (_scores, _sub_scores, _levels, _onsets, _ward_time, _outcomes)
    counted: dict[str, int] = {}
    with tempfile.TemporaryDirectory(prefix=".weatherglass-evaluate-", dir=folder) as work:
        for table, name, maker in zip(REPLAYED, FILES, makers, strict=True):
            lines = Path(work) / table.name
            with lines.open("wb") as out:
                out.writelines(line_of(row) for trace in traces for row in maker(trace))
            counted[table.name] = write_parquet(lines, table, folder / name)
    return counted


def remove_tables(folder: Path) -> None:
    """Take away the tables of an earlier evaluation, which would contradict a new one."""
    for name in FILES:
        (folder / name).unlink(missing_ok=True)


def _scores(trace: Trace) -> Iterator[Row]:
    for score, steps in trace.ladders.items():
        for step in steps if score != REVIEW else ():
            yield {
                "patient": trace.patient,
                "as_of": step.at.astimezone(UTC),
                "score": score,
                "at_time": step.at.astimezone(UTC),
                "total": step.level if step.is_complete else None,
                "lowest": step.level,
                "highest": step.highest,
                "is_newest": True,
            }


def _sub_scores(trace: Trace) -> Iterator[Row]:
    for score, steps in trace.ladders.items():
        for step in steps:
            at = step.at.astimezone(UTC)
            about = {"patient": trace.patient, "as_of": at, "score": score, "at_time": at}
            for part in step.parts:
                yield {
                    **about,
                    "parameter": part.key,
                    "label": part.label,
                    "points": part.points,
                    "lowest": part.lowest,
                    "highest": part.highest,
                    "shown": part.shown,
                    "missing": part.missing or None,
                    "is_newest": True,
                }


def _levels(trace: Trace) -> Iterator[Row]:
    for step in trace.ladders.get(REVIEW, ()):
        yield {
            "patient": trace.patient,
            "as_of": step.at.astimezone(UTC),
            "ladder": REVIEW,
            **_when(step.at, trace),
            "level": step.level,
            "name": Urgency(step.level).word,
        }


def _onsets(trace: Trace) -> Iterator[Row]:
    for onset in trace.onsets:
        yield {
            "patient": trace.patient,
            **_when(onset.at, trace),
            "kind": onset.kind,
            "key": onset.key or None,
            "urgency_rank": onset.urgency,
            "is_new": onset.is_new,
        }


def _ward_time(trace: Trace) -> Iterator[Row]:
    for spell in trace.spells:
        yield {
            "patient": trace.patient,
            "starts": spell.starts.astimezone(UTC),
            "ends": spell.ends.astimezone(UTC),
            "ward": spell.ward or None,
            "age_years": spell.age,
            "sex": trace.sex,
            "has_stay": trace.has_stay,
            "is_test_data": trace.is_test_data,
        }


def _outcomes(trace: Trace) -> Iterator[Row]:
    yield from _events(trace, trace.outcomes, is_call=False)
    yield from _events(trace, trace.calls, is_call=True)


def _events(trace: Trace, events: Iterable[Outcome], *, is_call: bool) -> Iterator[Row]:
    for one in events:
        # Of a day alone the moment is its end, which nobody recorded.
        when = {"on_date": (one.at - _ONE_TICK).date()} if one.day_only else _when(one.at, trace)
        yield {"patient": trace.patient, **when, "kind": one.kind, "is_call": is_call}


def _when(at: datetime, trace: Trace) -> Row:
    own = timezone(timedelta(minutes=trace.zone_minutes))
    return {"at_time": at.astimezone(UTC), "on_date": at.astimezone(own).date()}
