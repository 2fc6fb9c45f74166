"""What Spark's Python workers do: say whose each line is, and review one partition at a time.

Rows in, rows out, in Arrow; what happens in between is what the local engine does. Lines
travel together, as many of one owner as a task has at hand, so that there are few rows. This
module is imported on the machines of a cluster, where the package has to be.
"""

import gzip
import zlib
from bisect import bisect_right
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from enum import StrEnum
from functools import cache
from heapq import nsmallest
from itertools import groupby
from typing import Any

import msgspec
import pyarrow as pa

from weatherglass.batch.output.earlier import patient_of
from weatherglass.batch.output.totals import Totals
from weatherglass.batch.partitioning import Partitioner
from weatherglass.batch.reviewing import Entry, PatientOutput, Settings, review_group
from weatherglass.batch.sources.framing import SAME_NUMBER
from weatherglass.memory import settle

#: Columns of a row about what is small beside the lines, as Spark writes a schema.
SIDES = "tag string, key string, name string, need string, line binary, number long"
#: Columns of what is brought together: in which partition, whose, what, and lines.
PLACED = "bucket int, key string, tag string, lines binary"
#: Columns of what is written: a section of the output, and lines without the last newline.
WRITTEN = "section string, value string"
#: The section that holds the counts of a partition.
COUNTS = "counts"
#: How many bytes of lines a task holds before it passes them on.
_HELD = 8 << 20
#: The number of a partition that holds nobody.
_NONE = -1
#: How many bytes of a section make a row of output.
_WRITTEN_AT_ONCE = 1 << 20
#: How many names of patients a task tells, for where to cut; those with the smallest checksums.
SAMPLE = 4096


class Tag(StrEnum):
    """What a row says."""

    OWN = "own"  # `lines` belong to `key`.
    SHARED = "shared"  # `line` is called `name` and needs `need`; counts once for `number` 1.
    NEEDS = "needs"  # `key` needs `name`.
    NAMES = "names"  # `key` is known by `name`.
    REPLACED = "replaced"  # The entry `key` was replaced by `name`.
    ASKS = "asks"  # Somebody is known by an identifier only.
    SAMPLE = "sample"  # `key` has lines; `number` is the checksum of its name.
    KIND = "kind"  # There are `number` lines of type `name`.
    NOT_NEEDED = "not needed"  # `number` lines are nobody's and nothing refers to them.
    EARLIER = "earlier"  # `lines` are what an earlier run remembers of `key`.


class Counts(msgspec.Struct, kw_only=True):
    """What a partition came to.

    Attributes:
        bucket: Its number among the partitions.
        totals: Counts of its patients.
        sections: Lines, bytes and checksum of each section that it wrote.
    """

    bucket: int
    totals: Totals
    sections: dict[str, tuple[int, int, int]]


Batches = Iterable[pa.RecordBatch]
_Side = tuple[str, str, str, str, bytes | None, int]
_Step = Callable[[Partitioner], int]


def _schema(columns: str) -> pa.Schema:
    kinds = {"string": pa.string(), "binary": pa.binary(), "long": pa.int64(), "int": pa.int32()}
    pairs = (column.split() for column in columns.split(", "))
    return pa.schema([(name, kinds[kind]) for name, kind in pairs])


_SIDES, _PLACED, _WRITTEN = _schema(SIDES), _schema(PLACED), _schema(WRITTEN)
_ANSWERS = _schema("asked string, answer string")
_entry = msgspec.json.Decoder(Entry)


# What a task is given


def lines_in(batches: Batches) -> Iterator[_Step]:
    """Yield a step that takes some lines; one column of lines in."""
    for batch in batches:
        block = b"\n".join(batch.column(0).to_pylist())
        block = block.replace(b"\r\n", b"\n").removesuffix(b"\r")

        def take(partitioner: Partitioner, block: bytes = block) -> int:
            partitioner.take_block(block)
            return len(block)

        yield take


def bodies_in(batches: Batches) -> Iterator[_Step]:
    """Yield a step that takes a whole file; one column of whole files in."""
    for batch in batches:
        for content in batch.column(0).to_pylist():
            body = gzip.decompress(content) if content[:2] == b"\x1f\x8b" else content

            def take(partitioner: Partitioner, body: bytes = body.removeprefix(b"\xef\xbb\xbf")) -> int:
                partitioner.take_body(body)
                return len(body)

            yield take


def _held(steps: Iterable[_Step], partitioner: Partitioner) -> Iterator[None]:
    """Take in steps and stop whenever there is enough to pass on."""
    held = 0
    for take in steps:
        held += take(partitioner)
        if held >= _HELD:
            yield
            partitioner.forget()
            held = 0
    yield
    partitioner.forget()


# The first look: everything but the lines


