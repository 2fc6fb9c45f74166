"""Lines of JSON to Parquet: what a disk and a very long record can do to it."""

from pathlib import Path

import pyarrow.parquet as pq
import pytest

from weatherglass.tables.rows import line_of
from weatherglass.tables.schema import FINDINGS, ISSUES
from weatherglass.tables.writing import write_parquet


def test_one_very_long_line_does_not_end_a_run(tmp_path: Path) -> None:
    """A quarter of a million inputs of one finding, more than DuckDB takes for a line unasked (16 MiB)."""
    evidence = [f"Observation/{number:060}" for number in range(250_000)]
    (tmp_path / "lines").write_bytes(
        line_of({"patient": "Patient/a", "evidence": evidence}) + line_of({"patient": "Patient/b"})
    )
    assert (tmp_path / "lines").stat().st_size > 17e6
    assert write_parquet(tmp_path / "lines", FINDINGS, tmp_path / "out.parquet") == 2
    read = pq.read_table(tmp_path / "out.parquet", columns=["patient", "evidence"]).to_pylist()
    assert (len(read[0]["evidence"]), read[1]) == (250_000, {"patient": "Patient/b", "evidence": None})


def test_a_table_without_rows_is_a_file(tmp_path: Path) -> None:
    (tmp_path / "lines").touch()
    assert write_parquet(tmp_path / "lines", ISSUES, tmp_path / "out.parquet") == 0
    assert pq.read_table(tmp_path / "out.parquet").column_names == [one.name for one in ISSUES.columns]


def test_a_file_that_cannot_be_written_is_an_error_of_the_system(tmp_path: Path) -> None:
    """As every other file of a run, so that the run is kept and can be resumed."""
    (tmp_path / "lines").touch()
    with pytest.raises(OSError, match="nowhere"):
        write_parquet(tmp_path / "lines", ISSUES, tmp_path / "nowhere" / "out.parquet")


def test_a_full_disk_is_told_as_one(tmp_path: Path) -> None:
    """The device that is always full."""
    (tmp_path / "lines").write_bytes(line_of({"text": "x"}) * 10)
    with pytest.raises(OSError, match="No space left"):
        write_parquet(tmp_path / "lines", ISSUES, Path("/dev/full"))


@pytest.mark.parametrize("name", ["a'b", "ü b", "a;b", "a[1]b", "a*b", "a?b", "a{b}"])
def test_any_name_of_a_folder(name: str, tmp_path: Path) -> None:
    """A name is no part of a query."""
    (tmp_path / name).mkdir()
    (tmp_path / name / "lines").write_bytes(line_of({"text": "it's; --"}))
    assert write_parquet(tmp_path / name / "lines", ISSUES, tmp_path / name / "out.parquet") == 1
