"""One entry that is not JSON takes nothing else with it (RFC 8259 says what JSON is)."""

import json
from collections.abc import Callable

import pytest

from weatherglass.fhir.issues import IssueKey, UnreadableError
from weatherglass.fhir.reading.bundle import read_bytes
from weatherglass.fhir.reading.salvage import cut_out, take_apart

GOOD = json.dumps(
    {
        "resourceType": "Observation",
        "id": "rr",
        "status": "final",
        "code": {"coding": [{"system": "http://loinc.org", "code": "9279-1"}]},
        "subject": {"reference": "Patient/p"},
        "effectiveDateTime": "2026-03-12T06:00:00Z",
        "valueQuantity": {"value": 18, "system": "http://unitsofmeasure.org", "code": "/min"},
    }
).encode()
BAD: list[tuple[str, Callable[[bytes], bytes], IssueKey, str]] = [
    ("nan", lambda b: b.replace(b"18", b"NaN"), IssueKey.NOT_JSON, ".valueQuantity.value"),
    ("minus-infinity", lambda b: b.replace(b"18", b"-Infinity"), IssueKey.NOT_JSON, ".valueQuantity.value"),
    ("not-utf-8", lambda b: b.replace(b"final", b"fin\xffal"), IssueKey.NOT_JSON, ""),
    ("half-a-character", lambda b: b.replace(b"final", rb"fin\ud800al"), IssueKey.NOT_JSON, ""),
    (
        "a-thousand-brackets",
        lambda b: b.replace(b'"id"', b'"contained": ' + b"[" * 1000 + b"]" * 1000 + b', "id"'),
        IssueKey.TOO_DEEP,
        "",
    ),
]


def _bundle(*entries: bytes) -> bytes:
    listed = b", ".join(b'{"resource": ' + entry + b"}" for entry in entries)
    return b'{"resourceType": "Bundle", "type": "collection", "entry": [' + listed + b"]}"


@pytest.mark.parametrize(("spoil", "key", "place"), [pytest.param(*bad, id=n) for n, *bad in BAD])
def test_good_entries_are_kept(spoil: Callable[[bytes], bytes], key: IssueKey, place: str) -> None:
    """The spoilt entry is an issue at its place, and the one beside it is read."""
    reading = read_bytes(_bundle(spoil(GOOD), GOOD))
    assert [(i.key, i.path) for i in reading.issues] == [(key, f"Bundle.entry[0].resource{place}")]
    ((_, record),) = reading.records
    assert len(record.numbers) == 1


@pytest.mark.parametrize(("spoil", "key", "place"), [pytest.param(*bad, id=n) for n, *bad in BAD])
def test_nothing_else_in_the_bundle(spoil: Callable[[bytes], bytes], key: IssueKey, place: str) -> None:
    """With nothing usable beside it the request as a whole is refused, and the place is named."""
    with pytest.raises(UnreadableError) as refused:
        read_bytes(_bundle(spoil(GOOD)))
    assert [(i.key, i.path) for i in refused.value.issues] == [(key, f"Bundle.entry[0].resource{place}")]


def test_wrong_type_beside_the_resource() -> None:
    """An entry whose address is a number is an issue of that entry alone."""
    odd = (
        b'{"resourceType": "Bundle", "entry": [{"fullUrl": 5, "resource": {}}, {"resource": ' + GOOD + b"}]}"
    )
    reading = read_bytes(odd)
    assert [(i.key, i.path) for i in reading.issues] == [(IssueKey.WRONG_TYPE, "Bundle.entry[0].fullUrl")]
    assert len(reading.records) == 1


@pytest.mark.parametrize(
    "body",
    [
        pytest.param(_bundle(GOOD)[:-1], id="cut-off"),
        pytest.param(_bundle(GOOD) + b"}", id="one-bracket-more"),
        pytest.param(_bundle(GOOD).replace(b"]}", b"}]"), id="brackets-crossed"),
    ],
)
def test_brackets_that_do_not_pair_up(body: bytes) -> None:
    """Where an entry ends cannot be known, so nothing is guessed."""
    assert take_apart(body, "entry") is None
    with pytest.raises(UnreadableError):
        read_bytes(body)


def test_brackets_inside_strings_do_not_count() -> None:
    """Strings are taken whole, escaped quotes included."""
    parts = take_apart(rb'{"entry": [{"a": "}]\" {["}, {"b": 1}], "id": "entry"}', "entry")
    assert parts is not None
    assert parts.elements == (rb'{"a": "}]\" {["}', b'{"b": 1}')
    assert json.loads(parts.shell) == {"entry": [], "id": "entry"}
    assert cut_out(b'{"resource": 1}', "resource") is None
