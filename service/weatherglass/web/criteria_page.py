"""The published tables for a reader: a publication at a time, each row with its place and its mark.

A row is known by its publication and its place there; a finding links to the row that it
rests on. Made once a process: the tables do not change while it runs.
"""

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from hashlib import sha256
from typing import NamedTuple
from urllib.parse import urlencode

from weatherglass.knowledge.data_files import publications
from weatherglass.medicines.printed import NONE, PrintedTable
from weatherglass.model.sources import Mark, Source
from weatherglass.review.catalogue import EDITIONS, criterion, title_of

#: Where the page is.
ADDRESS = "/criteria"
#: "KEY: place; KEY: place", as the tables of the drug chart write their sources.
_BETWEEN = re.compile(r"; (?=[a-z0-9][a-z0-9-]*: )")


class Entry(NamedTuple):
    """One row as the page shows it."""

    anchor: str
    edition: str
    name: str
    says: str
    place: str
    mark: str

    @property
    def marks(self) -> tuple[str, ...]:
        """The mark; of a rule with several sources the mark of each."""
        return tuple(self.mark.split("; "))


class Publication(NamedTuple):
    """One publication with its rows."""

    key: str
    citation: str
    address: str
    entries: tuple[Entry, ...]

    @property
    def marks(self) -> tuple[tuple[str, int], ...]:
        """How many rows there are of each mark."""
        return tuple(Counter(mark for entry in self.entries for mark in entry.marks).items())


class Choice(NamedTuple):
    """What a reader wants to see; everything where it is empty."""

    publication: str = ""
    mark: str = ""
    kind: str = ""

    @property
    def is_known(self) -> bool:
        """Whether everything chosen is there to be chosen."""
        return (
            self.publication in _known() | {""}
            and self.mark in {"", *(mark.value for mark in Mark)}
            and self.kind in {"", *EDITIONS}
        )

    def takes(self, publication: Publication, entry: Entry) -> bool:
        """Tell whether a row is wanted."""
        return (
            self.publication in ("", publication.key)
            and self.mark in ("", *entry.marks)
            and self.kind in ("", entry.edition)
        )


@cache
def by_publication() -> tuple[Publication, ...]:
    """Return every publication with its rows, by citation."""
    found: dict[str, dict[Entry, None]] = {}
    for name in EDITIONS:
        for citation, entry in _entries(name):
            found.setdefault(citation, {})[entry] = None
    addresses = {each.citation: each.address for each in publications().values()}
    return tuple(
        Publication(_short_hash(citation), citation, addresses.get(citation, ""), tuple(entries))
        for citation, entries in sorted(found.items())
    )


def _entries(edition: str) -> Iterator[tuple[str, Entry]]:
    shown = criterion(edition)
    for row in shown.rows:
        says = f"{row.value}: {row.gives}" if row.gives and row.value else row.value or row.gives
        yield row.source, _entry(edition, row.source, row.name, says, row.place, row.mark)
    for table in shown.tables:
        if "source" in table.columns and "mark" in table.columns:
            yield from _of_table(edition, table)


def _of_table(edition: str, table: PrintedTable) -> Iterator[tuple[str, Entry]]:
    """Return a row of a table under each publication that it names."""
    source, mark = table.columns.index("source"), table.columns.index("mark")
    for row in table.rows:
        says = "; ".join(
            f"{column} {cell}"
            for column, cell in zip(table.columns[1:], row[1:], strict=True)
            if column not in ("source", "mark") and cell != NONE
        )
        for one in _BETWEEN.split(row[source]):
            key, named, place = one.partition(": ")
            known = publications().get(key)
            if named and known is not None:
                yield known.citation, _entry(edition, known.citation, row[0], says, place, row[mark])


def _entry(edition: str, citation: str, name: str, says: str, place: str, mark: str) -> Entry:
    return Entry(f"r-{_short_hash(citation, place)}", edition, name, says, place, mark)


def _short_hash(*parts: str) -> str:
    return sha256("\n".join(parts).encode()).hexdigest()[:10]


@cache
def _places() -> frozenset[str]:
    return frozenset(entry.anchor for publication in by_publication() for entry in publication.entries)


@cache
def _known() -> frozenset[str]:
    return frozenset(publication.key for publication in by_publication())


def address_of(source: Source) -> str:
    """Return where a reader finds the row of a source, or its publication; empty when neither is shown."""
    key = _short_hash(source.citation)
    if key not in _known():
        return ""
    anchor = f"r-{_short_hash(source.citation, source.locator)}"
    return f"{ADDRESS}?{urlencode({'publication': key})}#{anchor if anchor in _places() else f'p-{key}'}"


def selected(wanted: Choice) -> tuple[Publication, ...]:
    """Return the publications and rows that are wanted."""
    kept = (
        each._replace(entries=tuple(entry for entry in each.entries if wanted.takes(each, entry)))
        for each in by_publication()
    )
    return tuple(each for each in kept if each.entries)


def choices() -> Mapping[str, Iterable[tuple[str, str]]]:
    """Return what may be chosen, each with its words."""
    return {
        "marks": tuple((mark.value, mark.value) for mark in Mark if mark is not Mark.LOCAL_POLICY),
        "kinds": tuple((name, title_of(name).rstrip(".")) for name in EDITIONS),
    }
