"""Tests whose positive answer is a problem of that hour: a film with malaria parasites, a pregnancy test.

The rows stand in `positive-tests.toml`. What a sender calls the test is enough to know it: few laboratories
code them alike.
"""

from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import Columns, toml_members
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.sources import Source
from weatherglass.model.words.patterns import when_asked

PUBLIC_KEY: Final = "positive-tests"


class PositiveTest(Columns, frozen=True, kw_only=True):
    """One kind of test; its columns are explained in `positive-tests.toml`."""

    key: str
    names: str
    codes: frozenset[str] = frozenset()
    found: str = ""
    called: str = ""
    problem: ConditionKind
    suspected: bool = False
    units: frozenset[str] = frozenset()
    at_least: Decimal = Decimal(0)
    below: Decimal = Decimal(0)
    sources: tuple[Source, ...]


POSITIVE_TESTS: Final = toml_members("limits/positive-tests.toml", PositiveTest)
_NAMES: Final = tuple((when_asked(rf"\b(?:{row.names})\b"), row) for row in POSITIVE_TESTS)


def test_named(words: str, codes: frozenset[str]) -> PositiveTest | None:
    """Return the test that words or codes name; None where it is none of these."""
    named = words.casefold()
    return next((row for name, row in _NAMES if name.search(named) or codes & row.codes), None)
