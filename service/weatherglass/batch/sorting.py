"""From pieces of files to runs: each patient's lines side by side, patients in order.

A run holds as many lines as fit in the memory a worker may use; it is written once, in
order, and an index says where each patient's lines lie in it.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from hashlib import sha1
from pathlib import Path

import msgspec

from weatherglass.batch.envelope import INCOMPLETE, is_incomplete_mark, sealed, text_of
from weatherglass.batch.lines import LineReader
from weatherglass.batch.ownership import (
    READ,
    SHARED,
    Look,
    identifier_key,
    identifiers_of,
    look,
    needs_of,
    patient_key,
    shared_name,
)
from weatherglass.batch.piece import Piece
from weatherglass.batch.runs import Broken, RunWriter, Shared, Sorted
from weatherglass.fhir.issues import UnreadableError
from weatherglass.fhir.reading.bundle import items_of, read_items
from weatherglass.fhir.reading.intake import Place


def nobody_key(line: bytes) -> str:
    """Return the name under which a line that is nobody's travels: one of its own."""
    return "!" + sha1(line, usedforsecurity=False).hexdigest()[:24]


def sort_pieces(pieces: Sequence[Piece], name: str, folder: Path, run_bytes: int) -> Sorted:
    """Sort the lines of some pieces into runs in a folder.

    Args:
        pieces: What to read.
        name: What the runs are called after.
        folder: Where they go.
        run_bytes: How many bytes a run may hold.
    """
    sorter = _Sorter(name, folder, run_bytes)
    for piece in pieces:
        reader = LineReader(piece)
        if piece.whole:
            sorter.take_body(reader.whole())
        else:
            for block in reader.blocks():
                sorter.take_block(block)
        if reader.broken:
            sorter.found.broken.append(Broken(Path(piece.path).name, reader.broken))
    return sorter.finish()


