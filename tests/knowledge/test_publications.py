"""Each publication stands once, and none without a number that cites it."""

import re
from pathlib import Path

from weatherglass.knowledge.data_files import publications

_ROOM = Path(__file__).parents[2] / "service" / "weatherglass"


def test_every_publication_is_cited_somewhere() -> None:
    texts = [
        file.read_text("utf-8")
        for file in _ROOM.rglob("*")
        if file.suffix in (".py", ".toml", ".csv") and file.name != "publications.toml"
    ]
    unused = {
        key
        for key in publications()
        if not any(re.search(rf'["\s,]{re.escape(key)}[":]', text) for text in texts)
    }
    assert not unused


def test_no_publication_is_written_down_twice() -> None:
    citations = [one.citation for one in publications().values()]
    assert len(citations) == len(set(citations))
