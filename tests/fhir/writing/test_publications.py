"""What an answer says, it says once; a publication is told in full once for a patient.

Our choice: the same citations stood up to eight times in one answer, and half of its bytes were said twice.
"""

import html
import json
import re
import tomllib
from collections.abc import Iterator
from itertools import chain
from pathlib import Path
from typing import Any

import pytest

from weatherglass.fhir.writing.frame.detail import Detail, Stamp
from weatherglass.fhir.writing.provenance import write_device
from weatherglass.knowledge import data_files
from weatherglass.model.findings import is_pressing
from weatherglass.pipeline import review

_RECORDS = sorted(Path("fixtures/bundles").glob("*.json"))[:13]
_OF_NOBODY = ("Device", "OperationOutcome")
_SOURCE, _PUBLICATION = (f"urn:weatherglass:extension:{name}" for name in ("source", "publication"))


def _answer(path: Path, detail: Detail) -> list[dict[str, Any]]:
    written = json.loads(review(path.read_bytes()).collection(Stamp(software="1"), detail=detail))
    return [entry["resource"] for entry in written["entry"]]


def _extended(resource: dict[str, Any], url: str) -> list[str]:
    return [each["valueString"] for each in resource.get("extension", []) if each["url"] == url]


@pytest.mark.parametrize("detail", Detail)
@pytest.mark.parametrize("path", _RECORDS, ids=lambda path: path.stem)
def test_every_place_leads_to_its_publication(path: Path, detail: Detail) -> None:
    resources = _answer(path, detail)
    (provenance,) = (one for one in resources if one["resourceType"] == "Provenance")
    told = [each.split(": ", 1) for each in _extended(provenance, _PUBLICATION)]
    keys = [key for key, _ in told]
    places = list(chain.from_iterable(_extended(one, _SOURCE) for one in resources))
    assert places
    assert {place.split(": ", 1)[0] for place in places} <= set(keys)
    assert len(keys) == len(set(keys))
    assert all(len(citation) > len("Common practice") for _, citation in told)


@pytest.mark.parametrize("path", _RECORDS, ids=lambda path: path.stem)
def test_a_citation_stands_nowhere_else(path: Path) -> None:
    resources = _answer(path, Detail.FULL)
    others = json.dumps([one for one in resources if one["resourceType"] != "Provenance"], ensure_ascii=False)
    table = tomllib.loads((Path(data_files.__file__).parent / "publications.toml").read_text("utf-8"))
    citations = [one["citation"] if isinstance(one, dict) else one for one in table.values()]
    assert len(citations) > 100
    assert not [each for each in citations if json.dumps(each, ensure_ascii=False)[1:-1] in others]


@pytest.mark.parametrize("path", _RECORDS[:4], ids=lambda path: path.stem)
def test_a_reader_of_one_result_sees_its_publications_and_how_they_were_checked(path: Path) -> None:
    cited = [(one, place) for one in _answer(path, Detail.FULL) for place in _extended(one, _SOURCE)]
    assert cited
    for one, place in cited:
        key, mark = place.split(": ", 1)[0], place.rsplit(" (", 1)[1]
        assert f"{key} ({mark}" in one["text"]["div"]


@pytest.mark.parametrize("path", _RECORDS, ids=lambda path: path.stem)
def test_a_brief_narrative_is_the_sentence_and_what_it_leaves_out_stands_beside_it(path: Path) -> None:
    """Our choice: whoever asks for brief reads fields; every note, place and input stays in one."""
    full = {one["identifier"][0]["value"]: one for one in _answer(path, Detail.FULL) if "identifier" in one}
    summary, *told = (one for one in _answer(path, Detail.BRIEF) if one["resourceType"] == "Observation")
    assert "text" not in summary  # Its sentence is its value.
    assert told
    for one in told:
        whole = full[one["identifier"][0]["value"]]
        div = one["text"]["div"]
        assert div.count("<p>") == 1
        assert "<li>" not in div
        assert div.removesuffix("</div>") in whole["text"]["div"]
        kept = [key for key in whole if key not in ("text", "extension", "component")]
        assert {key: one[key] for key in kept} == {key: whole[key] for key in kept}
        assert _extended(one, _SOURCE) == _extended(whole, _SOURCE)


@pytest.mark.parametrize("detail", Detail)
@pytest.mark.parametrize("path", _RECORDS, ids=lambda path: path.stem)
def test_a_publication_stands_once_in_a_result_for_each_way_it_was_checked(
    path: Path, detail: Detail
) -> None:
    for one in _answer(path, detail):
        checked = [(each.split(": ", 1)[0], each.rsplit(" (", 1)[1]) for each in _extended(one, _SOURCE)]
        assert len(checked) == len(set(checked))


