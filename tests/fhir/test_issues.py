"""Issues that say the same are one issue that counts its places; common practice, no source."""

import re
from pathlib import Path

import weatherglass
from tests.records import bundle, observation, quantity, text
from weatherglass.fhir.issues import _ROWS, Issue, IssueKey, Severity, grouped
from weatherglass.fhir.writing.frame.terms import Terms
from weatherglass.fhir.writing.outcome import write_outcome
from weatherglass.pipeline import review
from weatherglass.stamp import stamp


def _issue(path: str, what: str = "Not a unit.", patient: str = "Patient/p") -> Issue:
    return Issue(Severity.WARNING, IssueKey.UNIT_UNKNOWN, path, what, patient)


def test_equal_issues_are_one_with_every_place() -> None:
    found = grouped([_issue("a"), _issue("b", "Another."), _issue("c"), _issue("d")])
    assert [(each.times, each.paths) for each in found] == [(3, ("a", "c", "d")), (1, ("b",))]
    assert found[0].line == "a and 2 more places: Not a unit. (3 times)"
    assert found[1].line == "b: Another."
    assert grouped([_issue("")])[0].line == "Not a unit."


def test_what_is_about_two_patients_stays_two() -> None:
    assert len(grouped([_issue("a"), _issue("b", patient="Patient/q")])) == 2


def test_an_outcome_names_fifty_places_and_counts_all() -> None:
    written = write_outcome([_issue(f"Bundle.entry[{n}]") for n in range(300)], Terms(stamp().code_base))
    (only,) = written["issue"]
    assert len(only["expression"]) == 50
    assert "(300 times)" in only["diagnostics"]


def test_an_answer_does_not_grow_with_what_was_not_used() -> None:
    patient = {"resourceType": "Patient", "id": "p"}
    volume = quantity("20", "mL")  # No rate.
    many = [observation(f"o{number}", "9192-6", valueQuantity=volume) for number in range(400)]
    answer = review(text(bundle(patient, *many)))
    assert sum(issue.key is IssueKey.UNIT_UNKNOWN for issue in answer.issues) == 400
    assert len(answer.collection(stamp())) < 60_000


#: A name is given as it is, or is one of two.
_SAID = re.compile(r'\b(?:say|named_issue)\(\s*"([a-z0-9-]+)"[,)]')


def test_every_sentence_is_said_and_every_name_has_one() -> None:
    """The names of `knowledge/issues.csv` are those that the code gives."""
    service = Path(weatherglass.__file__).parent
    paths = [service / "pipeline.py", *(service / "fhir").rglob("*.py"), *(service / "api").rglob("*.py")]
    code = "\n".join(path.read_text("utf-8") for path in [*paths, service / "batch" / "reviewing.py"])
    assert set(_SAID.findall(code)) <= _ROWS.keys()
    assert [name for name in _ROWS if f'"{name}"' not in code] == []
