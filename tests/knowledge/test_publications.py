"""Each publication stands once, and none without a number that cites it."""

import re
from pathlib import Path
from urllib.parse import urlsplit

from weatherglass.knowledge.data_files import publications

_ROOM = Path(__file__).parents[2] / "service" / "weatherglass"


def test_every_publication_is_cited_somewhere() -> None:
    cited = {
        key
        for file in _ROOM.rglob("*")
        if file.suffix in (".py", ".toml", ".csv") and file.name != "publications.toml"
        for key in re.findall(r'(?<=["\s,])[\w.-]+(?=[":])', file.read_text("utf-8"))
    }
    assert not publications().keys() - cited


def test_no_publication_is_written_down_twice() -> None:
    citations = [one.citation for one in publications().values()]
    assert len(citations) == len(set(citations))


#: These are the site that they name.
_WHOLE_SITES = frozenset({"eflm-biological-variation"})


def test_an_address_is_the_document_that_the_citation_names() -> None:
    """A guideline's number stands in both, an article in an archive too, and no address is a front door."""
    for key, one in publications().items():
        where = urlsplit(one.address or "")
        if not where.netloc or key in _WHOLE_SITES:
            continue
        assert where.path.strip("/") or where.query, key
        guideline = re.match(r"/(?:guidance|advice)/(\w+)", where.path)
        if where.netloc == "www.nice.org.uk" and guideline:
            named = re.search(r"\b(?:NG|CG|QS|KTT)\d+\b", one.citation)
            assert named is not None, key
            assert named[0].casefold() == guideline[1].casefold(), key
        if "www.kidney.org" in where.netloc:
            assert "National Kidney Foundation" in one.citation, key
