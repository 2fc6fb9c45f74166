"""The tables of an evaluation: the rows behind its counts, only where they are asked for."""

import json
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pyarrow.parquet as pq
import pytest

from tests.batch.exports import WARD
from tests.evaluation.wards import at, invented
from weatherglass.cli.main import run
from weatherglass.evaluation.tables import FILES, write_tables
from weatherglass.evaluation.trace import REVIEW, Missed, Outcome, Spell, Step, Trace
from weatherglass.tables.schema import REPLAYED


def rows_in(folder: Path, name: str) -> list[dict[str, Any]]:
    read: list[dict[str, Any]] = pq.read_table(folder / f"evaluation-{name}.parquet").to_pylist()
    return read


def test_every_round_level_and_outcome_is_a_row(tmp_path: Path) -> None:
    """Forty invented patients, counted twice."""
    traces = invented(5, 40)
    counted = write_tables(traces, tmp_path)
    assert counted == {
        "scores": sum(len(one.ladders["news2"]) for one in traces),
        "sub_scores": 0,
        "levels": sum(len(one.ladders[REVIEW]) for one in traces),
        "onsets": sum(len(one.onsets) for one in traces),
        "ward_time": sum(len(one.spells) for one in traces),
        "outcomes": sum(len(one.outcomes) for one in traces),
    }
    assert {path.name for path in tmp_path.iterdir()} == set(FILES)
    for name, number in counted.items():
        assert len(rows_in(tmp_path, name)) == number
    spent = sum((row["ends"] - row["starts"] for row in rows_in(tmp_path, "ward_time")), timedelta())
    assert spent == sum((one.length for trace in traces for one in trace.stretches), timedelta())


def test_the_same_traces_give_the_same_bytes(tmp_path: Path) -> None:
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
        write_tables(invented(7, 20), tmp_path / name)
    for file in FILES:
        assert (tmp_path / "one" / file).read_bytes() == (tmp_path / "two" / file).read_bytes()


def test_what_is_open_and_what_is_a_day_alone(tmp_path: Path) -> None:
    """An open total has no total; a death on a day has no moment; a call is told from an outcome."""
    trace = Trace(
        patient="Patient/a",
        stretches=[],
        spells=[Spell(at(0), at(24))],
        ladders={REVIEW: [], "news2": [Step(at(1), 5, 11, (Missed("pulse", "not recorded"),))]},
        onsets=[],
        outcomes=[Outcome(datetime(2026, 3, 3, tzinfo=UTC), "death", day_only=True)],
        calls=[Outcome(at(2), "call")],
        zone_minutes=60,
    )
    write_tables([trace], tmp_path)
    (score,) = rows_in(tmp_path, "scores")
    assert (score["total"], score["lowest"], score["highest"]) == (None, 5, 11)
    death, call = rows_in(tmp_path, "outcomes")
    assert (death["at_time"], death["on_date"], death["is_call"]) == (None, date(2026, 3, 2), False)
    assert (call["at_time"], call["on_date"], call["is_call"]) == (at(2), date(2026, 3, 1), True)


def _sub_scores_add_up(out: Path) -> None:
    """Each round of NEWS2 has its seven parameters; together they are its lowest and its highest total."""
    parts: dict[tuple[Any, ...], list[dict[str, Any]]] = {}
    for row in rows_in(out, "sub_scores"):
        parts.setdefault((row["patient"], row["score"], row["at_time"]), []).append(row)
    rounds = [row for row in rows_in(out, "scores") if row["score"] == "news2"]
    assert rounds
    for row in rounds:
        own = parts[row["patient"], "news2", row["at_time"]]
        assert len(own) == 7
        assert sum(each["lowest"] for each in own) == row["lowest"]
        assert sum(each["highest"] for each in own) == row["highest"]
        assert (row["total"] is None) == any(each["missing"] for each in own)


@pytest.mark.slow
def test_they_are_written_where_they_are_asked_for(tmp_path: Path) -> None:
    """Rounds and patients are those of the report; without the option nobody is named."""
    out = tmp_path / "out"
    asked = ["evaluate", str(WARD), str(out), "--workers", "1", "--repeats", "10"]
    assert run([*asked, "--tables"]) == 0
    told = json.loads((out / "evaluation.json").read_text())
    watched = {row["patient"] for row in rows_in(out, "ward_time") if row["has_stay"]}
    assert len(watched) == told["patients"]["replayed"] - told["patients"]["without a recorded stay"] > 0
    for ladder in told["ladders"]:
        table, column = ("levels", "ladder") if ladder["key"] == REVIEW else ("scores", "score")
        own = [
            row for row in rows_in(out, table) if row[column] == ladder["key"] and row["patient"] in watched
        ]
        assert len(own) == ladder["rounds"]
    assert told["tables"] == {table.name: len(rows_in(out, table.name)) for table in REPLAYED}
    _sub_scores_add_up(out)
    assert (out / "evaluation-scores.parquet").stat().st_mode & 0o077 == 0, "for own eyes"
    assert run([*asked, "--replace"]) == 0
    assert list(out.glob("*.parquet")) == [], "those of the earlier evaluation would contradict the new one"
