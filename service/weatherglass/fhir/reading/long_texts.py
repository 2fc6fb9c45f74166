"""Texts longer than anybody reads for a meaning, cut before they are read, and said to be.

A name, a note or a plan of many thousand characters is a document. What is read for a
meaning is its beginning, so that the time it takes does not depend on its sender.
"""

import json
import re

from weatherglass.fhir.json_faults import path_at
from weatherglass.fhir.reading.collector import Collector
from weatherglass.fhir.reading.patient_data import SentEntry
from weatherglass.model.plain import replace

#: Ours: two pages of print.
LONGEST_READ = 4000
#: The elements that hold words. References, identifiers and codes are never cut: two could become one.
_ELEMENTS = (
    b"text|display|description|title|name|comment|valueString|valueMarkdown|patientInstruction|"
    b"additionalInstruction|alias|reason|conclusion|family"
)
#: One such element with its string; a string that is never closed reaches to the end.
_WORDS = re.compile(rb'"(?:' + _ELEMENTS + rb')"\s*+:\s*+"((?:[^"\\]++|\\.)*+)("?)', re.DOTALL)


def bounded(collector: Collector, entry: SentEntry) -> SentEntry:
    """Return a resource without the far ends of its long texts; an issue when there were any."""
    if len(entry.raw) <= LONGEST_READ:
        return entry
    raw = entry.raw
    beginning, cut = _cut(raw)
    if not cut:
        return entry
    first, count = cut
    where = path_at(raw[:first].decode("utf-8", "replace"))
    collector.say(
        "texts-cut", f"{entry.path}.{where}" if where else entry.path, number=count, most=LONGEST_READ
    )
    return replace(entry, raw=beginning)


def _cut(raw: bytes) -> tuple[bytes, tuple[int, int] | None]:
    """Return the resource with its texts cut, where the first one stood, and how many there were."""
    pieces: list[bytes] = []
    kept_to = count = first = 0
    for found in _WORDS.finditer(raw):
        shorter = _shorter(found[1]) if found[2] and len(found[1]) > LONGEST_READ else None
        if shorter is None:
            continue
        pieces += (raw[kept_to : found.start(1)], shorter)
        kept_to = found.end(1)
        first = first or found.start(1)
        count += 1
    return b"".join((*pieces, raw[kept_to:])), (first, count) if count else None


def _shorter(written: bytes) -> bytes | None:
    """Return the beginning of a string as JSON writes it; None when it is not too long, or not JSON."""
    try:
        text = json.loads(b'"' + written + b'"')
    except ValueError:
        return None
    return json.dumps(text[:LONGEST_READ])[1:-1].encode() if len(text) > LONGEST_READ else None
