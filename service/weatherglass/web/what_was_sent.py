"""What an input that could not be used was, in the words of its sender: for people, who read no paths.

Looked up in the body that was opened, only for the few inputs that a page names; nothing is kept.
"""

import re
from collections.abc import Iterable
from typing import Any, Final, NamedTuple

import msgspec

from weatherglass.fhir.datatypes import CodeableConcept
from weatherglass.fhir.issues import Same
from weatherglass.fhir.r4 import Observation
from weatherglass.fhir.reading.observations.sent_values import LONGEST, shown_value
from weatherglass.fhir.safe_text import one_line
from weatherglass.fhir.times import read_when
from weatherglass.model.words.clock_words import Clock

#: Ours: more than a page lists are not looked up.
MOST: Final = 40
_ENTRY = re.compile(r"Bundle\.entry\[(\d+)\]")
#: The elements that say what a resource is about, and when it was; the first that is there.
_NAMES: Final = ("code", "medicationCodeableConcept", "vaccineCode", "type")
_TIMES: Final = (
    "effectiveDateTime",
    "effectiveInstant",
    "performedDateTime",
    "onsetDateTime",
    "authoredOn",
    "recordedDate",
)
_Entries = msgspec.json.Decoder(list[msgspec.Raw])
_observation = msgspec.json.Decoder(Observation)
_concept = msgspec.json.Decoder(CodeableConcept)
_fields = msgspec.json.Decoder(dict[str, msgspec.Raw])
_text = msgspec.json.Decoder(str)


class NotUsed(NamedTuple):
    """One kind of input that was not used.

    Attributes:
        what: What it was, when, and what was sent: 'Potassium, 18:00 on 11 March: "Haemolysed"'; of
            several the first, with how many more; empty where the body does not say.
        text: Why it was not used.
        place: Where it stands in the request.
    """

    what: str
    text: str
    place: str
    times: int


def not_used(issues: Iterable[Same], body: bytes, clock: Clock) -> tuple[NotUsed, ...]:
    """Name what could not be used.

    Args:
        issues: What could not be used, put together by what is said of it.
        body: The Bundle, or Parameters around one, or NDJSON.
        clock: How moments are said.
    """
    told = tuple(issues)
    entries = _entries(body) if any(one.paths for one in told) else ()
    return tuple(
        NotUsed(_what(one, entries, clock) if n < MOST else "", one.text, one.place, one.times)
        for n, one in enumerate(told)
    )


def _what(one: Same, entries: "list[msgspec.Raw] | tuple[()]", clock: Clock) -> str:
    found = _ENTRY.search(one.paths[0]) if one.paths else None
    if found is None or int(found[1]) >= len(entries):
        return ""
    try:
        said = _named(_fields.decode(entries[int(found[1])])["resource"], clock)
    except (msgspec.MsgspecError, KeyError, ValueError):
        return ""
    more = len(one.paths) - 1
    return f"{said}, and {more} more" if said and more else said


def _entries(body: bytes) -> "list[msgspec.Raw] | tuple[()]":
    """Return the entries of the Bundle, still undecoded; none where there is no Bundle."""
    try:
        fields = _fields.decode(body)
        if "parameter" in fields:
            inside = (_fields.decode(one) for one in _Entries.decode(fields["parameter"]))
            fields = _fields.decode(next(one["resource"] for one in inside if "resource" in one))
        return _Entries.decode(fields["entry"])
    except (msgspec.MsgspecError, KeyError, StopIteration):
        return ()


def _named(resource: msgspec.Raw, clock: Clock) -> str:
    fields = _fields.decode(resource)
    name = next((_words(fields[key]) for key in _NAMES if key in fields), "")
    if not name:
        return ""
    when = next((_when(_text.decode(fields[key]), clock) for key in _TIMES if key in fields), "")
    is_measured = _text.decode(fields["resourceType"]) == "Observation"
    sent = shown_value(_observation.decode(resource)) if is_measured else ""
    return f"{', '.join(filter(None, (name, when)))}{f': {sent}' if sent else ''}"


def _words(raw: Any) -> str:
    concept = _concept.decode(raw)
    displays = [one.display for one in concept.coding if one.display]
    # What stands in square brackets is how it was measured.
    return one_line((concept.text or min(displays, default=""))[:LONGEST]).partition(" [")[0]


def _when(text: str, clock: Clock) -> str:
    when = read_when(text[:LONGEST])
    if when is None or not when.has_day:
        return one_line(text[:10])
    return clock.full(when.at) if when.is_instant else clock.day(when.at)
