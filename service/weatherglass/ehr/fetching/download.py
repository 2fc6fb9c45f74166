"""Bringing the files of an export in: bounded, counted, complete or not there at all.

A file is written beside its place and moved there when its lines are counted and agree
with the manifest. Compressed files are unpacked on the way, whether the transfer or the
file itself is compressed.
"""

import asyncio
import re
import zlib
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import NamedTuple

from weatherglass.ehr.client.addresses import is_private_enough, is_web_address
from weatherglass.ehr.client.faults import BrokenOffError, EhrError, RefusedError, UnexpectedAnswerError
from weatherglass.ehr.client.transport import Request, Transport, bytes_of
from weatherglass.ehr.fetching.export import Manifest, ManifestFile
from weatherglass.ehr.fetching.ledger import Arrived, Ledger

_TYPE = re.compile(r"[A-Z][A-Za-z]{1,63}")
_NDJSON = "application/fhir+ndjson"
#: What a server answers when the address of a file has run out.
_EXPIRED = frozenset({403, 404, 410})


class LinkExpiredError(EhrError):
    """The address of a file no longer works; the manifest must be asked for again."""


class Item(NamedTuple):
    """One file to bring in."""

    place: str
    listed: ManifestFile
    target: Path


def items_of(manifest: Manifest, folder: Path) -> list[Item]:
    """Return every file of a manifest with the place it goes to.

    Results lie in the folder itself, one type a file; what the server could not export
    and what it has deleted lie apart, because they are not records.

    Raises:
        UnexpectedAnswerError: A type or an address is none.
    """
    items: list[Item] = []
    parts = (
        ("output", folder, manifest.output),
        ("error", folder / "error", [*manifest.error, *manifest.outcome]),
        ("deleted", folder / "deleted", manifest.deleted),
    )
    for part, where, listed in parts:
        numbers: dict[str, int] = {}
        for index, one in enumerate(listed):
            kind = one.type or {"error": "OperationOutcome", "deleted": "Bundle"}.get(part, "")
            # The name becomes a file's name, so it must be a resource type and nothing else.
            if not _TYPE.fullmatch(kind) or not is_web_address(one.url):
                raise UnexpectedAnswerError("read the manifest", f"{part}[{index}] has no type or address")
            number = numbers[kind] = numbers.get(kind, -1) + 1
            items.append(Item(f"{part}/{index}", one, where / f"{kind}.{number:03d}.ndjson"))
    return items


async def bring_in(
    transport: Transport,
    manifest: Manifest,
    ledger: Ledger,
    folder: Path,
    *,
    arrived: Callable[[Arrived], None] = lambda _: None,
) -> None:
    """Download every file that has not arrived yet, a few at a time.

    Raises:
        LinkExpiredError: An address has run out; what has arrived is in the ledger.
        EhrError: A file could not be had, or its count is wrong.
    """
    with_token = manifest.requiresAccessToken and transport.tokens is not None

    async def one(item: Item) -> None:
        got = await transport.retried(
            partial(_once, transport, item, with_token=with_token),
            lambda fault: isinstance(fault, BrokenOffError),
        )
        ledger.arrived[item.place] = got
        ledger.save(folder)
        arrived(got)

    items = items_of(manifest, folder)
    ledger.coming = [str(item.target.relative_to(folder)) for item in items]
    ledger.save(folder)
    missing = [item for item in items if not _is_here(item, ledger)]
    for item in missing:
        item.target.parent.mkdir(parents=True, exist_ok=True)
    results = await asyncio.gather(*(one(item) for item in missing), return_exceptions=True)
    faults = [result for result in results if isinstance(result, BaseException)]
    for fault in faults:
        if not isinstance(fault, LinkExpiredError):
            raise fault
    if faults:
        raise faults[0]


def _is_here(item: Item, ledger: Ledger) -> bool:
    known = ledger.arrived.get(item.place)
    return (
        known is not None
        and known.file == item.target.name
        and item.target.is_file()
        and item.target.stat().st_size == known.bytes
        and (item.listed.count is None or item.listed.count == known.lines)
    )


async def _once(transport: Transport, item: Item, *, with_token: bool) -> Arrived:
    what = f"download {item.target.name}"
    url = item.listed.url
    if with_token and not is_private_enough(url):
        raise UnexpectedAnswerError(what, "the server wants a token sent over plain http; it was not sent")
    request = Request("GET", url, what, {"Accept": _NDJSON, "Accept-Encoding": "gzip"}, authorised=with_token)
    part = item.target.with_suffix(".part")
    try:
        async with transport.open(request) as response:
            writer = _Writer(part, what)
            try:
                async for piece in bytes_of(response, what):
                    writer.write(piece)
                writer.finish()
            finally:
                writer.close()
    except RefusedError as refused:
        if refused.status in _EXPIRED:
            raise LinkExpiredError(
                what, "the file's address no longer works", status=refused.status
            ) from None
        raise
    if item.listed.count is not None and writer.lines != item.listed.count:
        part.unlink()
        raise BrokenOffError(what, f"{writer.lines} lines arrived, {item.listed.count} are listed")
    part.replace(item.target)
    return Arrived(
        file=item.target.name,
        type=item.target.name.partition(".")[0],
        lines=writer.lines,
        bytes=item.target.stat().st_size,
    )


class _Writer:
    """Writes a body to a file, unpacked, and counts its lines."""

    def __init__(self, path: Path, what: str) -> None:
        self._file = path.open("wb")
        self._what = what
        self._unpack: zlib._Decompress | None = None
        self._begun = False
        self._blank = True
        self.lines = 0

    def write(self, piece: bytes) -> None:
        if not self._begun and piece:
            self._begun = True
            if piece.startswith(b"\x1f\x8b"):
                self._unpack = zlib.decompressobj(zlib.MAX_WBITS | 16)
        if self._unpack is None:
            self._keep(piece)
            return
        try:
            # In steps, so that a small file that unpacks to a huge one does not fill the memory.
            data = self._unpack.decompress(piece, 1 << 20)
            while data:
                self._keep(data)
                data = self._unpack.decompress(self._unpack.unconsumed_tail, 1 << 20)
        except zlib.error:
            raise BrokenOffError(self._what, "its compression is broken") from None

    def _keep(self, data: bytes) -> None:
        self._file.write(data)
        start = 0
        while (end := data.find(b"\n", start)) >= 0:
            if data[start:end].strip():
                self._blank = False
            self.lines += not self._blank
            self._blank = True
            start = end + 1
        if data[start:].strip():
            self._blank = False

    def finish(self) -> None:
        if self._unpack is not None and not self._unpack.eof:
            raise BrokenOffError(self._what, "its compression broke off")
        if not self._blank:
            # The last line may lack its end; the next file must not run into it.
            self.lines += 1
            self._file.write(b"\n")

    def close(self) -> None:
        self._file.close()
