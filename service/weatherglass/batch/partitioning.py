"""Each line to its partition key: a patient, shared resources, or nobody.

This is how both engines find out whose a line is. Nothing is judged here: what cannot
be read or names no patient is kept under a name of its own, and the reading says later
what is wrong with it.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from hashlib import sha1
from operator import attrgetter

from weatherglass.batch.output.runs import Shared
from weatherglass.batch.sources.framing import INCOMPLETE, sealed, text_of
from weatherglass.batch.sources.lines import LONGEST_LINE
from weatherglass.batch.sources.partition_keys import (
    READ,
    SHARED,
    Look,
    identifier_key,
    identifiers_of,
    is_name,
    look,
    needs_of,
    patient_key,
    replacements_of,
    sent_name,
    shared_name,
)
from weatherglass.fhir.decoding import UNREADABLE
from weatherglass.fhir.issues import UnreadableError
from weatherglass.fhir.reading.bundle import items_of, read_items
from weatherglass.fhir.reading.pages import are_missing, is_page
from weatherglass.fhir.reading.patient_data import SentEntry
from weatherglass.fhir.reading.people.addresses import identifier_asked
from weatherglass.fhir.reading.versions.identity import DELETION, deleted_by
from weatherglass.fhir.resource_types import NEWER_TYPES, RESOURCE_TYPES


def nobody_key(line: bytes) -> str:
    """Return the name under which a line that is nobody's travels: one of its own."""
    return "!" + sha1(line, usedforsecurity=False).hexdigest()[:24]


class Partitioner:
    """Says of each line under which partition key it goes.

    Attributes:
        lines: Lines by the name of their owner.
        shared: Lines that belong to nobody and may be referred to.
        needs: Who refers to what, by names.
        names: By what identifier which patient is known, and which Patients were sent.
        replaced: Which entry of a person was replaced by which.
        kinds: Lines by resource type.
        not_needed: Lines of nobody that no rule needs.
        asks: Whether somebody is known by an identifier only.
    """

    def __init__(self) -> None:
        """Start with nothing."""
        self.lines: dict[str, list[bytes]] = {}
        self.shared: list[Shared] = []
        self.needs: set[tuple[str, str]] = set()
        self.names: set[tuple[str, str]] = set()
        self.replaced: set[tuple[str, str]] = set()
        self.kinds: Counter[str] = Counter()
        self.not_needed = 0
        self.asks = False
        self._by_reference: dict[str, list[bytes]] = {}

    def forget(self) -> None:
        """Forget what has gone where it belongs; the counts are kept."""
        self.lines, self.shared, self._by_reference = {}, [], {}
        self.needs, self.names, self.replaced = set(), set(), set()

    def take_block(self, block: bytes) -> None:
        """Take lines, as they stand between newlines."""
        lines = [line for line in block.split(b"\n") if line and not line.isspace()]
        if not lines:
            return
        if len(block) > LONGEST_LINE:
            lines = [line if len(line) <= LONGEST_LINE else _beginning(line) for line in lines]
        if not block.isascii() and not _is_utf8(block):
            lines = [line for line in lines if _is_utf8(line) or self._take_odd(line)]
        elif self._take_plain(lines):
            return
        for line in lines:
            try:
                seen = look(line)
            except UNREADABLE:
                self._take_odd(line)
            else:
                self._take_other(line, seen)

    def _take_plain(self, lines: Sequence[bytes]) -> bool:
        """Take lines that are nothing but Observations of named patients; leave others alone.

        These are the many, so that each step is one call for all of them.
        """
        try:
            seen = list(map(look, lines))
            references = list(map(_REFERENCE, seen))
        except (*UNREADABLE, AttributeError):
            return False
        if set(map(_KIND, seen)) != {"Observation"}:
            return False
        owned = self._by_reference
        for reference in set(references) - owned.keys():
            key = patient_key(reference) if reference else ""
            if not key:
                return False
            owned[reference] = self.lines.setdefault(key, [])
        for line, reference in zip(lines, references, strict=True):
            owned[reference].append(line)
        self.kinds["Observation"] += len(lines)
        return True

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

    def _take_items(self, items: Sequence[SentEntry]) -> None:
        """Take the entries of one Bundle; inside it, a Patient is known by every name it has there."""
        looked = [(item, _look_at(item)) for item in items]
        aliases: dict[str, str] = {}
        for item, seen in looked:
            if seen is not None and seen.resourceType == "Patient":
                aliases.update(dict.fromkeys(_names_of(item, seen), _key_of_patient(item, seen)))
        keys: set[str] = set()
        owners: dict[str, set[str]] = {}
        for item, seen in looked:
            line = sealed(item)
            if line == INCOMPLETE or item.kind == DELETION:
                continue
            if seen is None:
                self._keep_as_nobodys(line, item.kind)
            elif seen.resourceType == "Patient":
                keys.add(self._take_patient(line, seen, _key_of_patient(item, seen), aliases))
            elif seen.resourceType in SHARED:
                self._take_shared(line, seen, tuple(_names_of(item, seen)))
            else:
                key = self._take_owned(line, seen, aliases)
                keys.add(key)
                owners.setdefault(f"{seen.resourceType}/{seen.id}", set()).add(key)
        for item in items:
            if item.kind == DELETION:
                self._take_deletion(item, owners)
        if are_missing(filter(is_page, items)):
            for key in sorted(keys - {""}):
                self.lines.setdefault(key, []).append(INCOMPLETE)

    def _take_other(self, line: bytes, seen: Look) -> None:
        kind = seen.resourceType
        if kind == "Patient":
            self._take_patient(line, seen, f"Patient/{seen.id}" if seen.id else "", {})
        elif kind in SHARED:
            self._take_shared(line, seen, (shared_name(f"{kind}/{seen.id}"),) if seen.id else ())
        elif kind == "Bundle":
            try:
                self._take_items(items_of(line, "line"))
            except UnreadableError:
                self._keep_as_nobodys(line, kind)
        else:
            self._take_owned(line, seen, {})

    def _take_patient(self, line: bytes, seen: Look, key: str, aliases: Mapping[str, str]) -> str:
        if not key or not is_name(key):
            self._keep_as_nobodys(line, "Patient")
            return ""
        self.kinds["Patient"] += 1
        self.lines.setdefault(key, []).append(line)
        self.names.update((name, key) for name in (sent_name(key), *identifiers_of(seen)))
        self.replaced.update(replacements_of(seen, key, aliases))
        return key

    def _take_owned(self, line: bytes, seen: Look, aliases: dict[str, str]) -> str:
        pointer = seen.subject or seen.patient
        reference = pointer.reference if pointer is not None else None
        key = ""
        asked = identifier_asked(reference) if reference else None
        if asked is not None:
            key = identifier_key(asked)
            self.asks = self.asks or bool(key)
        elif reference:
            key = aliases.get(reference) or aliases.get(patient_key(reference)) or patient_key(reference)
        elif pointer is not None and pointer.identifier is not None:
            key = identifier_key(pointer.identifier)
            self.asks = self.asks or bool(key)
        if not key:
            self._keep_as_nobodys(line, seen.resourceType)
            return ""
        held = self.lines.setdefault(key, [])
        held.append(line)
        self.kinds[seen.resourceType] += 1
        self.needs.update((key, name) for name in needs_of(seen))
        return key

    def _take_shared(self, line: bytes, seen: Look, names: tuple[str, ...]) -> None:
        kind = seen.resourceType
        self.kinds[kind] += 1
        counts = 1
        try:
            read_items([SentEntry("line", 0, kind, text_of(line))])
        except UnreadableError:
            # Whoever refers to it shall hear why it cannot be used; here it counts as rejected.
            self.kinds[kind] -= 1
            self._keep_as_nobodys(line, kind)
            counts = 0
        self.shared.append(Shared(line, tuple(n for n in names if n), tuple(needs_of(seen)), counts))

    def _take_deletion(self, item: SentEntry, owners: Mapping[str, set[str]]) -> None:
        """Take a deletion to whoever has other versions of the same resource in this Bundle.

        It names no patient, so where there is none, nobody can be told of it.
        """
        named = deleted_by(item)
        line = sealed(item)
        name = f"{named.kind}/{named.identity}" if named is not None else ""
        if named is not None and named.kind in SHARED:
            self.kinds[_DELETIONS] += 1
            self.shared.append(Shared(line, (name,), (), 1))
            return
        keys = owners.get(name, set()) - {""}
        for key in sorted(keys):
            self.lines.setdefault(key, []).append(line)
        self.kinds[_DELETIONS] += max(len(keys), 1)
        self.not_needed += not keys

    def _take_odd(self, line: bytes) -> bool:
        """Take a line that the quick look cannot read; blank ones are no lines."""
        if line.startswith(_BOM):
            self.take_block(line.removeprefix(_BOM))
        elif line.strip():
            self._keep_as_nobodys(line)
        return False

    def _keep_as_nobodys(self, line: bytes, kind: str = "") -> None:
        if (kind in RESOURCE_TYPES or kind in NEWER_TYPES) and kind not in _JUDGED:
            self.kinds[kind] += 1
            self.not_needed += 1
            return
        self.kinds[kind if kind in RESOURCE_TYPES else "not readable"] += 1
        self.lines.setdefault(nobody_key(line), []).append(line)


