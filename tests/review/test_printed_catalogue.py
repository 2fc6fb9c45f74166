"""What the catalogue prints is for people, and the same in every process."""

import csv
import os
import re
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

from weatherglass import knowledge
from weatherglass.model.sources import Mark, Source
from weatherglass.review.catalogue import EDITIONS, criterion

_SCRIPT = "from weatherglass.review.catalogue import rule_sets; print(rule_sets())"


@pytest.mark.parametrize("name", EDITIONS)
def test_no_row_shows_how_the_program_holds_it(name: str) -> None:
    """Common practice, no source: a clinician reads a row without knowing Python."""
    for row in criterion(name).rows:
        assert not re.search(r"\w\(\w+=|frozenset|datetime\.|\bTrue\b|\bFalse\b|\bNone\b", row.value), row
        assert not re.search(r"\b(?:\w ){5}", row.value), f"letter by letter: {row}"


def test_a_choice_that_findings_rest_on_is_a_row() -> None:
    """Common practice, no source: what decides and has no number is printed too."""
    shown = [row for row in criterion("kidney-limits").rows if row.name == "Dialysis"]
    assert [(row.value, row.mark) for row in shown] == [
        ("long-term dialysis counts as the lowest band of each medicine", "our choice")
    ]


def test_every_row_of_a_module_is_printed() -> None:
    """Common practice, no source: a site can judge nothing that the criteria do not show."""
    told = repr([criterion(name) for name in EDITIONS])
    room = Path(next(iter(knowledge.__path__)))
    unsaid = []
    for file in room.rglob("*-rows.csv"):
        module = file.with_name(file.name.replace("-rows.csv", "").replace("-", "_")).relative_to(room)
        known = vars(import_module(".".join((knowledge.__name__, *module.parts))))
        with file.open(encoding="utf-8", newline="") as lines:
            names = [row["name"] for row in csv.DictReader(lines) if row["name"].isupper()]
        for value in map(known.__getitem__, names):
            # A source alone that is published stands beside the number that it is of.
            source = value if isinstance(value, Source) else value.source
            if source.mark is Mark.OUR_CHOICE and repr(source.locator)[1:-1] not in told:
                unsaid.append(source.locator)
    assert unsaid == []


def test_the_hashes_do_not_depend_on_the_process() -> None:
    """An upgrade is told by a hash that changes; nothing else may change it."""
    said = {
        subprocess.run(
            [sys.executable, "-c", _SCRIPT],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2", "3")
    }
    assert len(said) == 1
