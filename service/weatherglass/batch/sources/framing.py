"""How a resource travels as one line: plain, or with what a Bundle said about it.

A line of NDJSON travels as it is. An entry of a Bundle may have a full address that
others in the Bundle refer to it by, so it travels behind that address. A deletion of a
history travels behind a mark, with the name and the version of what was deleted. A line
of another kind carries no resource but says that a search result was not sent to its end.
"""

from collections.abc import Sequence

from weatherglass.fhir.issues import UnreadableError
from weatherglass.fhir.reading.bundle import items_of
from weatherglass.fhir.reading.decoding import RESOURCE_TYPE
from weatherglass.fhir.reading.pages import LINKS, is_page
from weatherglass.fhir.reading.patient_data import SentEntry
from weatherglass.fhir.reading.versions.identity import DELETION
from weatherglass.model.plain import replace

_ADDRESSED = b"\x02"
_END_OF_ADDRESS = b"\x1f"
#: Stands for "further pages were not sent".
INCOMPLETE = b"\x03"
_DELETED = b"\x04"
#: Stands for "another Patient of the run has the same number".
SAME_NUMBER = b"\x05"
#: No line of a patient begins like this.
_NO_LINE = b"\0"
#: What `SentEntry.path` of a line begins with; where it leads is said when an issue is shown.
CONTAINER = "line"


def sealed(item: SentEntry) -> bytes:
    """Return an entry of a Bundle as one line."""
    if is_page(item):
        return INCOMPLETE
    # Newlines stand only between the elements of JSON, never inside a string.
    text = item.raw.replace(b"\n", b" ").replace(b"\r", b" ")
    if item.kind == DELETION:
        return _DELETED + text
    address = (item.full_url or "").encode()
    if not address or _END_OF_ADDRESS in address or b"\n" in address:
        return text
    return _ADDRESSED + address + _END_OF_ADDRESS + text


def opened(line: bytes, number: int) -> SentEntry:
    """Return what travelled as a line, ready to be read.

    Args:
        line: As it travelled.
        number: Its number among the patient's lines.
    """
    full_url = None
    text = line
    if line[:1] == _ADDRESSED:
        address, _, text = line[1:].partition(_END_OF_ADDRESS)
        full_url = address.decode()
    elif line == INCOMPLETE:
        return SentEntry(LINKS, -1)
    elif line[:1] == _DELETED:
        return SentEntry(CONTAINER, number, DELETION, line[1:])
    match = RESOURCE_TYPE.match(text)
    if match is not None:
        return SentEntry(CONTAINER, number, match[1].decode("ascii"), text, full_url)
    try:
        found = items_of(text, CONTAINER)[0]
    except UnreadableError:
        return SentEntry(CONTAINER, number, "", text, full_url)
    return replace(found, position=number, full_url=full_url)


def opened_all(lines: Sequence[bytes]) -> list[SentEntry]:
    """Return what travelled as lines; cheap for lines in order, because neighbours begin alike."""
    items: list[SentEntry] = []
    head, kind = _NO_LINE, ""
    for number, line in enumerate(lines):
        if line.startswith(head):
            items.append(SentEntry(CONTAINER, number, kind, line))
            continue
        item = opened(line, number)
        items.append(item)
        match = RESOURCE_TYPE.match(line)
        head, kind = (match[0], item.kind) if match is not None else (_NO_LINE, "")
    return items


def text_of(line: bytes) -> bytes:
    """Return the resource of a line, without what it travels behind."""
    if line[:1] == _DELETED:
        return line[1:]
    return line.partition(_END_OF_ADDRESS)[2] if line[:1] == _ADDRESSED else line
