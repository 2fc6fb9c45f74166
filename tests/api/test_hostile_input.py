"""What no sender should send: always an answer, never a 500, and nothing else lost.

What JSON is: RFC 8259. What an element may hold: FHIR R4 `json.html` and `datatypes.html`.
"""

import json
import re
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from starlette.testclient import TestClient

from tests.api.answers import GOOD, HANDOVER, REVIEW, code_of, issue, parameters, resources, scores
from tests.conformance.narrative_rules import narratives_are_safe

#: Deeper than any Python follows: 3.11 ends near 1,000, later ones near 10,000.
_DEEP = "[" * 50_000 + "]" * 50_000
#: Name, the bad Observation, our code, where in the Observation.
BAD = [
    pytest.param(GOOD.replace("75", "false"), "wrong-type", ".valueQuantity.value", id="value-false"),
    pytest.param(GOOD.replace("75", '"75"'), "wrong-type", ".valueQuantity.value", id="value-a-string"),
    pytest.param(GOOD.replace("75", "9" * 5000), "number-too-long", ".valueQuantity.value", id="5000-digits"),
    pytest.param(
        GOOD.replace("75", "1e999999999"), "implausible", ".valueQuantity.value", id="huge-exponent"
    ),
    pytest.param(
        GOOD.replace('"value": 75', '"value": 75, "value": 76'), "duplicate-key", ".value", id="value-twice"
    ),
    pytest.param(
        GOOD.replace('"status"', '"status": "final", "status"'), "duplicate-key", ".status", id="status-twice"
    ),
    pytest.param(GOOD.replace('"id"', f'"contained": {_DEEP}, "id"'), "too-deep", "", id="deep"),
    pytest.param(GOOD.replace("Observation", "observation"), "wrong-resource", "", id="not-a-resource"),
]
#: What makes the body as a whole something else than JSON.
NOT_JSON = [
    pytest.param(lambda o: o.replace("75", "NaN"), ".valueQuantity.value", id="nan"),
    pytest.param(lambda o: o.replace("75", "-Infinity"), ".valueQuantity.value", id="infinity"),
    pytest.param(lambda o: o.replace("75", "075"), ".valueQuantity.value", id="leading-zero"),
    pytest.param(lambda o: o.replace('"id"', "'id'"), "", id="single-quotes"),
    pytest.param(lambda o: o[:-1], "", id="cut-off"),
]


def _bundle(*observations: str) -> str:
    return _bundle_of(", ".join(f'{{"resource": {o}}}' for o in observations))


def _bundle_of(entries: str) -> str:
    return f'{{"resourceType": "Bundle", "type": "collection", "entry": [{entries}]}}'


def _wrapped(bundle: str) -> str:
    return f'{{"resourceType": "Parameters", "parameter": [{{"name": "record", "resource": {bundle}}}]}}'


@pytest.mark.parametrize("wrap", [pytest.param(str, id="bare"), pytest.param(_wrapped, id="wrapped")])
@pytest.mark.parametrize("operation", [REVIEW, HANDOVER])
class TestBadEntry:
    @pytest.mark.parametrize(("bad", "code", "place"), BAD)
    def test_alone_it_is_refused(
        self, client: TestClient, operation: str, wrap: Any, bad: str, code: str, place: str
    ) -> None:
        """Nothing usable beside it: 400, and the place is named."""
        answer = client.post(operation, content=wrap(_bundle(bad)))
        assert answer.status_code == 400
        found = issue(answer)
        assert code_of(found) == code
        assert found["expression"] == [f"Bundle.entry[0].resource{place}"]

    @pytest.mark.parametrize(("bad", "code", "place"), BAD)
    def test_among_good_ones_it_is_an_issue(
        self, client: TestClient, operation: str, wrap: Any, bad: str, code: str, place: str
    ) -> None:
        """200, the bad one is named, and the good ones count as without it."""
        good = GOOD.replace('"hr"', '"hr-2"').replace("75", "131")
        answer = client.post(operation, content=wrap(_bundle(bad, good)))
        assert answer.status_code == 200
        told = {
            (code_of(one), tuple(one.get("expression", ())))
            for outcome in resources(answer, "OperationOutcome")
            for one in outcome["issue"]
        }
        assert (code, (f"Bundle.entry[0].resource{place}",)) in told
        without = client.post(operation, content=wrap(_bundle(good)))
        assert [s["valueQuantity"] for s in scores(answer, "score#news2")] == [
            s["valueQuantity"] for s in scores(without, "score#news2")
        ]

    @pytest.mark.parametrize(("spoil", "place"), NOT_JSON)
    def test_what_is_not_json_is_refused_whole(
        self, client: TestClient, operation: str, wrap: Any, spoil: Any, place: str
    ) -> None:
        """Where the parts of such a body end would be a guess, so none is used; the place is named."""
        for entries in ((GOOD,), (GOOD.replace('"hr"', '"hr-2"'), GOOD)):
            answer = client.post(operation, content=wrap(_bundle(*entries[:-1], spoil(entries[-1]))))
            assert answer.status_code == 400
            found = issue(answer)
            assert code_of(found) == "not-json"
            assert f"entry[{len(entries) - 1}].resource{place}" in found["expression"][0]