class _Sorter:
    """Takes lines; writes runs and their index."""

    def __init__(self, name: str, folder: Path, run_bytes: int) -> None:
        self.found = Sorted()
        self._runs = RunWriter(name, folder)
        self._run_bytes = run_bytes
        self._held = 0
        self._lines: dict[str, list[bytes]] = {}
        self._by_reference: dict[str, list[bytes]] = {}
        self._kinds: Counter[str] = Counter()
        self._shared: list[Shared] = []
        self._needs: set[tuple[str, str]] = set()
        self._names: set[tuple[str, str]] = set()

    # Taking lines

    def take_block(self, block: bytes) -> None:
        lines = block.split(b"\n")
        if not block.isascii() and not _is_utf8(block):
            lines = [line for line in lines if _is_utf8(line) or self._take_odd(line)]
        by_reference = self._by_reference
        kinds = self._kinds
        for line in lines:
            try:
                seen = look(line)
                kind = seen.resourceType
                if kind == "Observation":
                    # The many: found by the reference as it is written.
                    by_reference[seen.subject.reference].append(line)  # type: ignore[union-attr, index]
                    kinds[kind] += 1
                else:
                    self._take_other(line, seen)
            except (KeyError, AttributeError):
                self._take_other(line, seen)
            except (msgspec.MsgspecError, RecursionError):
                self._take_odd(line)
        self._grew(len(block))

    def take_body(self, body: bytes) -> None:
        """Take a whole Bundle or resource."""
        if not body.strip():
            return
        try:
            items = items_of(body, "Bundle")
        except UnreadableError:
            self._keep_as_nobodys(body.replace(b"\n", b" ").replace(b"\r", b" "))
        else:
            self._take_items(items)
        self._grew(len(body))

    def _take_items(self, items: Sequence[Place]) -> None:
        """Take the entries of one Bundle; inside it, a Patient is known by every name it has there."""
        looked = [(item, _look_at(item)) for item in items]
        aliases: dict[str, str] = {}
        for item, seen in looked:
            if seen is not None and seen.resourceType == "Patient":
                aliases.update(dict.fromkeys(_names_of(item, seen), _key_of_patient(item, seen)))
        keys: set[str] = set()
        for item, seen in looked:
            line = sealed(item)
            if line == INCOMPLETE:
                continue
            if seen is None:
                self._keep_as_nobodys(line, item.kind)
            elif seen.resourceType == "Patient":
                keys.add(self._take_patient(line, seen, _key_of_patient(item, seen)))
            elif seen.resourceType in SHARED:
                self._take_shared(line, seen, tuple(_names_of(item, seen)))
            else:
                keys.add(self._take_owned(line, seen, aliases))
        if any(is_incomplete_mark(item) for item in items):
            for key in sorted(keys - {""}):
                self._lines.setdefault(key, []).append(INCOMPLETE)

    def _take_other(self, line: bytes, seen: Look) -> None:
        kind = seen.resourceType
        if kind == "Patient":
            self._take_patient(line, seen, f"Patient/{seen.id}" if seen.id else "")
        elif kind in SHARED:
            self._take_shared(line, seen, (shared_name(f"{kind}/{seen.id}"),) if seen.id else ())
        elif kind == "Bundle":
            try:
                self._take_items(items_of(line, "line"))
            except UnreadableError:
                self._keep_as_nobodys(line, kind)
        else:
            self._take_owned(line, seen, {})

    def _take_patient(self, line: bytes, seen: Look, key: str) -> str:
        if not key or not key.isprintable():
            self._keep_as_nobodys(line, "Patient")
            return ""
        self._kinds["Patient"] += 1
        self._lines.setdefault(key, []).append(line)
        self._names.update((name, key) for name in identifiers_of(seen))
        return key

    def _take_owned(self, line: bytes, seen: Look, aliases: dict[str, str]) -> str:
        pointer = seen.subject or seen.patient
        reference = pointer.reference if pointer is not None else None
        key = ""
        if reference:
            key = aliases.get(reference) or aliases.get(patient_key(reference)) or patient_key(reference)
        elif pointer is not None and pointer.identifier is not None:
            key = identifier_key(pointer.identifier)
            self.found.asks = self.found.asks or bool(key)
        if not key:
            self._keep_as_nobodys(line, seen.resourceType)
            return ""
        held = self._lines.setdefault(key, [])
        held.append(line)
        self._kinds[seen.resourceType] += 1
        if reference and not aliases:
            self._by_reference[reference] = held
        self._needs.update((key, name) for name in needs_of(seen))
        return key

    def _take_shared(self, line: bytes, seen: Look, names: tuple[str, ...]) -> None:
        kind = seen.resourceType
        self._kinds[kind] += 1
        counts = 1
        try:
            read_items([Place("line", 0, kind, text_of(line))])
        except UnreadableError:
            # Whoever refers to it shall hear why it cannot be used; here it counts as rejected.
            self._kinds[kind] -= 1
            self._keep_as_nobodys(line, kind)
            counts = 0
        self._shared.append(Shared(line, tuple(n for n in names if n), tuple(needs_of(seen)), counts))

    def _take_odd(self, line: bytes) -> bool:
        """Take a line that the quick look cannot read; blank ones are no lines."""
        if line.strip():
            self._keep_as_nobodys(line)
        return False

    def _keep_as_nobodys(self, line: bytes, kind: str = "") -> None:
        if kind and kind.isalpha() and kind[0].isupper() and kind not in _JUDGED:
            self._kinds[kind] += 1
            self.found.not_needed += 1
            return
        self._kinds[kind if kind.isalpha() else "not readable"] += 1
        self._lines.setdefault(nobody_key(line), []).append(line)

    # Writing

    def _grew(self, size: int) -> None:
        self._held += size
        if self._held >= self._run_bytes:
            self._write()

    def _write(self) -> None:
        self._runs.write(self._lines, self._shared)
        self._lines, self._by_reference, self._shared = {}, {}, []
        self._held = 0

    def finish(self) -> Sorted:
        """Write what is left."""
        if self._lines or self._shared:
            self._write()
        self.found.kinds = {kind: n for kind, n in sorted(self._kinds.items()) if n}
        self.found.lines = sum(self._kinds.values())
        self._runs.finish(self.found, self._needs, self._names)
        return self.found


#: Types that are rejected, with the reason, when they are nobody's; others are just not needed.
_JUDGED = READ | SHARED | {"Patient", "OperationOutcome", "Bundle"}


def _is_utf8(text: bytes) -> bool:
    try:
        text.decode()
    except UnicodeDecodeError:
        return False
    return True


def _look_at(item: Place) -> Look | None:
    if item.kind in ("DELETE", "") or not item.raw:
        return None
    try:
        return look(item.raw)
    except (msgspec.MsgspecError, RecursionError):
        return None


def _key_of_patient(item: Place, seen: Look) -> str:
    if item.full_url is not None and item.full_url.startswith("urn:"):
        return item.full_url
    if seen.id:
        return f"Patient/{seen.id}"
    return item.full_url or ""


def _names_of(item: Place, seen: Look) -> Iterator[str]:
    if item.full_url:
        yield shared_name(item.full_url)
        yield item.full_url
    if seen.id:
        yield f"{seen.resourceType}/{seen.id}"
