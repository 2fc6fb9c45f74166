"""Rows found by the classes and words they mean are those that a look at every row would find (no source)."""

import pytest

from weatherglass.knowledge.medicines.groups import ByMember, Members
from weatherglass.knowledge.medicines.limits.kidney_limits import LIMITS
from weatherglass.knowledge.medicines.pairs import PAIRS

_NOTHING: frozenset[str] = frozenset()
_MEMBERS = [*(limit.members for limit in LIMITS), *(pair.one for pair in PAIRS)]
_INDEX = ByMember(_MEMBERS, lambda members: members)


def _looked_at_one_by_one(classes: frozenset[str], words: frozenset[str]) -> list[Members]:
    return [members for members in _MEMBERS if members.may_mean(classes, words)]


@pytest.mark.parametrize("key", sorted({key for members in _MEMBERS for key in members.classes}))
def test_by_class(key: str) -> None:
    line = (frozenset({key, "no-such-class"}), _NOTHING)
    assert _INDEX.that_may_mean(*line) == _looked_at_one_by_one(*line) != []


@pytest.mark.parametrize(
    "word", sorted({word for members in _MEMBERS for word in members.names | members.anywhere})
)
def test_by_word(word: str) -> None:
    line = (frozenset({"nsaid"}), frozenset({word, "tablets"}))
    assert _INDEX.that_may_mean(*line) == _looked_at_one_by_one(*line) != []


def test_nothing_is_meant_by_nothing() -> None:
    assert _INDEX.that_may_mean(_NOTHING, frozenset({"water"})) == []
    assert _INDEX.that_may_mean(frozenset({"but-not"}), _NOTHING) == []