def test_places_that_were_checked_alike_stand_behind_one_key() -> None:
    """Every place of every source of a finding is still there, under its own key and mark."""
    (reviewed,) = review(_RECORDS[0].read_bytes()).reviews
    named = {
        one["identifier"][0]["value"]: one for one in _answer(_RECORDS[0], Detail.FULL) if "status" in one
    }
    said = {each for one in named.values() for each in _extended(one, _SOURCE)}
    for source in chain.from_iterable(finding.sources for finding in reviewed.findings):
        alike = [
            one for one in said if one.startswith(f"{source.key}: ") and one.endswith(f"({source.mark})")
        ]
        assert any(source.locator in one for one in alike)
    assert any("; " in one for one in said)


@pytest.mark.parametrize("detail", Detail)
@pytest.mark.parametrize("path", _RECORDS, ids=lambda path: path.stem)
def test_every_input_of_the_review_is_named_once_by_a_result_or_by_the_provenance(
    path: Path, detail: Detail
) -> None:
    (reviewed,) = review(path.read_bytes()).reviews
    *results, provenance = (one for one in _answer(path, detail) if one["resourceType"] not in _OF_NOBODY)
    entities = [each["what"]["reference"] for each in provenance.get("entity", [])]
    by_results = {each["reference"] for one in results for each in _references(one)}
    assert not by_results & set(entities)
    assert len(entities) == len(set(entities))
    pressing = [one for one in reviewed.findings if detail is not Detail.BRIEF or is_pressing(one)]
    inputs = {str(origin) for finding in pressing for origin in finding.evidence}
    assert inputs <= by_results | set(entities)


@pytest.mark.parametrize("path", _RECORDS, ids=lambda path: path.stem)
def test_words_stand_once_in_a_concept_a_quantity_and_a_proposal(path: Path) -> None:
    for concept in _objects(_answer(path, Detail.HISTORY)):
        for coding in concept.get("coding", ()):
            assert coding.get("display", "") != concept.get("text")
        if concept.get("system") == "http://unitsofmeasure.org":
            assert concept.get("unit") not in {concept["code"].strip("{}")} - {concept["code"]}
        notes = [note["text"] for note in concept.get("note", ()) if isinstance(note, dict)]
        assert concept.get("description") not in notes
        narrated = re.findall("<li>(.*?)</li>", concept.get("text", {}).get("div", "")) if notes else ()
        assert not set(narrated) & {html.escape(note) for note in notes}


def test_the_rule_sets_stand_in_one_version() -> None:
    """Each with the digest of its content, as the contract asks; their frames were half of the Device."""
    _, device = write_device("1", {"news2-2017": "0123456789ab", "crises": "ba9876543210"})
    assert device["version"] == [
        {"type": {"text": "software"}, "value": "1"},
        {"type": {"text": "rule sets"}, "value": "crises ba9876543210, news2-2017 0123456789ab"},
    ]


def _references(value: Any) -> list[dict[str, Any]]:
    return [
        one for one in _objects(value) if isinstance(one.get("reference"), str) and "resourceType" not in one
    ]


def _objects(value: Any) -> Iterator[dict[str, Any]]:
    if isinstance(value, dict):
        yield value
        for each in value.values():
            yield from _objects(each)
    elif isinstance(value, list):
        for each in value:
            yield from _objects(each)


def test_each_patient_has_the_publications_of_its_own_results() -> None:
    """So that one patient's results can be kept, sent on and read without those of another."""
    two = [json.loads(path.read_text("utf-8")) for path in _RECORDS[:2]]
    both = {
        "resourceType": "Bundle",
        "type": "collection",
        "entry": [entry for one in two for entry in one["entry"]],
    }
    written = json.loads(review(json.dumps(both).encode()).collection(Stamp(software="1")))
    found = [e["resource"] for e in written["entry"] if e["resource"]["resourceType"] == "Provenance"]
    assert len(found) == 2
    for provenance in found:
        targets = {target["reference"] for target in provenance["target"]}
        own = [e["resource"] for e in written["entry"] if e["fullUrl"] in targets]
        keys = {each.split(": ")[0] for each in _extended(provenance, _PUBLICATION)}
        assert keys >= {place.split(": ")[0] for one in own for place in _extended(one, _SOURCE)}


def test_a_label_on_one_device_is_on_no_other() -> None:
    """The software is written down once and kept; what a patient's inputs are labelled with is not."""
    uuid, device = write_device("1", {"news2-2017": "0123456789ab"})
    device["meta"] = {"security": [{"code": "R"}]}
    again = write_device("1", {"news2-2017": "0123456789ab"})
    assert again[0] == uuid
    assert "meta" not in again[1]