def sides(read: Callable[[Batches], Iterator[_Step]]) -> Callable[[Batches], Iterator[pa.RecordBatch]]:
    """Return the function that says what there is beside the lines of patients."""

    def look(batches: Batches) -> Iterator[pa.RecordBatch]:
        partitioner = Partitioner()
        seen: dict[str, int] = {}
        for _ in _held(read(batches), partitioner):
            yield _batch(_sides_of(partitioner), _SIDES)
            seen |= {key: zlib.crc32(key.encode()) for key in partitioner.lines.keys() - seen.keys()}
            if len(seen) > 4 * SAMPLE:
                seen = _smallest(seen)
        yield _batch(_counts_of(partitioner, _smallest(seen)), _SIDES)

    return look


def _smallest(seen: Mapping[str, int]) -> dict[str, int]:
    return dict(nsmallest(SAMPLE, seen.items(), key=lambda pair: (pair[1], pair[0])))


def _sides_of(partitioner: Partitioner) -> Iterator[_Side]:
    for shared in partitioner.shared:
        counts = shared.counts
        for name in shared.names or ("",):
            for need in shared.needs or ("",):
                yield Tag.SHARED, "", name, need, shared.line, counts
                counts = 0
    for key, name in partitioner.needs:
        yield Tag.NEEDS, key, name, "", None, 0
    for name, key in partitioner.names:
        yield Tag.NAMES, key, name, "", None, 0
    for old, new in partitioner.replaced:
        yield Tag.REPLACED, old, new, "", None, 0


def _counts_of(partitioner: Partitioner, seen: Mapping[str, int]) -> Iterator[_Side]:
    for key, checksum in seen.items():
        yield Tag.SAMPLE, key, "", "", None, checksum
    for kind, number in partitioner.kinds.items():
        if number:
            yield Tag.KIND, "", kind, "", None, number
    yield Tag.NOT_NEEDED, "", "", "", None, partitioner.not_needed
    yield Tag.ASKS, "", "", "", None, int(partitioner.asks)


def _batch(rows: Iterable[Sequence[Any]], schema: pa.Schema) -> pa.RecordBatch:
    columns = list(zip(*rows, strict=True)) or [()] * len(schema)
    arrays = [pa.array([*column], field.type) for column, field in zip(columns, schema, strict=True)]
    return pa.record_batch(arrays, schema=schema)


def reached(most: int) -> Callable[[Batches], Iterator[pa.RecordBatch]]:
    """Return the function that follows what is needed by what is needed: the ward of a bed, and on."""

    def follow(batches: Batches) -> Iterator[pa.RecordBatch]:
        needs: dict[str, set[str]] = {}
        for batch in batches:
            for name, need in zip(*(batch.column(n).to_pylist() for n in range(2)), strict=True):
                needs.setdefault(name, set()).add(need)
        for name in needs:
            found = _from(name, needs, most)
            yield pa.record_batch({"asked": [name] * len(found), "need": sorted(found)})

    return follow


def _from(name: str, needs: Mapping[str, set[str]], most: int) -> set[str]:
    found: set[str] = set()
    edge = {name}
    for _ in range(most):
        edge = {need for each in edge for need in needs.get(each, ())} - found
        found |= edge
    return found


# The second look: lines, each to the partition of its owner


def owned(
    read: Callable[[Batches], Iterator[_Step]],
    bounds: Sequence[str],
    wanted: Collection[int],
    stands: Mapping[str, str],
    *,
    asked: bool | None = None,
) -> Callable[[Batches], Iterator[pa.RecordBatch]]:
    """Return the function that says whose lines are.

    Args:
        read: What a batch holds.
        bounds: The first name of every partition but the first.
        wanted: Partitions that are still to be reviewed.
        stands: The entry that stands, for each that it replaced.
        asked: Only who is known by an identifier, True, or only the others, False.
    """

    def take(batches: Batches) -> Iterator[pa.RecordBatch]:
        partitioner = Partitioner()
        for _ in _held(read(batches), partitioner):
            keyed = ((stands.get(key, key), lines) for key, lines in partitioner.lines.items())
            rows = (
                (bisect_right(bounds, key), key, Tag.OWN, b"\n".join(lines))
                for key, lines in keyed
                if asked is None or asked is key.startswith("?")
            )
            # Where somebody who is known by an identifier goes is known once it is answered.
            yield _batch((row for row in rows if asked or row[0] in wanted), _PLACED)

    return take


def placed(
    tag: Tag, bounds: Sequence[str], wanted: Collection[int], stands: Mapping[str, str]
) -> Callable[[Batches], Iterator[pa.RecordBatch]]:
    """Return the function that says in which partition something goes; key and line in."""

    def place(batches: Batches) -> Iterator[pa.RecordBatch]:
        for batch in batches:
            pairs = zip(batch.column(0).to_pylist(), batch.column(1).to_pylist(), strict=True)
            keyed = ((stands.get(key, key), line) for key, line in pairs)
            rows = ((bisect_right(bounds, key), key, tag, line) for key, line in keyed)
            yield _batch((row for row in rows if row[0] in wanted), _PLACED)

    return place


