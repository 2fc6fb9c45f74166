"""The tables beside the code: what is read, and what an error names."""

import tomllib
from datetime import timedelta
from decimal import Decimal
from pathlib import Path

import pytest
import tomli

from weatherglass.knowledge import data_files
from weatherglass.knowledge.data_files import (
    Columns,
    Days,
    Hours,
    Lasting,
    Named,
    SignalLimit,
    TableError,
    cite,
    csv_rows,
    csv_table,
    cutoff,
    publications,
    toml_members,
    toml_rows,
)
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Mark, Source, our_choice


class Limit(Columns, frozen=True):
    """A row of an invented table."""

    name: str
    at_least: Decimal
    classes: tuple[str, ...] = ()


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Read tables from an empty folder."""
    monkeypatch.setattr(data_files, "_text_of", lambda name: (tmp_path / name).read_text("utf-8"))
    return tmp_path


def test_a_source_is_one_line_with_its_mark_behind_it() -> None:
    found = cite("subbe-2001: MEWS table, row 'Heart rate' [secondary]")
    assert (found.key, found.locator, found.mark) == (
        "subbe-2001", "MEWS table, row 'Heart rate'", Mark.SECONDARY,
    )  # fmt: skip
    assert found.citation == publications()["subbe-2001"].citation


def test_brackets_that_hold_no_mark_belong_to_the_place() -> None:
    found = cite("subbe-2001: table 1 [second part]")
    assert (found.locator, found.mark) == ("table 1 [second part]", Mark.CONFIRMED)


def test_what_no_publication_says_is_named_as_ours_memory_or_practice() -> None:
    assert cite("ours: because: it is so") == our_choice("because: it is so")
    assert cite("memory: x").mark is Mark.FROM_MEMORY
    assert cite("common practice: x").mark is Mark.COMMON_PRACTICE


@pytest.mark.parametrize("text", ["subbe-2001", "subbe-2001: ", "", "nobody-1999: table 1"])
def test_a_source_without_a_place_or_a_known_publication_is_refused(text: str) -> None:
    with pytest.raises(TableError):
        cite(text)


def test_every_cell_is_read_in_its_own_type(folder: Path) -> None:
    (folder / "a.csv").write_text("name,at_least,classes\nx,1.50,a; b\ny,2,\n")
    assert csv_rows("a.csv", Limit) == [
        Limit(name="x", at_least=Decimal("1.50"), classes=("a", "b")),
        Limit(name="y", at_least=Decimal(2)),
    ]
    (folder / "a.toml").write_text('[x]\nname = "x"\nat_least = 1.50\n')
    found = toml_rows("a.toml", Limit)["x"].at_least
    assert str(found) == "1.50"


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("name,at_least\nx,1\ny,one\n", "a.csv, line 3"),
        ("name,at_least\nx,1\ny,one\n", "at_least"),
        ("name\nx\n", "at_least"),
        ("name,at_least,clases\nx,1,a\n", "clases"),
        ("name,at_least\nx,1,2\n", "line 2"),
    ],
)
def test_a_mistyped_cell_is_named_by_file_line_and_column(folder: Path, text: str, named: str) -> None:
    (folder / "a.csv").write_text(text)
    with pytest.raises(TableError, match=named):
        csv_rows("a.csv", Limit)


def test_a_mistyped_row_of_a_toml_file_is_named_by_its_key(folder: Path) -> None:
    (folder / "a.toml").write_text('[one]\nname = "x"\nat_least = "many"\n')
    with pytest.raises(TableError, match=r"a\.toml, \[one\].*at_least"):
        toml_rows("a.toml", Limit)
    (folder / "a.toml").write_text("[one\n")
    with pytest.raises(TableError, match=r"a\.toml: .*line 1"):
        toml_rows("a.toml", Limit)


class Watched(Columns, frozen=True, kw_only=True):
    """A row that is what the program works with."""

    key: str
    every: Hours = timedelta(hours=6)
    sources: tuple[Source, ...]


def test_a_row_is_what_the_program_works_with(folder: Path) -> None:
    """Its key, its sources and its lengths of time are made where it is read."""
    (folder / "a.toml").write_text('[a]\nevery = 2\nsources = ["ours: x", "memory: y"]\n[b]\nsources = []\n')
    first, second = data_files.toml_members("a.toml", Watched)
    assert (first.key, first.every, second.every) == ("a", timedelta(hours=2), timedelta(hours=6))
    assert first.sources == (our_choice("x"), data_files.memory("y"))


@pytest.mark.parametrize("cells", ['sources = ["x"]', 'sources = "ours: x"', 'every = "two"\nsources = []'])
def test_a_cell_of_which_nothing_can_be_made_is_named_by_its_row(folder: Path, cells: str) -> None:
    """A source that is none, and hours that are no number, stop the import."""
    (folder / "a.toml").write_text(f"[b]\n{cells}\n")
    with pytest.raises(TableError, match=r"a\.toml, \[b\]"):
        data_files.toml_members("a.toml", Watched)


def test_a_row_that_nothing_can_be_made_of_is_named_by_its_line(folder: Path) -> None:
    (folder / "a.csv").write_text("name,at_least\nx,1\nno source,2\n")
    with pytest.raises(TableError, match=r"a\.csv, line 3: 'no source' is no source"):
        csv_table("a.csv", Limit, lambda row: cite("ours: x" if row.name == "x" else row.name))


def test_a_limit_is_an_inequality_with_a_number() -> None:
    found = cutoff(Signal.POTASSIUM, ">= 6.5", our_choice("a test"))
    assert found.printed == ">= 6.5 mmol/L"
    assert (found.is_met_by(Decimal("6.5")), found.is_met_by(Decimal("6.4"))) == (True, False)
    for text in ("6.5", ">=6.5", "=> 6.5", "> many", "> "):
        with pytest.raises(TableError):
            cutoff(Signal.POTASSIUM, text, our_choice("a test"))


def test_every_table_reads_the_same_with_the_reader_of_python() -> None:
    """The compiled reader knows a later TOML; where it is not installed, Python's own reads the tables."""
    tables = sorted(Path(data_files.__file__).parent.rglob("*.toml"))
    assert len(tables) > 5
    for table in tables:
        text = table.read_text("utf-8")
        assert tomllib.loads(text, parse_float=str) == tomli.loads(text, parse_float=str), table.name


