"""Single numbers, times and sentences in the CSV files beside the modules of knowledge."""

import csv
import re
from datetime import timedelta
from decimal import Decimal
from pathlib import Path

import pytest

from weatherglass.knowledge import data_files
from weatherglass.knowledge.data_files import TableError
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.numbers.quantities import Unit
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.sources import our_choice
from weatherglass.model.tables.bands import Compare

ROOM = Path(data_files.__file__).parent
FILES = sorted(ROOM.rglob("*-rows.csv"))
HEAD = "name,says,source,remark\n"


@pytest.fixture
def rows(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Read from a file that a test writes."""
    monkeypatch.setattr(data_files, "_text_of", lambda name: (tmp_path / name).read_text("utf-8"))
    return tmp_path / "invented.csv"


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_every_row_is_asked_for_once_by_its_module(file: Path) -> None:
    """A row in small letters that no module asks for would silently say nothing."""
    module = file.parent / f"{file.stem.removesuffix('-rows').replace('-', '_')}.py"
    code = module.read_text("utf-8")
    with file.open(encoding="utf-8", newline="") as lines:
        names = [row["name"] for row in csv.DictReader(lines)]
    asked = [name for name in names if not name.isupper()]
    assert [name for name in asked if len(re.findall(rf'\("{name}"[,)]', code)) != 1] == []
    assert len(asked) == len(names) or f'{file.stem}", globals())' in code


def test_a_row_in_capitals_is_a_constant_of_the_kind_that_its_words_are(rows: Path) -> None:
    rows.write_text(
        f"{HEAD}LOW,< 90 mm[Hg],ours: x,\nLONG,4 hours,as LOW,\nADULT,16 years,ours: y,\n"
        "FACTOR,0.25,ours: z,\nASKS,24 hours of urine and blood,ours: z,\nALONE,,ours: z,\n"
        "asked-for,4 hours,ours: z,\n"
    )
    module: dict[str, object] = {}
    read = PrintedRows("invented", module)
    assert module == {
        "LOW": read.cutoff("LOW"),
        "LONG": read.window("LONG"),
        "ADULT": read.age("ADULT"),
        "FACTOR": read.share("FACTOR"),
        "ASKS": read.clause("ASKS"),
        "ALONE": our_choice("z"),
    }


@pytest.mark.parametrize("says", ["< 90", "<90 mm[Hg]", "4 houres", "4 weeks", "1..2"])
def test_what_begins_like_a_number_and_is_none_is_refused_by_name(rows: Path, says: str) -> None:
    """It would be a sentence otherwise."""
    rows.write_text(f"{HEAD}LOW,{says},ours: x,\n")
    with pytest.raises(TableError, match=r"invented.csv, 'LOW'"):
        PrintedRows("invented", {})


def test_there_are_such_files() -> None:
    assert len(FILES) > 20


def test_a_row_says_what_it_is_asked_as(rows: Path) -> None:
    rows.write_text(
        f"{HEAD}low,< 90 mm[Hg],ours: x,\nlong,4 hours,as low,\nadult,16 years,ours: y,never shown\n"
        "infant,29 days,ours: y,\nfactor,0.25,ours: z,\nasks,look at the drain,ours: z,\nalone,,ours: z,\n"
        "kinds,heart failure; dialysis,ours: z,\n"
    )
    read = PrintedRows("invented")
    low = read.cutoff("low")
    assert (low.compare, low.limit.value, low.limit.unit) == (
        Compare.BELOW, Decimal(90), Unit.MILLIMETRE_OF_MERCURY,
    )  # fmt: skip
    assert (read.window("long").length, read.window("long").source) == (timedelta(hours=4), our_choice("x"))
    assert (read.age("adult").years, read.age("infant").days) == (16, 29)
    assert read.share("factor").value == Decimal("0.25")
    assert read.clause("asks").text == "look at the drain"
    assert read.source("alone") == our_choice("z")
    assert read.members("kinds", ConditionKind) == (ConditionKind.HEART_FAILURE, ConditionKind.DIALYSIS)
    with pytest.raises(TableError, match="look at the drain"):
        read.members("asks", ConditionKind)


@pytest.mark.parametrize("says", ["90", "< 90", "below 90 mm[Hg]", "< many mm[Hg]", "< 90 mmHg", ""])
def test_a_limit_without_inequality_number_or_unit_is_refused_by_name(rows: Path, says: str) -> None:
    rows.write_text(f"{HEAD}low,{says},ours: x,\n")
    with pytest.raises(TableError, match=r"invented.csv, 'low'"):
        PrintedRows("invented").cutoff("low")


@pytest.mark.parametrize("says", ["4", "four hours", "4 weeks", "0 hours", ""])
def test_a_time_that_is_none_is_refused_by_name(rows: Path, says: str) -> None:
    rows.write_text(f"{HEAD}long,{says},ours: x,\n")
    with pytest.raises(TableError, match=r"invented.csv, 'long'"):
        PrintedRows("invented").window("long")


@pytest.mark.parametrize("line", ["a,1,as b,\nb,1,ours: x,", "a,1,ours: x,\na,2,ours: x,", "a,1,,"])
def test_a_source_that_stands_later_a_second_name_and_no_source_are_refused(rows: Path, line: str) -> None:
    rows.write_text(f"{HEAD}{line}\n")
    with pytest.raises(TableError, match=r"invented.csv, line"):
        PrintedRows("invented")


def test_a_row_that_is_not_there_is_named(rows: Path) -> None:
    rows.write_text(f"{HEAD}a,1,ours: x,\n")
    with pytest.raises(TableError, match=r"invented.csv has no row 'b'"):
        PrintedRows("invented").share("b")