def doubled(stands: Mapping[str, str]) -> Callable[[Batches], Iterator[pa.RecordBatch]]:
    """Return the function that marks patients who have one number; lists of names in, keys and marks out."""

    def mark(batches: Batches) -> Iterator[pa.RecordBatch]:
        for batch in batches:
            held = ({stands.get(key, key) for key in keys} for keys in batch.column(0).to_pylist())
            keys = sorted({key for one in held if len(one) > 1 for key in one})
            marks = pa.array([SAME_NUMBER] * len(keys), pa.binary())
            yield pa.record_batch({"key": pa.array(keys, pa.string()), "line": marks})

    return mark


def answering(stands: Mapping[str, str]) -> Callable[[Batches], Iterator[pa.RecordBatch]]:
    """Return the function that says whose a name is that one person has; names and lists of keys in."""

    def answer(batches: Batches) -> Iterator[pa.RecordBatch]:
        for batch in batches:
            rows = zip(*(column.to_pylist() for column in batch.columns), strict=True)
            held = [(name, {stands.get(key, key) for key in keys}) for name, keys in rows]
            known = [(name, *keys) for name, keys in held if len(keys) == 1]
            yield _batch(known, _ANSWERS)

    return answer


def take_earlier(batches: Batches) -> Iterator[pa.RecordBatch]:
    """Say of which patient an earlier run remembers something; one column of lines in."""
    for batch in batches:
        lines = [line for line in batch.column(0).to_pylist() if line.strip()]
        keys = [patient_of(line) for line in lines]
        yield pa.record_batch({"key": pa.array(keys, pa.string()), "line": pa.array(lines, pa.binary())})


# The review


def reviewer(settings: Settings) -> Callable[[Batches], Iterator[pa.RecordBatch]]:
    """Return the function that reviews a partition, whose rows come in order of patients."""

    def review(batches: Batches) -> Iterator[pa.RecordBatch]:
        _settle()
        out = _Output()
        for (bucket, key), rows in groupby(_rows(batches), key=lambda row: row[:2]):
            out.add(bucket, _output_of(key, rows, settings))
            yield from out.full(_WRITTEN_AT_ONCE)
        yield from out.rest()

    return review


@cache
def _settle() -> None:
    """Look for garbage as seldom as the other engine does, once a worker."""
    settle()


def _rows(batches: Batches) -> Iterator[tuple[int, str, str, bytes]]:
    for batch in batches:
        yield from zip(*(column.to_pylist() for column in batch.columns), strict=True)


class _Output:
    """What a partition comes to, passed on in large splits."""

    def __init__(self) -> None:
        self._lines: dict[str, list[bytes]] = {}
        self._sizes: Counter[str] = Counter()
        self._counts = Counts(bucket=_NONE, totals=Totals(), sections={})

    def add(self, bucket: int, output: PatientOutput) -> None:
        """Add one patient's output."""
        self._counts.bucket = bucket
        self._counts.totals.add(output.totals)
        for name, lines in output.sections.items():
            self._lines.setdefault(name, []).extend(lines)
            self._sizes[name] += sum(map(len, lines))

    def full(self, size: int) -> Iterator[pa.RecordBatch]:
        """Yield the sections that have come to a size, and forget them."""
        for name in [name for name, held in self._sizes.items() if held >= size]:
            yield self._row(name)

    def rest(self) -> Iterator[pa.RecordBatch]:
        """Yield what is left, and the counts behind it."""
        yield from self.full(1)
        if self._counts.bucket != _NONE:
            yield _text(COUNTS, msgspec.json.encode(self._counts))

    def _row(self, name: str) -> pa.RecordBatch:
        lines, size = self._lines.pop(name), self._sizes.pop(name)
        text = b"".join(lines)
        before = self._counts.sections.get(name, (0, 0, 0))
        self._counts.sections[name] = (
            before[0] + len(lines),
            before[1] + size,
            zlib.crc32(text, before[2]),
        )
        return _text(name, text.removesuffix(b"\n"))


def _text(section: str, text: bytes) -> pa.RecordBatch:
    # As a view: what we wrote is UTF-8, and need not be looked through again.
    value = pa.array([text], pa.binary()).view(pa.string())
    return pa.record_batch([pa.array([section], pa.string()), value], schema=_WRITTEN)


def _output_of(key: str, rows: Iterable[tuple[int, str, str, bytes]], settings: Settings) -> PatientOutput:
    lines: dict[str, list[bytes]] = {tag: [] for tag in (Tag.OWN, Tag.SHARED, Tag.EARLIER)}
    for _, _, tag, text in rows:
        lines[tag].extend(text.split(b"\n"))
    earlier = [_entry.decode(line) for line in lines[Tag.EARLIER]]
    if not lines[Tag.OWN]:
        output = PatientOutput()
        output.totals.gone = len(earlier)
        return output
    return review_group(key, lines[Tag.OWN], lines[Tag.SHARED], settings, earlier=earlier)
