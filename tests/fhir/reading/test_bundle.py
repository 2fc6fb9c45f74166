"""Bundles of any type, references of every style, and faults that take nothing else with them."""

import json
from typing import Any

import pytest

from tests.records import bundle, full_set, keys_of, measured, patient, reading_of, score_in, text
from weatherglass.fhir.issues import IssueKey, UnreadableError
from weatherglass.fhir.reading.bundle import read_bytes, read_lines
from weatherglass.model.signals import Signal
from weatherglass.pipeline import review


@pytest.mark.parametrize(
    "kind", ["collection", "searchset", "transaction", "batch", "history", "document", "message"]
)
def test_every_type_of_bundle_is_a_container(kind: str) -> None:
    answer = review(text(bundle(patient(), *full_set(), kind=kind)))
    assert score_in(answer).total == 0


def test_a_bare_resource() -> None:
    answer = review(text(measured("hr", "pulse", "80", "/min")))
    assert score_in(answer).lowest == 0


def test_a_bundle_inside_a_bundle() -> None:
    inner = bundle(*full_set())
    outer = {"resourceType": "Bundle", "type": "batch-response", "entry": [{"resource": inner}]}
    outer["entry"].append({"resource": patient()})  # type: ignore[attr-defined]
    assert score_in(review(text(outer))).total == 0


def test_a_deleted_entry_is_not_data() -> None:
    history = bundle(patient(), measured("hr", "pulse", "80", "/min"), kind="history")
    history["entry"][1]["request"] = {"method": "DELETE", "url": "Observation/hr"}
    reading = read_bytes(text(history))
    assert IssueKey.DELETED in {i.key for i in reading.issues}


def test_a_further_page_is_said() -> None:
    page = bundle(patient(), measured("hr", "pulse", "80", "/min"), kind="searchset")
    page["link"] = [{"relation": "next", "url": "https://ward.example/fhir?page=2"}]
    assert IssueKey.INCOMPLETE_BUNDLE in {i.key for i in read_bytes(text(page)).issues}


def test_lines_in_any_order() -> None:
    lines = [text(resource) for resource in reversed([patient(), *full_set()])]
    from weatherglass.pipeline import review_lines

    assert score_in(review_lines([b"", *lines, b"  "])).total == 0


class TestReferences:
    """HL7 FHIR R4, bundle.html, resolving references: the styles that senders use."""

    @pytest.mark.parametrize(
        ("subject", "full_url"),
        [
            ("Patient/p", "https://ward.example/fhir/Patient/p"),
            ("https://ward.example/fhir/Patient/p", "https://ward.example/fhir/Patient/p"),
            (
                "urn:uuid:5a4f1c3e-6f0e-4f6e-8a0e-0a2f6a1d9c11",
                "urn:uuid:5a4f1c3e-6f0e-4f6e-8a0e-0a2f6a1d9c11",
            ),
            ("Patient/p", "Patient/p"),
            ("Patient/p", None),
            ("Patient/p/_history/3", "https://ward.example/fhir/Patient/p"),
        ],
    )
    def test_the_patient_is_found(self, subject: str, full_url: str | None) -> None:
        resources = full_set()
        for one in resources:
            one["subject"] = {"reference": subject}
        whole = bundle(patient(born="2020-01-01"), *resources)
        if full_url is None:
            del whole["entry"][0]["fullUrl"]
        else:
            whole["entry"][0]["fullUrl"] = full_url
        answer = review(text(whole))
        assert len(answer.reviews) == 1
        # The age is known only when the reference was resolved.
        assert score_in(answer).not_applicable

    def test_by_identifier_when_only_one_has_it(self) -> None:
        named = {"system": "urn:ward:number", "value": "7"}
        resources = full_set()
        for one in resources:
            one["subject"] = {"identifier": named}
        answer = review(text(bundle(patient(identifier=[named]), *resources)))
        assert score_in(answer).total == 0

    def test_a_subject_that_is_not_a_patient(self) -> None:
        one = measured("hr", "pulse", "80", "/min", subject={"reference": "Group/g"})
        reading = reading_of(patient(), one)
        assert {i.key for i in reading.issues} == {IssueKey.NOT_THE_PATIENT}

    def test_two_patients_are_two_reviews(self) -> None:
        other = measured("hr2", "pulse", "140", "/min", subject={"reference": "Patient/q"})
        answer = review(text(bundle(patient(), *full_set(), other)))
        assert [r.subject.origin for r in answer.reviews] == ["Patient/p", "Patient/q"]