class Part(Columns, frozen=True):
    """A row inside a row."""

    signals: tuple[Named[Signal], ...]
    source: Source


class Whole(Columns, frozen=True, kw_only=True):
    """A row whose columns are made by their kinds, wherever they stand."""

    key: str
    parts: tuple[Part, ...] = ()
    within: Lasting | None = None
    longest: Days = timedelta(0)


class TestColumnsByTheirKind:
    """Common practice, no source: what a file has as words is in the program what it means."""

    def test_members_by_name_and_sources_inside_rows_and_lengths_of_time(self, folder: Path) -> None:
        (folder / "a.toml").write_text(
            '[x]\nwithin = "42 days"\nlongest = 3\n'
            '[[x.parts]]\nsignals = ["systolic-pressure", "pulse"]\nsource = "ours: because"\n'
        )
        (found,) = toml_members("a.toml", Whole)
        assert (found.key, found.within, found.longest) == ("x", timedelta(days=42), timedelta(days=3))
        assert found.parts == (
            Part(signals=(Signal.SYSTOLIC_PRESSURE, Signal.PULSE), source=our_choice("because")),
        )

    @pytest.mark.parametrize(
        ("text", "said"),
        [
            pytest.param('signals = ["nothing"]\nsource = "ours: x"', "'nothing' is no Signal", id="member"),
            pytest.param('signals = "pulse"\nsource = "ours: x"', "'pulse' is no list", id="no-list"),
            pytest.param('signals = []\nsource = "x"', "'x' is no source", id="source"),
        ],
    )
    def test_what_is_mistyped_inside_is_named_with_its_row(self, folder: Path, text: str, said: str) -> None:
        (folder / "a.toml").write_text(f"[x]\n[[x.parts]]\n{text}\n")
        with pytest.raises(TableError, match=r"a\.toml, \[x\]") as caught:
            toml_members("a.toml", Whole)
        assert said in str(caught.value)

    def test_a_limit_that_is_none_is_refused_where_its_row_is_read(self, folder: Path) -> None:
        (folder / "a.csv").write_text("signal,when,source\npulse,>= 130,ours: x\npulse,fast,ours: x\n")
        with pytest.raises(TableError, match=r"a\.csv, line 3.*'fast' is no limit"):
            csv_rows("a.csv", SignalLimit)
