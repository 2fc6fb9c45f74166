"""The choices that publications leave open: all are listed, and each lives where it says."""

from importlib.util import find_spec

import pytest

from weatherglass.knowledge.documented_choices import CHOICES, DocumentedChoice


def test_none_is_listed_twice() -> None:
    assert len({choice.question for choice in CHOICES}) == len(CHOICES) == 63


@pytest.mark.parametrize("choice", CHOICES, ids=lambda choice: choice.question[:40])
def test_its_module_exists(choice: DocumentedChoice) -> None:
    assert find_spec(f"weatherglass.{choice.module}") is not None