@pytest.mark.parametrize(
    ("body", "status", "code"),
    [
        pytest.param(b"hello", 400, "not-json", id="words"),
        pytest.param(b"[]", 400, "wrong-resource", id="array"),
        pytest.param(b"5", 400, "wrong-resource", id="number"),
        pytest.param(b"{}", 400, "wrong-resource", id="no-type"),
        pytest.param(b'{"resourceType": 5}', 400, "wrong-resource", id="type-a-number"),
        pytest.param(b'{"resourceType": "Questionnaire"}', 400, "wrong-resource", id="other-resource"),
        pytest.param(GOOD.encode(), 400, "wrong-resource", id="bare-observation"),
        pytest.param(b'{"resourceType": "Bundle", "entry": {}}', 400, "wrong-type", id="entry-an-object"),
        pytest.param(
            b'{"resourceType": "Bundle", "entry": [], "entry": []}', 400, "duplicate-key", id="entry-twice"
        ),
        pytest.param(b'{"resourceType": "Bundle", "id": "\xff"}', 400, "not-json", id="not-utf-8"),
        pytest.param(_bundle(GOOD).encode("utf-16"), 400, "not-json", id="utf-16"),
        pytest.param(b"\x00\x01\x02", 400, "not-json", id="binary"),
        pytest.param(b'{"a":' * 50_000, 400, "too-deep", id="open-brackets"),
        # So many that nobody tries to read them.
        pytest.param(b'{"a":' * 100_000, 413, "too-large", id="more-open-brackets"),
        pytest.param(
            b'{"resourceType": "Parameters", "parameter": 5}', 400, "bad-parameter", id="parameter-a-number"
        ),
        pytest.param(
            _wrapped('{"resourceType": "Patient"}').encode(), 400, "wrong-resource", id="record-a-patient"
        ),
    ],
)
@pytest.mark.parametrize("operation", [REVIEW, HANDOVER])
def test_a_body_that_is_no_request(
    client: TestClient, operation: str, body: bytes, status: int, code: str
) -> None:
    answer = client.post(operation, content=body)
    assert (answer.status_code, code_of(issue(answer))) == (status, code)


def test_a_byte_order_mark_is_forgiven(client: TestClient) -> None:
    body = _bundle(GOOD).encode()
    assert (
        client.post(REVIEW, content=b"\xef\xbb\xbf" + body).content
        == client.post(REVIEW, content=body).content
    )


_MARKUP = """</div><script>alert('1')</script><img src=x onerror="go()">&nbsp;\x00\x1b]]><!--"""


def _poison(node: Any) -> Any:
    """Put markup into every string that is no code, time, reference or address."""
    if isinstance(node, dict):
        return {key: value if key in _KEPT else _poison(value) for key, value in node.items()}
    if isinstance(node, list):
        return [_poison(item) for item in node]
    return f"{node} {_MARKUP}" if isinstance(node, str) else node


_KEPT = {
    *(
        "resourceType",
        "id",
        "reference",
        "fullUrl",
        "system",
        "code",
        "status",
        "intent",
        "type",
        "use",
        "gender",
    ),
    *("birthDate", "authoredOn", "effectiveDateTime", "start", "end", "issued", "recordedDate", "dateTime"),
    *("onsetDateTime", "performedDateTime", "date", "created", "timestamp", "method", "mode", "div", "class"),
    *("clinicalStatus", "verificationStatus", "periodUnit", "lastUpdated"),
}


@pytest.mark.parametrize("operation", [f"{REVIEW}?detail=history&members=true", HANDOVER])
def test_markup_in_any_string_stays_text(client: TestClient, ward: dict[str, bytes], operation: str) -> None:
    """FHIR R4 `narrative.html`: nothing that runs, whatever the record says in words."""
    shown = 0
    for one in ward.values():
        answer = client.post(operation, content=json.dumps(_poison(json.loads(one))))
        assert answer.status_code == 200
        document = answer.json()
        assert list(narratives_are_safe(document)) == []
        for div in re.findall(r'"div":("(?:[^"\\]|\\.)*")', answer.text):
            root = ET.fromstring(json.loads(div))  # noqa: S314 - our own output, judged above.
            assert not {e.tag.rpartition("}")[2] for e in root.iter()} & {"script", "img"}
            shown += "alert('1')" in "".join(root.itertext())
        assert "\\u0000" not in answer.text
        assert "\\u001b" not in answer.text
    assert shown > 1


def test_a_refusal_repeats_nothing_of_the_request(client: TestClient) -> None:
    """No value, name or free text of a record comes back in an error."""
    marker = "Zanzibar-Quill"
    bodies = [
        _bundle(GOOD.replace("75", f'"{marker}"')),
        f'{{"resourceType": "{marker}"}}',
        f'{{"resourceType": "Bundle", "entry": ["{marker}"',
        json.dumps(parameters(_bundle(GOOD).encode(), criteria=("valueCode", marker))),
        json.dumps(parameters(_bundle(GOOD).encode(), asOf=("valueDateTime", marker))),
        json.dumps(parameters(_bundle(GOOD).encode(), **{marker: ("valueString", marker)})),
    ]
    for body in bodies:
        for headers in ({}, {"Prefer": "handling=strict"}):
            answer = client.post(REVIEW, content=body, headers=headers)
            assert answer.status_code == 400
            assert marker not in answer.text
    assert marker not in client.post(f"{REVIEW}?detail={marker}", content=_bundle(GOOD)).text
    assert marker not in client.get(f"/fhir/{marker}").text
