"""What one worker reads at a time: splits of files, cut so that the work is even.

Plain NDJSON is cut anywhere; a line belongs to the split that it begins in. Gzip and
Bundles cannot be cut, so each file is one split. Small splits travel together.
"""

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from weatherglass.batch.sources.files import Shape, Source

#: NDJSON of health records shrinks to about an eighth in gzip; only the sharing out of work rests on it.
_UNPACKED = 8


class Split(NamedTuple):
    """A part of one file, or all of it.

    Attributes:
        path: Where the file lies.
        packed: Whether it is gzip.
        whole: Whether the file is one JSON value rather than lines.
        start: First byte.
        end: The byte after the last; a line that begins before it is read to its end.
    """

    path: str
    packed: bool
    whole: bool
    start: int
    end: int

    @property
    def weight(self) -> int:
        """About how many bytes there are to go through."""
        return (self.end - self.start) * (_UNPACKED if self.packed else 1)


def cut(sources: Iterable[Source], size: int) -> list[list[Split]]:
    """Cut files into lists of splits of about one size, in order.

    Args:
        sources: The files.
        size: How many bytes a list should come to.
    """
    lists: list[list[Split]] = []
    held: list[Split] = []
    weight = 0
    for split in _splits(sources, size):
        if held and weight + split.weight > size:
            lists.append(held)
            held, weight = [], 0
        held.append(split)
        weight += split.weight
    return [*lists, held] if held else lists


def _splits(sources: Iterable[Source], size: int) -> Iterator[Split]:
    for source in sources:
        whole = source.shape is Shape.BUNDLE
        if source.packed or whole or source.size <= size:
            yield Split(source.path, source.packed, whole, 0, source.size)
            continue
        count = -(-source.size // size)
        edges = [source.size * number // count for number in range(count + 1)]
        for start, end in pairwise(edges):
            yield Split(source.path, source.packed, whole, start, end)


def total(lists: Sequence[Sequence[Split]]) -> int:
    """Return about how many bytes there are to go through."""
    return sum(split.weight for splits in lists for split in splits)
