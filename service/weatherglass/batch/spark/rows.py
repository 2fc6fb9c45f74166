"""What Spark's Python workers do: say whose each line is, and review one patient at a time.

Rows in, rows out, in Arrow; what happens in between is what the local engine does.
This module is imported on the machines of a cluster, where the package has to be.
"""

import gzip
from collections.abc import Callable, Iterable, Iterator
from enum import StrEnum
from typing import Any

import msgspec
import pyarrow as pa

from weatherglass.batch.reviewing import Entry, Settings, Share, review_group
from weatherglass.batch.taking import Taker

#: Columns of a row that says something about a line, as Spark writes a schema.
TAKEN = "tag string, key string, name string, need string, line binary, number long"
#: Columns of what is brought together by patient.
OWNED = "key string, tag string, line binary"
#: Columns of what comes out.
REVIEWED = "key string, share binary"


class Tag(StrEnum):
    """What a row says."""

    OWN = "own"  # `line` belongs to `key`.
    SHELF = "shelf"  # `line` is called `name` and needs `need`; counts once for `number` 1.
    NEEDS = "needs"  # `key` needs `name`.
    NAMES = "names"  # `key` is known by `name`.
    KIND = "kind"  # There are `number` lines of type `name`.
    NOT_NEEDED = "not needed"  # `number` lines are nobody's and nothing refers to them.
    EARLIER = "earlier"  # `line` is what an earlier run remembers of `key`.


_Row = tuple[str, str, str, str, bytes | None, int]
_SCHEMA = pa.schema(
    [
        ("tag", pa.string()),
        ("key", pa.string()),
        ("name", pa.string()),
        ("need", pa.string()),
        ("line", pa.binary()),
        ("number", pa.int64()),
    ]
)
_entry = msgspec.json.Decoder(Entry)
_share = msgspec.msgpack.Decoder(Share)


def take_lines(batches: Iterable[pa.RecordBatch]) -> Iterator[pa.RecordBatch]:
    """Say whose lines are; one column of lines in."""

    def texts() -> Iterator[Callable[[Taker], None]]:
        for batch in batches:
            block = b"\n".join(batch.column(0).to_pylist())
            block = block.replace(b"\r\n", b"\n").removesuffix(b"\r")
            yield lambda taker, block=block: taker.take_block(block)  # type: ignore[misc]

    yield from _taken(texts())


def take_bodies(batches: Iterable[pa.RecordBatch]) -> Iterator[pa.RecordBatch]:
    """Say whose the entries of Bundles are; one column of whole files in."""

    def texts() -> Iterator[Callable[[Taker], None]]:
        for batch in batches:
            for content in batch.column(0).to_pylist():
                body = gzip.decompress(content) if content[:2] == b"\x1f\x8b" else content
                body = body.removeprefix(b"\xef\xbb\xbf")
                yield lambda taker, body=body: taker.take_body(body)  # type: ignore[misc]

    yield from _taken(texts())


def _taken(texts: Iterable[Callable[[Taker], None]]) -> Iterator[pa.RecordBatch]:
    taker = Taker()
    for take in texts:
        take(taker)
        yield _batch(_found_by(taker))
        taker.forget()
    yield _batch(_counts_of(taker))


def _found_by(taker: Taker) -> Iterator[_Row]:
    for key, lines in taker.lines.items():
        for line in lines:
            yield Tag.OWN, key, "", "", line, 0
    for shared in taker.shared:
        counts = shared.counts
        for name in shared.names or ("",):
            for need in shared.needs or ("",):
                yield Tag.SHELF, "", name, need, shared.line, counts
                counts = 0
    for key, name in taker.needs:
        yield Tag.NEEDS, key, name, "", None, 0
    for name, key in taker.names:
        yield Tag.NAMES, key, name, "", None, 0


def _counts_of(taker: Taker) -> Iterator[_Row]:
    for kind, number in taker.kinds.items():
        if number:
            yield Tag.KIND, "", kind, "", None, number
    yield Tag.NOT_NEEDED, "", "", "", None, taker.not_needed


def _batch(rows: Iterable[_Row]) -> pa.RecordBatch:
    columns = list(zip(*rows, strict=True)) or [()] * len(_SCHEMA)
    return pa.record_batch(
        [pa.array([*column], field.type) for column, field in zip(columns, _SCHEMA, strict=True)],
        schema=_SCHEMA,
    )


def reviewer(settings: Settings) -> Callable[[tuple[Any, ...], pa.Table], pa.Table]:
    """Return the function that reviews the rows of one patient."""

    def review(key: tuple[Any, ...], rows: pa.Table) -> pa.Table:
        name = key[0].as_py()
        lines: dict[str, list[bytes]] = {tag: [] for tag in Tag}
        for tag, line in zip(rows.column("tag").to_pylist(), rows.column("line").to_pylist(), strict=True):
            lines[tag].append(line)
        share = _share_of(name, lines, settings)
        return pa.table({"key": [name], "share": pa.array([msgspec.msgpack.encode(share)], pa.binary())})

    return review


def _share_of(key: str, lines: dict[str, list[bytes]], settings: Settings) -> Share:
    earlier = [_entry.decode(line) for line in lines[Tag.EARLIER]]
    if not lines[Tag.OWN]:
        share = Share()
        share.totals.gone = len(earlier)
        return share
    return review_group(
        key, lines[Tag.OWN], lines[Tag.SHELF], settings, earlier=earlier[0] if earlier else None
    )


def read_share(packed: bytes) -> Share:
    """Return a share as it was sent."""
    return _share.decode(packed)


class _Named(msgspec.Struct):
    patient: str


_named = msgspec.json.Decoder(_Named).decode


def take_earlier(batches: Iterable[pa.RecordBatch]) -> Iterator[pa.RecordBatch]:
    """Say of which patient an earlier run remembers something; one column of lines in."""
    for batch in batches:
        lines = [line for line in batch.column(0).to_pylist() if line.strip()]
        yield pa.record_batch(
            {
                "key": [_named(line).patient for line in lines],
                "tag": [str(Tag.EARLIER)] * len(lines),
                "line": pa.array(lines, pa.binary()),
            }
        )
