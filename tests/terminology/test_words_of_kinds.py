"""A pattern of words is compiled only for a text that holds a piece of it: no word may be missed by that."""

import gc
import re
import tomllib
from importlib import import_module
from importlib.resources import files

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from weatherglass.model.words.patterns import _WhenAsked, held_by_all
from weatherglass.terminology import problems, procedures
from weatherglass.terminology.kind_tables import kinds_named

_TABLES = {"problem-words.toml": problems.WORDS, "procedure-words.toml": procedures.WORDS}


def _written(name: str) -> list[str]:
    rows = tomllib.loads((files("weatherglass.knowledge") / name).read_text("utf-8"))
    return [words for row in rows.values() for words in row["words"]]


_EVERY = [words for name in _TABLES for words in _written(name)]


@pytest.mark.parametrize(
    ("pattern", "piece"),
    [
        ("asthma(?:tic)?", "asthma"),
        ("(?<!old )stroke(?! clinic)", "stroke"),
        ("a{0,2}bc?d", "b"),
        ("ab+c", "ab"),
        (r"open \(?(?:hip|leg\)) fracture", " fracture"),
        ("(?:one (?:two|three)|four)", ""),
        ("one|two", ""),
        (r"[a-z(]+ burn\w*", " burn"),
    ],
)
def test_a_piece_is_what_cannot_be_missing(pattern: str, piece: str) -> None:
    """Groups, choices and what may be left out are no piece; of the rest the longest is."""
    assert held_by_all(pattern) == piece


def test_every_pattern_that_waits_can_be_compiled() -> None:
    """They are compiled when they are asked, so that a mistyped one would not fail before."""
    import_module("weatherglass.pipeline")
    gc.unfreeze()
    waiting = [one.pattern for one in gc.get_objects() if isinstance(one, _WhenAsked)]
    assert len(waiting) > 1000
    assert all(isinstance(re.compile(pattern), re.Pattern) for pattern in waiting)


@settings(max_examples=150)
@given(st.sampled_from(_EVERY).flatmap(lambda each: st.tuples(st.just(each), st.from_regex(each))))
def test_what_a_pattern_finds_holds_its_piece(found: tuple[str, str]) -> None:
    """Whatever text the words of a row are in, the row is asked."""
    pattern, text = found
    assert held_by_all(pattern) in text


@pytest.mark.parametrize(
    "said", ["copd", "acute kidney injury stage 2, previous stroke", "fell on stairs; t1dm"]
)
def test_the_kinds_are_those_of_every_pattern(said: str) -> None:
    """The same as if each pattern had been asked."""
    for words in _TABLES.values():
        asked = [kinds for _, pattern, kinds in words if pattern.search(said)]
        assert kinds_named(words, said) == frozenset().union(*asked)
