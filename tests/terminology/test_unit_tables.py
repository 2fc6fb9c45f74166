"""The tables of units: what a mistyped row is told, and that no spelling was lost when they became data.

Spellings and factors: common practice, no source, except where the table names one.
"""

from decimal import Decimal
from pathlib import Path

import pytest

from weatherglass.knowledge import data_files
from weatherglass.knowledge.data_files import TableError, csv_rows
from weatherglass.knowledge.sent_units import SentUnit
from weatherglass.model.signals import Signal
from weatherglass.terminology.units import ACCEPTED, UREA_NITROGEN_MASS, read_spellings, read_units

_SPELLED = "dimension,unit,by_name,multiply,divide,subtract\nmoles,mmol/L,,,,\nmass,mg/dL,,,,\n"
_SENT = "signal,dimension,multiply,divide,printed,source\n"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(data_files, "_text_of", lambda name: (tmp_path / name).read_text("utf-8"))
    (tmp_path / "units.csv").write_text(_SPELLED, "utf-8")
    return tmp_path


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("mass,mg/dL,,,,", "mass has mg/dL twice"),
        ("mass,g/L,maybe,,,", "by_name"),
        ("mass,g/L,,nought,,", "multiply"),
        ("mass,g/L,,0,,", "not above zero"),
        ("mass,g/L,,,-1,", "not above zero"),
        ("mass,g/L,,,,,more", "line 4"),
    ],
)
def test_a_mistyped_spelling_is_refused_with_its_line(row: str, said: str, folder: Path) -> None:
    (folder / "units.csv").write_text(f"{_SPELLED}{row}\n", "utf-8")
    with pytest.raises(TableError) as refused:
        read_spellings("units.csv")
    assert said in str(refused.value)
    assert "units.csv, line 4" in str(refused.value)


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("glucosse,moles,,,,", "glucosse"),
        ("glucose,mass,,18.016,,", "has no source"),
        ("glucose,mass,,18.016,,nowhere: table 1", "nowhere"),
        ("glucose,mass,-1,,,", "not above zero"),
    ],
)
def test_a_mistyped_signal_is_refused_with_its_line(row: str, said: str, folder: Path) -> None:
    (folder / "sent.csv").write_text(f"{_SENT}glucose,moles,,,,\n{row}\n", "utf-8")
    with pytest.raises(TableError) as refused:
        csv_rows("sent.csv", SentUnit)
    assert said in str(refused.value)
    assert "sent.csv, line 3" in str(refused.value)


@pytest.mark.parametrize(
    ("row", "said"),
    [("glucose,lengths,,,,", "no dimension 'lengths'"), ("glucose,moles,,,,", "glucose has mmol/L twice")],
)
def test_a_signal_that_does_not_fit_the_spellings_is_refused_by_name(
    row: str, said: str, folder: Path
) -> None:
    (folder / "sent.csv").write_text(f"{_SENT}glucose,moles,,,,\n{row}\n", "utf-8")
    with pytest.raises(TableError, match=said):
        read_units(csv_rows("sent.csv", SentUnit), read_spellings("units.csv"))


def test_what_is_sent_is_the_spelling_times_the_substance(folder: Path) -> None:
    (folder / "sent.csv").write_text(
        f"{_SENT}glucose,moles,,,,\nglucose,mass,,18.016,yes,memory: molar mass\n", "utf-8"
    )
    units = read_units(csv_rows("sent.csv", SentUnit), read_spellings("units.csv"))["glucose"]
    assert units["mmol/L"].apply(Decimal(7)) == 7
    assert units["mg/dL"].apply(Decimal("180.16")) == 10
    assert units["mg/dL"].printed


def test_no_spelling_was_lost() -> None:
    """As many as stood in the program before; more may come."""
    assert sum(map(len, ACCEPTED.values())) + len(UREA_NITROGEN_MASS) >= 948
    assert list(ACCEPTED[Signal.CREATININE])[:2] == ["umol/L", "umol/l"]
    assert ACCEPTED[Signal.CREATININE]["mg/dL"].apply(Decimal("4.0")) == Decimal("353.6")
    assert ACCEPTED[Signal.TEMPERATURE]["[degF]"].apply(Decimal(212)) == 100
