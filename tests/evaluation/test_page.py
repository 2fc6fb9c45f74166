"""The page: drawn the same each time, nothing printed over, and what is left out without the extra."""

import json
import re
from collections.abc import Iterator
from datetime import timedelta
from itertools import pairwise
from pathlib import Path

import pytest

from tests.evaluation.wards import invented
from weatherglass.evaluation import extra
from weatherglass.evaluation.inputs.gathering import Gathered
from weatherglass.evaluation.inputs.own_rules import OwnRules
from weatherglass.evaluation.page import render
from weatherglass.evaluation.plots import apart
from weatherglass.evaluation.report import Report, Scope, report
from weatherglass.evaluation.written import as_json, holds_one, write


def _report(patients: int = 40) -> Report:
    return report(
        Gathered(traces=invented(3, patients)),
        Scope(horizon=timedelta(hours=24), outcomes="invented", repeats=20, seed=1),
        OwnRules("0", {}, {"news2": "NEWS2"}, {"news2": (5, 7)}),
    )


@pytest.fixture
def bare(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """As where the extra is not installed."""
    extra.is_installed.cache_clear()
    monkeypatch.setattr(extra, "_WANTED", ("scipy", "no_such_module_anywhere"))
    yield
    extra.is_installed.cache_clear()


def test_the_same_data_give_the_same_page() -> None:
    assert render(_report()) == render(_report())


@pytest.mark.parametrize("patients", [1, 7])
def test_without_an_outcome_no_level_is_praised(patients: int) -> None:
    """Patients 1 to 7 have none: that each level was followed by as little says nothing of them."""
    well = [one for one in invented(3, 40) if not one.outcomes][:patients]
    scope = Scope(horizon=timedelta(hours=24), outcomes="invented", repeats=20, seed=1)
    page = render(
        report(Gathered(traces=well), scope, OwnRules("0", {}, {"news2": "NEWS2"}, {"news2": (5, 7)}))
    )
    assert "No round was followed by an outcome" in page
    assert "at least as often as each lower one" not in page
    assert "No round was followed by an outcome" not in render(_report())


def test_plots_carry_their_letters_and_name_nothing_outside() -> None:
    page = render(_report())
    assert page.count('<svg role="img" aria-label="') == 8  # Three of each ladder, and each by group.
    assert "<text" not in page
    assert "<metadata" not in page
    assert not re.search(r"(src|href)=(?![\"']#)|url\((?!#)", page)


@pytest.mark.parametrize("places", [[1.0, 1.0, 1.0], [0.0, 0.0], [0.2, 0.9, 0.95, 1.0], [0.5]])
def test_words_in_the_margin_stand_apart(places: list[float]) -> None:
    moved = sorted(apart(places, least=0.09, top=1.0))
    assert moved[-1] <= 1.0
    assert all(above - below > 0.0899 for below, above in pairwise(moved))


def test_without_the_extra_it_counts_and_says_what_is_left_out(bare: None) -> None:
    whole = _report(120)
    told = as_json(whole)
    assert "pip install matplotlib numpy scikit-learn scipy" in told["leftOut"]
    rows = told["ladders"][1]["thresholds"]
    assert rows[4]["outcomesWarned"]["of"] == 15
    assert rows[4]["outcomesWarned"]["value"] > 0
    assert told["ladders"][1]["areaUnderCurve"]["allRounds"]["value"] is None
    assert all(row[name]["low"] is None for row in rows for name in ("sensitivity", "outcomesWarned"))
    page = render(whole)
    assert "<svg" not in page
    assert "pip install matplotlib numpy scikit-learn scipy" in page
    assert "left out (see above)" in page


def test_with_the_extra_nothing_is_said_of_it() -> None:
    whole = _report(120)
    assert as_json(whole)["leftOut"] is None
    assert "pip install" not in render(whole)


def test_it_is_json_and_names_no_patient() -> None:
    text = json.dumps(as_json(_report()))
    assert "Patient/" not in text
    assert "2026-03-" not in text


def test_what_cannot_be_written_whole_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The second file fails as on a full disk."""
    whole, plain = _report(8), Path.write_text

    def full(path: Path, text: str, *rest: str) -> int:
        if "html" in path.name:
            raise OSError(28, "No space left on device")
        return plain(path, text, *rest)

    monkeypatch.setattr(Path, "write_text", full)
    with pytest.raises(OSError, match="No space"):
        write(tmp_path, whole)
    assert list(tmp_path.iterdir()) == []
    assert not holds_one(tmp_path)