_FAULTS: list[Any] = [
    pytest.param(lambda o: o.update(status=7), ".status", id="status-a-number"),
    pytest.param(lambda o: o["valueQuantity"].update(value=False), ".valueQuantity.value", id="value-false"),
    pytest.param(
        lambda o: o["valueQuantity"].update(value="80"), ".valueQuantity.value", id="value-a-string"
    ),
    pytest.param(lambda o: o["valueQuantity"].update(value=[80]), ".valueQuantity.value", id="value-a-list"),
    pytest.param(lambda o: o.pop("status"), "", id="no-status"),
    pytest.param(lambda o: o.update(code="8867-4"), ".code", id="code-a-string"),
    pytest.param(lambda o: o.update(component={}), ".component", id="component-an-object"),
    pytest.param(lambda o: o.update(effectiveDateTime=20260301), ".effectiveDateTime", id="time-a-number"),
    pytest.param(lambda o: o.update(resourceType="observation"), "", id="unknown-type"),
]


@pytest.mark.parametrize(("spoil", "place"), _FAULTS)
def test_one_bad_resource_is_named_and_takes_nothing_with_it(spoil: Any, place: str) -> None:
    bad = measured("bad", "pulse", "200", "/min")
    spoil(bad)
    whole = bundle(patient(), *full_set())
    whole["entry"].insert(3, {"resource": bad})
    answer = review(text(whole))
    assert score_in(answer).total == 0
    assert any(i.path.startswith(f"Bundle.entry[3].resource{place}") for i in answer.issues)


@pytest.mark.parametrize(("spoil", "place"), [f for f in _FAULTS if f.id != "unknown-type"])
def test_a_request_with_nothing_usable_is_refused(spoil: Any, place: str) -> None:
    bad = measured("bad", "pulse", "200", "/min")
    spoil(bad)
    with pytest.raises(UnreadableError) as caught:
        review(text(bundle(patient(), bad)))
    assert caught.value.issues[0].path.startswith(f"Bundle.entry[1].resource{place}")


