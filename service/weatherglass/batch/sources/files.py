"""One file of the input: what it holds, told by how it begins."""

import re
import zlib
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

_GZIP = b"\x1f\x8b"
_LOOKED_AT = 65_536
_RESOURCE_TYPE = re.compile(rb'"resourceType"\s*:\s*"([A-Za-z]+)"')
_OUTPUT = re.compile(rb'"output"\s*:\s*\[')
_OBJECT_AND_MORE = re.compile(rb"\}\s*\n\s*\{")
_LINE_ENDINGS = (".ndjson", ".ndjson.gz", ".jsonl", ".jsonl.gz")


class Shape(StrEnum):
    """What a file holds, in the words that are shown."""

    LINES = "NDJSON"
    BUNDLE = "Bundle or resource"
    MANIFEST = "export manifest"
    EMPTY = "empty"
    DAMAGED = "damaged gzip"
    OTHER = "something else"


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """One file to read.

    Attributes:
        path: Where it lies.
        size: Bytes on disk.
        packed: Whether it is gzip.
        shape: What it holds.
        changed: When it was last written, in nanoseconds; 0 when that is not known.
    """

    path: str
    size: int
    packed: bool
    shape: Shape
    changed: int = 0


def begins(path: Path) -> tuple[bool, bytes]:
    """Return whether a file is gzip, and its first bytes, unpacked."""
    with path.open("rb") as file:
        head = file.read(_LOOKED_AT)
    if not head.startswith(_GZIP):
        return False, head
    try:
        return True, zlib.decompressobj(wbits=31).decompress(head, _LOOKED_AT)
    except zlib.error:
        return True, b""


def shape_of(path: Path, head: bytes, size: int) -> Shape:
    """Tell what a file holds.

    Args:
        path: Its name decides only between one JSON value and lines of JSON.
        head: Its first bytes, unpacked.
        size: Its size on disk.
    """
    text = head.removeprefix(b"\xef\xbb\xbf").strip()
    name = path.name.lower()
    if not text:
        # A gzip file of some length that unpacks to nothing is damaged, not empty.
        return Shape.DAMAGED if size > 64 else Shape.EMPTY
    if name.endswith(_LINE_ENDINGS):
        return _shape_of_lines(name, text)
    if not text.startswith(b"{"):
        return Shape.OTHER
    named = _RESOURCE_TYPE.search(text)
    if named is None:
        return Shape.MANIFEST if _OUTPUT.search(text) else Shape.OTHER
    first_line = text.partition(b"\n")[0].rstrip()
    if first_line.endswith(b"}") and _OBJECT_AND_MORE.match(text, len(first_line) - 1):
        return Shape.LINES
    return Shape.BUNDLE


def _shape_of_lines(name: str, text: bytes) -> Shape:
    # A bad first line is no reason to refuse a file: it is rejected on its own later.
    if text.startswith(b"{") or b"\n{" in text:
        return Shape.LINES
    return Shape.DAMAGED if name.endswith(".gz") else Shape.OTHER
