"""People who were entered twice. HL7 FHIR R4, Patient.link: replaced-by, replaces, refer, seealso."""

import pytest

from tests.records import Json, answer_of, full_set, observation, quantity, reading_of, score_in
from weatherglass.fhir.issues import IssueKey, Severity
from weatherglass.pipeline import Answer


def _person(identity: str, **rest: object) -> Json:
    return {"resourceType": "Patient", "id": identity, "birthDate": "1950-06-01", **rest}


def _link(kind: str, other: str) -> list[Json]:
    return [{"type": kind, "other": {"reference": f"Patient/{other}"}}]


def _of(identity: str, name: str = "k") -> Json:
    one = observation(name, "2823-3", valueQuantity=quantity("7.1", "mmol/L"))
    return {**one, "subject": {"reference": f"Patient/{identity}"}}


def _split(*people: Json) -> Answer:
    """One set of observations, every other one under the entry that was replaced."""
    signs = full_set()
    for place, sign in enumerate(signs):
        sign["subject"] = {"reference": f"Patient/{'old' if place % 2 else 'p'}"}
    return answer_of(*people, *signs)


class TestJoined:
    """The entry that stands is in the request: one person."""

    @pytest.mark.parametrize("turn", [1, -1])
    @pytest.mark.parametrize(
        "people",
        [
            [_person("old", active=False, link=_link("replaced-by", "p")), _person("p")],
            [_person("old", active=False), _person("p", link=_link("replaces", "old"))],
            [_person("p", link=_link("replaces", "old"))],
        ],
    )
    def test_a_set_that_is_split_over_both_is_one_set(self, people: list[Json], turn: int) -> None:
        answer = _split(*people[::turn])
        assert len(answer.reviews) == 1
        assert score_in(answer).total == 0  # Nothing is missing.
        assert [(i.key, i.severity) for i in answer.issues] == [
            (IssueKey.SEVERAL_PATIENTS, Severity.INFORMATION)
        ]

    def test_a_chain_ends_at_the_last(self) -> None:
        reading = reading_of(
            _person("a", link=_link("replaced-by", "b")),
            _person("b", link=_link("replaced-by", "c")),
            _person("c"),
            _of("a"),
        )
        ((key, record),) = reading.records
        assert key == "Patient/c"
        assert record.numbers


class TestApart:
    """It is not, or nothing certain is said."""

    def test_a_replaced_entry_alone_is_said(self) -> None:
        reading = reading_of(_person("old", link=_link("replaced-by", "p9")), _of("old"))
        ((_, record),) = reading.records
        assert record.subject.replaced_by == "Patient/p9"
        assert [(i.key, i.severity) for i in reading.issues] == [
            (IssueKey.SEVERAL_PATIENTS, Severity.WARNING)
        ]

    @pytest.mark.parametrize("kind", ["seealso", "refer"])
    def test_entries_that_only_refer_to_each_other_are_two(self, kind: str) -> None:
        reading = reading_of(_person("a", link=_link(kind, "b")), _person("b"), _of("a"), _of("b", "k2"))
        assert [key for key, _ in reading.records] == ["Patient/a", "Patient/b"]
        assert not reading.issues

    @pytest.mark.parametrize("turn", [1, -1])
    def test_one_number_on_two_entries_is_said_of_both(self, turn: int) -> None:
        """As two servers send one person. A number without a system is nobody's, and another is another."""
        number = {"system": "https://hospital.example/numbers", "value": "4471"}
        one, other = _person("a", identifier=[number]), _person("b", identifier=[number])
        apart = _person("c", identifier=[{**number, "value": "4472"}, {"value": "4471"}])
        reading = reading_of(*[one, other, apart][::turn], _of("a"), _of("b"), _of("c"))
        said = [i for i in reading.issues if i.key is IssueKey.SEVERAL_PATIENTS]
        assert sorted(i.patient for i in said) == ["Patient/a", "Patient/b"]
        assert all(i.severity is Severity.WARNING and "4471" not in i.text for i in said)
        assert [key for key, _ in reading.records] == ["Patient/a", "Patient/b", "Patient/c"]

    def test_one_number_on_entries_that_are_joined_is_no_doubt(self) -> None:
        number = {"system": "https://hospital.example/numbers", "value": "4471"}
        old = _person("a", identifier=[number], link=_link("replaced-by", "b"))
        reading = reading_of(old, _person("b", identifier=[number]), _of("a"), _of("b"))
        assert not any("same number" in issue.text for issue in reading.issues)

    def test_a_circle_joins_nobody(self) -> None:
        reading = reading_of(
            _person("a", link=_link("replaced-by", "b")),
            _person("b", link=_link("replaced-by", "a")),
            _of("a"),
        )
        assert [key for key, _ in reading.records] == ["Patient/a", "Patient/b"]
        assert {i.severity for i in reading.issues} == {Severity.WARNING}

    def test_an_entry_out_of_use_is_said(self) -> None:
        reading = reading_of(_person("old", active=False), _of("old"))
        assert reading.records[0][1].subject.inactive
        assert [i.path for i in reading.issues] == ["Bundle.entry[0].resource.active"]

    def test_a_link_that_cannot_be_read_joins_nobody(self) -> None:
        reading = reading_of(_person("old", link="p9"), _of("old"))
        assert not reading.records[0][1].subject.replaced_by