class TestBrokenJson:
    """Not JSON at all: the place is named, the content is not."""

    _GOOD = text(bundle(patient(), *full_set())).decode()

    @pytest.mark.parametrize(
        ("body", "key", "place"),
        [
            pytest.param("", IssueKey.NOT_JSON, "", id="empty"),
            pytest.param("hello", IssueKey.NOT_JSON, "", id="words"),
            pytest.param(_GOOD[:-40], IssueKey.NOT_JSON, "Bundle.entry", id="cut-short"),
            pytest.param(
                _GOOD.replace('"value":75', '"value":NaN'),
                IssueKey.NOT_JSON,
                "Bundle.entry[5].resource.valueQuantity.value",
                id="nan",
            ),
            pytest.param(
                _GOOD.replace('"value":75', '"value":075'),
                IssueKey.NOT_JSON,
                "Bundle.entry[5]",
                id="leading-zero",
            ),
            pytest.param("[" * 1000 + "]" * 1000, IssueKey.WRONG_RESOURCE, "", id="deep-list"),
            pytest.param('{"a":' * 50_000 + "1" + "}" * 50_000, IssueKey.TOO_DEEP, "", id="deep-object"),
            pytest.param(
                '{"resourceType":"Bundle","entry":[{"resource":'
                + '{"a":' * 100_000
                + "1"
                + "}" * 100_000
                + "}]}",
                IssueKey.TOO_DEEP,
                "",
                id="very-deep",
            ),
            pytest.param('{"type":"collection"}', IssueKey.WRONG_RESOURCE, "", id="no-type"),
            pytest.param(
                '{"resourceType":"Bundle","type":"collection","entry":[1]}',
                IssueKey.WRONG_TYPE,
                "Bundle.entry[0]",
                id="entry-a-number",
            ),
            pytest.param(
                '{"resourceType":"Bundle","entry":[],"entry":[]}',
                IssueKey.DUPLICATE_KEY,
                "Bundle.entry",
                id="entry-twice",
            ),
        ],
    )
    def test_is_refused_with_its_place(self, body: str, key: IssueKey, place: str) -> None:
        with pytest.raises(UnreadableError) as caught:
            review(body.encode())
        issue = caught.value.issues[0]
        assert issue.key is key
        assert issue.path.startswith(place)

    def test_a_byte_that_is_not_utf8(self) -> None:
        with pytest.raises(UnreadableError) as caught:
            review(self._GOOD.encode().replace(b'"Patient"', b'"Pat\xff"'))
        assert caught.value.issues

    @pytest.mark.parametrize(
        "element",
        [
            '"status":"final"',
            '"effectiveDateTime":"2026-03-01T10:00:00+04:00"',
            '"value":75',
            '"unit":"/min"',
            '"subject":{"reference":"Patient/p"}',
            '"code":"8867-4"',
        ],
    )
    def test_an_element_that_stands_twice(self, element: str) -> None:
        """Which of two values counts is not certain, so neither does."""
        one = text(measured("hr", "pulse", "75", "/min")).decode()
        assert element in one
        doubled = one.replace(element, f"{element},{element}", 1)
        whole = text(bundle(patient(), *full_set(pulse=None))).decode()
        body = whole[:-2] + ',{"resource":' + doubled + "}]}"
        answer = review(body.encode())
        assert IssueKey.DUPLICATE_KEY in keys_of(answer)
        assert [gap.key for gap in score_in(answer).missing] == ["pulse"]

    def test_two_lists_that_begin_alike(self) -> None:
        """The decoder keeps the last list; that both begin with the same resource hides nothing."""
        person = text(patient()).decode()
        lost, kept = (text(measured("hr", "pulse", value, "/min")).decode() for value in ("75", "131"))
        lists = [f'"entry":[{{"resource":{person}}},{{"resource":{one}}}]' for one in (lost, kept)]
        with pytest.raises(UnreadableError) as caught:
            review(f'{{"resourceType":"Bundle","type":"collection",{",".join(lists)}}}'.encode())
        assert caught.value.issues[0].key is IssueKey.DUPLICATE_KEY

    def test_a_number_of_5000_digits(self) -> None:
        body = self._GOOD.replace('"value":75', '"value":' + "7" * 5000)
        answer = review(body.encode())
        assert IssueKey.NUMBER_TOO_LONG in keys_of(answer)
        assert [gap.key for gap in score_in(answer).missing] == ["pulse"]


def test_a_bad_line_is_named_by_its_number() -> None:
    lines = [text(patient()), b'{"resourceType":"Observation",', *map(text, full_set())]
    reading = read_lines(lines)
    assert reading.records[0][1].series(Signal.PULSE).items
    assert [i.path.partition(".")[0] for i in reading.issues if i.key is IssueKey.NOT_JSON] == ["line 2"]


def test_issues_carry_no_value_of_the_input() -> None:
    """A planted marker in every string never comes back in an issue."""
    marker = "Zanzibar-Quill"
    bad = measured("hr", "pulse", "80", "/min", status=marker, note=[{"text": marker}])
    other = measured("o", "pulse", "80", marker, subject={"reference": "Patient/p", "display": marker})
    good = measured("rr", "respiration-rate", "16", "/min")
    reading = reading_of(patient(name=[{"text": marker}]), bad, other, good)
    assert reading.issues
    assert marker not in json.dumps([(i.path, i.text) for i in reading.issues])
