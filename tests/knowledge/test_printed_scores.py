"""A score's file is read as it stands, and a mistyped row is named by file and row."""

from decimal import Decimal
from pathlib import Path

import pytest

from weatherglass.knowledge import data_files
from weatherglass.knowledge.data_files import TableError, length
from weatherglass.knowledge.scores.printed_scores import printed_score

_SCORE = """
[invented-2020]
key = "invented"
name = "Invented"
edition = "nobody, 2020"
applies_to = "nobody"
range = [0, 3]
source = "ours: an invented score"

[[invented-2020.rows]]
key = "pulse"
label = "pulse"
signal = "pulse"
bands = "..50: 1 | 51-100: 0 | 101..: 2"
source = "ours: an invented row"

[[invented-2020.rows]]
key = "consciousness"
label = "consciousness"
signal = "consciousness"
answers = "alert: 0 | others: 1"
source = "ours: an invented row"

[[invented-2020.tiers]]
at_least = 0
label = "any"
urgency = "routine"
source = "ours: an invented tier"
"""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Read scores from a folder that starts with no citation of a publication."""
    (tmp_path / "scores").mkdir()
    monkeypatch.setattr(data_files, "_text_of", lambda name: (tmp_path / name).read_text("utf-8"))
    return tmp_path / "scores" / "invented-2020.toml"


def test_a_whole_score_is_one_file(folder: Path) -> None:
    folder.write_text(_SCORE)
    score = printed_score("invented-2020")
    pulse, answer = (table for _, table in score.tables())
    assert [pulse.points_of(Decimal(n)) for n in (50, 51, 100, 101)] == [1, 0, 0, 2]  # type: ignore[arg-type]
    assert sorted(set(answer.points_by_choice.values())) == [0, 1]  # type: ignore[union-attr]
    assert score.range == (0, 3)


@pytest.mark.parametrize(
    ("right", "wrong", "named"),
    [
        ('signal = "pulse"', 'signal = "puls"', "row 'pulse'.*'puls'"),
        ("..50: 1", "50 or less: 1", "row 'pulse'.*50 or less"),
        ("..50: 1", "..50", "row 'pulse'"),
        ("alert: 0", "awake: 0", "row 'consciousness'.*awake"),
        ("alert: 0 | others: 1", "alert: 0", "row 'consciousness'.*pain"),
        ("alert: 0", "alert", "row 'consciousness'.*'alert'"),
        ('urgency = "routine"', 'urgency = "soon"', r"\[invented-2020\].*tiers"),
        ("label = ", "lable = ", r"\[invented-2020\].*lable"),
        ("[invented-2020]", "[other]", "invented-2020"),
    ],
)
def test_a_mistyped_row_is_named(folder: Path, right: str, wrong: str, named: str) -> None:
    folder.write_text(_SCORE.replace(right, wrong, 1))
    with pytest.raises(TableError, match=named):
        printed_score("invented-2020")


@pytest.mark.parametrize(
    ("right", "wrong"), [("51-100: 0", "52-100: 0"), ("range = [0, 3]", "range = [0, 4]")]
)
def test_rows_that_leave_a_gap_or_do_not_reach_the_printed_range_are_refused(
    folder: Path, right: str, wrong: str
) -> None:
    folder.write_text(_SCORE.replace(right, wrong, 1))
    with pytest.raises(ValueError, match=r"step|printed"):
        printed_score("invented-2020")


def test_a_duration_is_a_whole_number_of_a_unit() -> None:
    found = length("90 minutes")
    assert found is not None
    assert found == length("90 minute")
    assert length("") is None
    for text in ("soon", "1.5 hours", "2 weeks", "1hour"):
        with pytest.raises(TableError):
            length(text)
