"""The tables of the drug chart: a mistyped row is refused when it is read, by file, row and column."""

from pathlib import Path

import pytest

from weatherglass.knowledge import data_files
from weatherglass.knowledge.data_files import TableError
from weatherglass.knowledge.medicines.ingredients import ingredients
from weatherglass.knowledge.medicines.rules.actions import Action
from weatherglass.knowledge.medicines.rules.rule import Circumstance, MedicineRule, Trigger
from weatherglass.knowledge.medicines.rules.rules import rules_of
from weatherglass.knowledge.medicines.rules.said.ways_back import way_back
from weatherglass.knowledge.medicines.rules.triggers import MEANINGS, TRIGGERS, with_numbers

_GOOD = """
[aki-invented]
trigger = "aki"
classes = ["nsaid"]
action = "review"
stronger = [{ action = "hold", when = ["aki-stage-2-or-more"] }]
reason = "Invented."
restart = { conditions = ["kidneys-recovered", "the reason is gone"] }
sources = ["nice-ng148: risk medicines: NSAIDs"]
"""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Read the tables of rules from an empty folder."""
    folder = tmp_path / "medicines" / "rules"
    folder.mkdir(parents=True)
    data_files.publications()  # Read before the folder is changed, and kept.
    monkeypatch.setattr(data_files, "_text_of", lambda name: (tmp_path / name).read_text("utf-8"))
    return folder


def _read(folder: Path, text: str) -> tuple[MedicineRule, ...]:
    (folder / "invented.toml").write_text(text, encoding="utf-8")
    return rules_of("invented")


def test_a_row_becomes_a_rule(folder: Path) -> None:
    """Names in small letters mean the members of the program; a way back may be a key or words."""
    (rule,) = _read(folder, _GOOD)
    assert (rule.key, rule.trigger, rule.action) == ("aki-invented", Trigger.AKI, Action.REVIEW)
    assert rule.stronger[0].when == (Circumstance.AKI_STAGE_2_OR_MORE,)
    assert rule.restart is not None
    assert rule.restart.conditions == ("kidney function back at its usual level", "the reason is gone")


@pytest.mark.parametrize(
    ("right", "wrong", "said"),
    [
        ('trigger = "aki"', 'trigger = "akj"', "'akj' is no Trigger"),
        ('classes = ["nsaid"]', 'classes = ["nsaids"]', "nsaids"),
        ('action = "review"', 'action = "look"', "look"),
        ('when = ["aki-stage-2-or-more"]', 'when = ["aki-2"]', "'aki-2' is no Circumstance"),
        ('reason = "Invented."', 'raeson = "Invented."', "raeson"),
        ('reason = "Invented."', "", "reason"),
        ("nice-ng148: risk", "nice-ng000: risk", "nice-ng000"),
        ('["kidneys-recovered", "the reason is gone"]', '["kidneys-recoverd"]', "kidneys-recoverd"),
        (
            'restart = { conditions = ["kidneys-recovered", "the reason is gone"] }',
            "",
            "nothing about its return",
        ),
    ],
)
def test_a_mistyped_row_is_refused_by_file_and_row(folder: Path, right: str, wrong: str, said: str) -> None:
    """The program does not start with a table that says something else than was meant."""
    assert right in _GOOD
    with pytest.raises(TableError) as refused:
        _read(folder, _GOOD.replace(right, wrong))
    assert str(refused.value).startswith("medicines/rules/invented.toml, [aki-invented]")
    assert said in str(refused.value)


def test_an_ingredient_of_an_unknown_class_is_refused_by_its_line(folder: Path) -> None:
    """A class that no rule could speak of would be a medicine that is silently let go."""
    (folder.parent / "ingredients.csv").write_text("name,classes\nibuprofen,nsaid\nx,nsaids\n", "utf-8")
    with pytest.raises(TableError, match=r"medicines/ingredients.csv, line 3: .*nsaids"):
        ingredients()


def test_the_words_of_a_trigger_hold_the_numbers_of_the_limits() -> None:
    """One home a number: the words are filled in, and a name that is none is refused."""
    assert "{potassium-high prompt}" in TRIGGERS[Trigger.HYPERKALAEMIA].means
    assert MEANINGS[Trigger.HYPERKALAEMIA].startswith("potassium 5.5 mmol/L or more")
    with pytest.raises(TableError, match=r"AKI.*potassium-highest"):
        with_numbers(Trigger.AKI, "above {potassium-highest}")


def test_every_way_back_has_one_wording() -> None:
    """A key is looked up; what looks like one and is none is refused."""
    assert way_back("no-sepsis") == "no sepsis"
    with pytest.raises(TableError, match="no-sepsi"):
        way_back("no-sepsi")
