"""Choices that a clinician may contest: each is argued both ways and lives where it says; they are ours."""

from importlib.util import find_spec

import pytest

from weatherglass.knowledge.contested_choices import CONTESTED, ContestedChoice
from weatherglass.model.sources import Mark
from weatherglass.review.catalogue import criterion


def test_none_is_argued_twice() -> None:
    assert len({one.question for one in CONTESTED}) == len(CONTESTED) >= 20


@pytest.mark.parametrize("choice", CONTESTED, ids=lambda choice: choice.question[:40])
def test_argued_both_ways(choice: ContestedChoice) -> None:
    assert find_spec(f"weatherglass.{choice.module}") is not None
    assert choice.source.mark is Mark.OUR_CHOICE
    assert len(choice.speaks_for) > len("for: ") + 20
    assert len(choice.speaks_against) > len("against: ") + 20


def test_a_reader_sees_both_arguments() -> None:
    shown = " ".join(row.value for row in criterion("contested-choices").rows)
    for one in CONTESTED:
        assert one.speaks_for in shown
        assert one.speaks_against in shown
