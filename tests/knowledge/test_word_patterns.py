"""Patterns of words that stand in files; ours, no source."""

from pathlib import Path
from typing import Any

import pytest

import weatherglass
from weatherglass.knowledge import data_files
from weatherglass.knowledge.data_files import toml_rows
from weatherglass.knowledge.word_patterns import _Row, word_patterns

SERVICE = Path(weatherglass.__file__).parent
FILES = sorted(path.name for path in (SERVICE / "knowledge").glob("*-patterns.toml"))
_TEXT = """
[size]
part = '(?:big|small)'
[any]
words = ['<:size> dogs?', 'cats?']
[whole]
pattern = '''
  ^<:size>|
  ^<:given> $'''
"""


def test_phrases_parts_and_long_patterns(monkeypatch: pytest.MonkeyPatch) -> None:
    """A phrase is of whole words; what stands on several lines is put together."""
    monkeypatch.setattr(data_files, "_text_of", lambda _: _TEXT)
    found: dict[str, Any] = dict(word_patterns("x-patterns.toml", given="two"))
    assert found["any"].pattern == r"\b(?:(?:big|small) dogs?|cats?)\b"
    assert found["whole"].pattern == "^(?:big|small)|^two $"


@pytest.mark.parametrize("name", FILES)
def test_every_pattern_is_asked(name: str) -> None:
    """The modules that read a file name every row of it that is no part of another."""
    read = "\n".join(
        text
        for path in SERVICE.rglob("*.py")
        if f'word_patterns("{name}"' in (text := path.read_text("utf-8")) or f'"{name}",\n' in text
    )
    rows = toml_rows(name, _Row)
    assert [key for key, row in rows.items() if not row.part and f'_WORDS["{key}"]' not in read] == []
