"""The page about the Python interface: every example runs and prints what it says."""

import doctest
from pathlib import Path

import pytest

import weatherglass

ROOT = Path(__file__).parents[2]
_PAGE = ROOT / "deploy" / "python.md"


def test_its_examples_run(monkeypatch: pytest.MonkeyPatch) -> None:
    """Fences are no output of an example."""
    monkeypatch.chdir(ROOT)
    text = "\n".join("" if line.startswith("```") else line for line in _PAGE.read_text("utf-8").splitlines())
    test = doctest.DocTestParser().get_doctest(text, {}, _PAGE.name, str(_PAGE), 0)
    assert len(test.examples) > 20
    told: list[str] = []
    doctest.DocTestRunner(optionflags=doctest.ELLIPSIS).run(test, out=told.append, clear_globs=False)
    assert told == [], "".join(told)


@pytest.mark.parametrize("name", sorted(set(weatherglass.__dir__()) & set(weatherglass._HOMES)))  # type: ignore[attr-defined]
def test_what_is_public_is_documented(name: str) -> None:
    """Each public name has a docstring of its own."""
    assert getattr(weatherglass, name).__doc__
