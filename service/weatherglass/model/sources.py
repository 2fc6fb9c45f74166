"""Where a number comes from: a publication, a place in it, and how sure we are.

No table, cut-off or rule can be built without a `Source`. The locator is exact
enough to put a finger on the number ("Chart 1, row 'Respiration rate'").
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final, NamedTuple, NewType, Protocol

from weatherglass.model.plain import Plain

#: What ends who published it, at the beginning of a citation.
_AUTHOR_ENDS: Final = re.compile(r"[,.] ")


class Mark(StrEnum):
    """How a value was checked; printed beside the value wherever it is shown."""

    CONFIRMED = "confirmed"  # Read in the publication itself or a national specification.
    SECONDARY = "secondary"  # Read in a reproduction of the named publication.
    FROM_MEMORY = "from memory"  # Not re-read; a clinician must check it before use.
    OUR_CHOICE = "our choice"  # The publication is silent or inconsistent; the choice is ours.
    COMMON_PRACTICE = "common practice, no source"
    LOCAL_POLICY = "local policy"  # The site's own number, from its policy file.


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """One place in one publication.

    Attributes:
        key: Short stable key of the publication ("rcp-news2-2017").
        citation: Full citation, one line.
        locator: The place inside it ("Chart 1, row 'Pulse'").
        mark: How the value was checked.
        address: Public address of the publication, empty when it has none.
        place: The place by the key of the publication, and how it was checked; every result says it.
        checked: The publication by its key, and how it was checked.
    """

    key: str
    citation: str
    locator: str
    mark: Mark = Mark.CONFIRMED
    address: str = ""
    place: str = field(init=False, repr=False, compare=False)
    checked: str = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Refuse a source that does not say what and where."""
        if not (self.key and self.citation and self.locator):
            raise ValueError("A source needs a key, a citation and a locator.")
        object.__setattr__(self, "place", f"{self.key}: {self.locator} ({self.mark.value})")
        object.__setattr__(self, "checked", f"{self.key} ({self.mark.value})")

    def __hash__(self) -> int:
        """A review asks often which sources it has named; the text of the place keeps its hash."""
        return hash(self.place)

    @property
    def publisher(self) -> str:
        """Who published it, for where the title has no room: a citation begins with it.

        Examples:
            >>> Source(key="x", citation="NICE NG28, Type 2 diabetes in adults", locator="1.7").publisher
            'NICE NG28'
            >>> Source(key="x", citation="Keeling D et al., Guidelines on warfarin", locator="1").publisher
            'Keeling D et al.'
        """
        return _AUTHOR_ENDS.split(self.citation, maxsplit=1)[0]


class _Stated(Protocol):
    """A limit, a time, a sentence, a row: what has its source with it."""

    @property
    def source(self) -> Source: ...


#: What a finding names as its source: the place itself, or what is stated there.
Cited = Source | _Stated


def sources_of(cited: Iterable[Cited]) -> tuple[Source, ...]:
    """Return where what is cited is stated, the first one first and each place once."""
    return tuple(dict.fromkeys([one if isinstance(one, Source) else one.source for one in cited]))


class Publication(Plain, frozen=True, kw_only=True):
    """A publication that sources point into."""

    key: str
    citation: str
    address: str = ""

    def at(self, locator: str, mark: Mark = Mark.CONFIRMED) -> Source:
        """Return the source at one place of this publication."""
        return Source(
            key=self.key,
            citation=self.citation,
            locator=locator,
            mark=mark,
            address=self.address,
        )


#: For choices that no publication makes; each names why beside it.
OURS = Publication(
    key="weatherglass",
    citation="Weatherglass project, documented choice where the publications are silent",
)


def our_choice(reason: str) -> Source:
    """Return a source for a choice of ours, with its reason as the locator."""
    return OURS.at(reason, Mark.OUR_CHOICE)


def local_policy(what: str) -> Source:
    """Return the source of a number that a site has put in the place of a published one."""
    return Source(
        key="local-policy", citation="Local policy of this site", locator=what, mark=Mark.LOCAL_POLICY
    )


def common_practice(what: str) -> Source:
    """Return a source for a fact of the trade that nobody publishes."""
    return Source(
        key="common-practice",
        citation="Common practice, no source",
        locator=what,
        mark=Mark.COMMON_PRACTICE,
    )


#: Where an input came from, e.g. "Observation/scr-2". The core carries it and never parses it.
Origin = NewType("Origin", str)


class Label(NamedTuple):
    """A security label of an input, as it was sent; results carry it and no rule reads it."""

    system: str
    code: str
    display: str = ""