#: What deletions are called where lines are counted by type.
_DELETIONS = "deletion"
_KIND = attrgetter("resourceType")
_REFERENCE = attrgetter("subject.reference")
_BOM = b"\xef\xbb\xbf"
#: How much of a line that is too long is shown.
_SHOWN = 500
#: Types that are rejected, with the reason, when they are nobody's; others are just not needed.
_JUDGED = READ | SHARED | {"DiagnosticReport", "Patient", "OperationOutcome", "Bundle"}


def _beginning(line: bytes) -> bytes:
    """Return what stands in the place of a line that is too long: no JSON, so it is rejected."""
    told = f"a line of more than {LONGEST_LINE} bytes, not read; it begins: ".encode()
    return told + line[:_SHOWN].decode("utf-8", "replace").encode()


def _is_utf8(text: bytes) -> bool:
    try:
        text.decode()
    except UnicodeDecodeError:
        return False
    return True


def _look_at(item: SentEntry) -> Look | None:
    if item.kind in (DELETION, "") or not item.raw:
        return None
    try:
        return look(item.raw)
    except UNREADABLE:
        return None


def _key_of_patient(item: SentEntry, seen: Look) -> str:
    if item.full_url is not None and item.full_url.startswith("urn:"):
        return item.full_url
    if seen.id:
        return f"Patient/{seen.id}"
    return item.full_url or ""


def _names_of(item: SentEntry, seen: Look) -> Iterator[str]:
    if item.full_url:
        yield shared_name(item.full_url)
        yield item.full_url
    if seen.id:
        yield f"{seen.resourceType}/{seen.id}"
