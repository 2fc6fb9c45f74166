"""What the catalogue prints is for people, and the same in every process."""

import os
import re
import subprocess
import sys

import pytest

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
