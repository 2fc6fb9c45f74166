"""Lines of a split of a file, many at a time: plain or gzip, whole or up to where it breaks.

A file that breaks off is no reason to lose what stood before: its lines are handed out,
the fault is kept in `broken`, and the half line at the break is handed out like any
other, so that it is judged, and rejected, as a line.
"""

import zlib
from collections.abc import Iterator
from pathlib import Path

from weatherglass.batch.engine.split import Split

_BLOCK = 1 << 20
#: Ours: the longest line that is read. What is longer is named among what was rejected.
LONGEST_LINE = 32 * 1024 * 1024
_BOM = b"\xef\xbb\xbf"


class LineReader:
    """Reads the lines of one split.

    Attributes:
        broken: Why the file could not be read to its end; empty when it could.
    """

    def __init__(self, split: Split) -> None:
        """Read nothing yet."""
        self._split = split
        self.broken = ""

    def blocks(self) -> Iterator[bytes]:
        """Yield whole lines, many in one text, without the last newline.

        Carriage returns before newlines are taken away.
        """
        texts = self._unpacked() if self._split.packed else self._range()
        rest: list[bytes] = []
        held = 0
        for text in texts:
            first = text.find(b"\n")
            if first < 0:
                # Of a line that is too long no more is kept than tells that it is.
                kept = text[: max(0, LONGEST_LINE + 1 - held)]
                held += len(kept)
                rest.append(kept)
                continue
            cut = text.rfind(b"\n")
            line = b"".join((*rest, text[: max(0, LONGEST_LINE + 1 - held)][:first]))
            yield _plain(line + text[first:cut])
            rest = [text[cut + 1 :]]
            held = len(rest[0])
        if held:
            yield _plain(b"".join(rest))

    def whole(self) -> bytes:
        """Return everything that can be read of the file."""
        if not self._split.packed:
            return Path(self._split.path).read_bytes().removeprefix(_BOM)
        return b"".join(self._unpacked()).removeprefix(_BOM)

    def _range(self) -> Iterator[bytes]:
        """Yield the text from the first line that begins in the range to the end of the last."""
        start, end = self._split.start, self._split.end
        with Path(self._split.path).open("rb", buffering=0) as file:
            position = max(start - 1, 0)
            file.seek(position)
            begun = start == 0
            last = b"\n"
            while position < end:
                text = file.read(min(_BLOCK, end - position))
                if not text:
                    break
                position += len(text)
                last = text[-1:]
                if not begun:
                    cut = text.find(b"\n")
                    if cut < 0:
                        last = b"\n"
                        continue
                    begun = True
                    text = text[cut + 1 :]
                yield text
            while last != b"\n" and (text := file.read(65_536)):
                before, newline, _ = text.partition(b"\n")
                yield before + newline
                last = newline or last

    def _unpacked(self) -> Iterator[bytes]:
        with Path(self._split.path).open("rb", buffering=0) as file:
            packed = file.read(_BLOCK)
            while packed:
                member = zlib.decompressobj(wbits=31)
                while not member.eof:
                    if not packed:
                        packed = file.read(_BLOCK)
                        if not packed:
                            self.broken = "the gzip file breaks off before its end"
                            return
                    before = member.copy()
                    try:
                        text = member.decompress(packed, _BLOCK)
                    except zlib.error:
                        self.broken = "the gzip file is damaged"
                        yield from _up_to_the_damage(before, packed)
                        return
                    packed = member.unconsumed_tail
                    if text:
                        yield text
                packed = (member.unused_data or file.read(_BLOCK)).lstrip(b"\0")


def _plain(text: bytes) -> bytes:
    return text.replace(b"\r\n", b"\n").removesuffix(b"\r") if b"\r" in text else text


def _up_to_the_damage(member: "zlib._Decompress", packed: bytes) -> Iterator[bytes]:
    """Unpack what stands before the damage, ever more carefully towards it."""
    for step in (4096, 64, 1):
        while True:
            before = member.copy()
            try:
                text = member.decompress(packed[:step])
            except zlib.error:
                member = before
                break
            packed = packed[step:]
            if text:
                yield text
            if not packed:
                return
