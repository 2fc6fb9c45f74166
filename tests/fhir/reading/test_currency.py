"""Of several versions of one resource, the newest is read.

The rules are FHIR R4's: resource.html (id and meta: a version is newer when its
`lastUpdated` is later), bundle.html (`fullUrl` names the server; a history holds
versions of one resource), http.html (a deletion is a version). The order of the
stages of a status is ours, after the state machines of the R4 resources.
"""

import json
from itertools import permutations
from typing import Any

import pytest

from tests.records import measured, ordered, patient, reading_of, text
from weatherglass.fhir.issues import Issue, IssueKey, Severity
from weatherglass.fhir.reading.bundle import Reading, read_bytes, read_lines
from weatherglass.model.record.medicines import MedicineOrder, OrderStatus
from weatherglass.model.record.record import Record
from weatherglass.model.signals import Signal

Json = dict[str, Any]
EARLY, LATE = "2026-03-01T08:00:00Z", "2026-03-01T09:00:00Z"


def order(status: str, updated: str | None = None, version: str | None = None, **more: Any) -> Json:
    """Return an order for one medicine, always under the same id."""
    meta = {k: v for k, v in (("lastUpdated", updated), ("versionId", version)) if v is not None}
    held: Json = {"meta": meta} if meta else {}
    return ordered("gentamicin", id="m1", status=status, **held, **more)


def pulse(value: str, updated: str | None = None, status: str = "final", **more: Any) -> Json:
    """Return a pulse, always under the same id."""
    meta = {"meta": {"lastUpdated": updated}} if updated else {}
    return measured("hr", "pulse", value, "/min", status=status, **meta, **more)


def readings(*resources: Json) -> list[Reading]:
    """Read resources in every order, as a Bundle and as lines."""
    found = []
    for each in permutations([patient(), *resources]):
        found.append(reading_of(*each))
        found.append(read_lines([text(one) for one in each]))
    return found


def record(reading: Reading) -> Record:
    """Return the record of the only patient."""
    ((_, only),) = reading.records
    return only


def orders(reading: Reading) -> list[MedicineOrder]:
    """Return the orders of the only patient."""
    return list(record(reading).orders)


def pulses(reading: Reading) -> list[str]:
    """Return the pulses of the only patient."""
    series = record(reading).numbers.get(Signal.PULSE)
    return [str(one.value) for one in series.items] if series is not None else []


def told(reading: Reading) -> list[tuple[Severity, IssueKey]]:
    """Return what was said about versions."""
    about = (IssueKey.DUPLICATE, IssueKey.CONFLICT, IssueKey.DELETED)
    return [(issue.severity, issue.key) for issue in reading.issues if issue.key in about]


OLDER = [(Severity.INFORMATION, IssueKey.DUPLICATE)]
DOUBTFUL = [(Severity.WARNING, IssueKey.CONFLICT)]


class TestTheNewest:
    """`meta.lastUpdated` as an instant, then `meta.versionId` as a number."""

    @pytest.mark.parametrize("status", ["stopped", "completed"])
    def test_a_stopped_order_replaces_the_active_one(self, status: str) -> None:
        for reading in readings(order("active", EARLY), order(status, LATE)):
            assert [one.status for one in orders(reading)] == [OrderStatus.STOPPED]
            assert told(reading) == OLDER

    @pytest.mark.parametrize("status", ["cancelled", "entered-in-error"])
    def test_an_order_that_no_longer_counts_takes_the_active_one_with_it(self, status: str) -> None:
        for reading in readings(order("active", EARLY), order(status, LATE)):
            assert orders(reading) == []
            assert told(reading) == OLDER

    def test_an_order_that_was_made_active_again_is_active(self) -> None:
        for reading in readings(order("stopped", EARLY), order("active", LATE)):
            assert [one.status for one in orders(reading)] == [OrderStatus.ACTIVE]

    @pytest.mark.parametrize(
        ("older", "newer"),
        [
            pytest.param("2026-03-01T10:30:00+02:00", "2026-03-01T09:00:00Z", id="zones"),
            pytest.param("2026-03-01T23:59:59-01:00", "2026-03-02T01:00:00Z", id="midnight"),
            pytest.param("2026-03-01T09:00:00.1Z", "2026-03-01T09:00:00.11Z", id="fractions"),
            pytest.param("2026-03-01T09:00:00.999Z", "2026-03-01T10:00:01+01:00", id="second"),
        ],
    )
    def test_times_are_compared_as_instants(self, older: str, newer: str) -> None:
        for reading in readings(pulse("80", older), pulse("90", newer)):
            assert pulses(reading) == ["90"]
            assert told(reading) == OLDER

    @pytest.mark.parametrize(
        ("older", "newer"),
        [
            pytest.param((LATE, "9"), (LATE, "10"), id="numbers"),
            pytest.param((None, "9"), (None, "10"), id="no-time"),
            pytest.param((LATE, "1"), ("2026-03-01T10:00:00+01:00", "2"), id="one-instant"),
            pytest.param((EARLY, "9"), (None, "10"), id="one-time"),
            pytest.param(("2026-03-01", "1"), (EARLY, "2"), id="no-instant"),
            pytest.param((EARLY, "10"), (LATE, "9"), id="time-first"),
        ],
    )
    def test_equal_or_missing_times_leave_it_to_the_number(
        self, older: tuple[str | None, str], newer: tuple[str, str]
    ) -> None:
        for reading in readings(order("stopped", *older), order("active", *newer)):
            assert [one.status for one in orders(reading)] == [OrderStatus.ACTIVE]
            assert told(reading) == OLDER

    def test_an_amended_result_replaces_its_older_version(self) -> None:
        """Also where the time was amended, so that the two would not meet at one instant."""
        amended = pulse("90", LATE, "amended", at="2026-03-01T10:05:00+04:00")
        for reading in readings(pulse("120", EARLY), amended):
            assert pulses(reading) == ["90"]

    def test_a_result_entered_in_error_is_gone(self) -> None:
        for reading in readings(pulse("120", EARLY), pulse("120", LATE, "entered-in-error")):
            assert pulses(reading) == []

    def test_a_result_moved_to_another_patient_leaves_the_first(self) -> None:
        moved = pulse("90", LATE, subject={"reference": "Patient/q"})
        for each in permutations([patient(), pulse("90", EARLY), moved]):
            reading = reading_of(*each)
            held = {key: pulses(Reading(((key, one),), (), 0)) for key, one in reading.records}
            assert held == {"Patient/p": [], "Patient/q": ["90"]}

    def test_the_older_ones_are_named_by_their_paths(self) -> None:
        three = [order("active", EARLY), order("on-hold", EARLY[:-1] + ".5Z"), order("stopped", LATE)]
        reading = reading_of(patient(), *three)
        assert [(i.key, i.path) for i in reading.issues if i.key is IssueKey.DUPLICATE] == [
            (IssueKey.DUPLICATE, "Bundle.entry[1].resource"),
            (IssueKey.DUPLICATE, "Bundle.entry[2].resource"),
        ]
        assert reading.counted == 4

    def test_the_newest_that_cannot_be_read_does_not_let_the_older_one_speak(self) -> None:
        broken = order("stopped", LATE, dosageInstruction=[], statusReason=7)
        for reading in readings(pulse("80"), order("active", EARLY), broken):
            assert orders(reading) == []
            assert {IssueKey.DUPLICATE, IssueKey.WRONG_TYPE} == {issue.key for issue in reading.issues}

    def test_a_newer_observation_that_cannot_be_read(self) -> None:
        broken = pulse("90", LATE, effectiveDateTime=7)
        for reading in readings(measured("t", "temperature", "37", "Cel"), pulse("80", EARLY), broken):
            assert pulses(reading) == []

    def test_measures_that_contradict_each_other_in_a_circle_choose_none(self) -> None:
        """By time A < C, by number C < B and B < A: nobody is the newest."""
        circle = [pulse("80", EARLY), pulse("90"), pulse("100", LATE)]
        for one, number in zip(circle, ("3", "2", "1"), strict=True):
            one["meta"] = {**one.get("meta", {}), "versionId": number}
        answers = {json.dumps([pulses(r), told(r)]) for r in readings(*circle)}
        assert len(answers) == 1
        assert "conflict" in answers.pop()


class TestCopies:
    """The same content counts once, and one issue tells how many."""

    def test_the_same_line_twice(self) -> None:
        lines = [text(one) for one in (patient(), order("active"), pulse("80"))]
        once, twice = read_lines(lines), read_lines([*lines, *lines, lines[1]])
        assert (orders(once), pulses(once)) == (orders(twice), pulses(twice))
        assert told(once) == []
        (issue,) = twice.issues
        assert (issue.severity, issue.key) == (Severity.INFORMATION, IssueKey.DUPLICATE)
        assert issue.text.startswith("4 resource(s) were sent again with the same content")
        assert twice.counted == 7

    def test_the_same_content_in_other_words(self) -> None:
        """Order of the elements and spaces are not content; the digits of a number are."""
        again = json.dumps(dict(reversed(order("active").items())), indent=1).encode()
        reading = read_lines([text(patient()), text(order("active")), again.replace(b"\n", b" ")])
        assert len(orders(reading)) == 1
        assert told(reading) == OLDER

    def test_digits_are_content(self) -> None:
        reading = reading_of(patient(), pulse("80.0"), pulse("80"))
        assert told(reading) == [*DOUBTFUL, *OLDER]

    def test_copies_of_an_older_version_do_not_come_back(self) -> None:
        lines = [
            order("active", EARLY),
            order("active", EARLY),
            order("stopped", LATE),
            order("stopped", LATE),
        ]
        for reading in readings(*lines):
            assert [one.status for one in orders(reading)] == [OrderStatus.STOPPED]

    def test_a_patient_sent_twice_is_one(self) -> None:
        reading = reading_of(patient(), patient(), pulse("80"))
        assert [key for key, _ in reading.records] == ["Patient/p"]
        assert told(reading) == OLDER


class TestNothingTellsThemApart:
    """Further on in its life is later; where that is equal too, nothing is chosen."""

    @pytest.mark.parametrize(
        ("earlier", "later", "left"),
        [
            ("active", "stopped", [OrderStatus.STOPPED]),
            ("active", "completed", [OrderStatus.STOPPED]),
            ("active", "cancelled", []),
            ("stopped", "entered-in-error", []),
            ("draft", "active", [OrderStatus.ACTIVE]),
            ("on-hold", "active", [OrderStatus.ACTIVE]),
            ("on-hold", "stopped", [OrderStatus.STOPPED]),
        ],
    )
    def test_an_order(self, earlier: str, later: str, left: list[OrderStatus]) -> None:
        for reading in readings(order(earlier, LATE), order(later)):
            assert [one.status for one in orders(reading)] == left
            assert told(reading) == DOUBTFUL

    @pytest.mark.parametrize(
        ("earlier", "later", "left"),
        [
            ("preliminary", "final", ["90"]),
            ("final", "amended", ["90"]),
            ("amended", "corrected", ["90"]),
            ("corrected", "entered-in-error", []),
            ("final", "cancelled", []),
        ],
    )
    def test_a_result(self, earlier: str, later: str, left: list[str]) -> None:
        for reading in readings(pulse("80", status=earlier), pulse("90", LATE, later)):
            assert pulses(reading) == left
            assert told(reading) == DOUBTFUL

    def test_a_version_that_was_shortened_gives_way_to_the_whole_one(self) -> None:
        """A search with `_elements` marks what it shortens; it is the same version."""
        short = order("active", LATE, "3")
        short["meta"]["tag"] = [{"code": "SUBSETTED"}]
        whole = order("active", LATE, "3", dosageInstruction=[{"text": "240 mg daily"}])
        for reading in readings(short, whole):
            assert [one.dose_text for one in orders(reading)] == ["240 mg daily"]
            assert told(reading) == OLDER

    @pytest.mark.parametrize("verification", ["entered-in-error", "refuted"])
    def test_a_problem(self, verification: str) -> None:
        """One entered in error never was; one that is refuted here and confirmed there stays in view."""
        problem: Json = {
            "resourceType": "Condition",
            "id": "c1",
            "subject": {"reference": "Patient/p"},
            "code": {"text": "heart failure"},
            "clinicalStatus": {"coding": [{"code": "active"}]},
        }
        other = {**problem, "verificationStatus": {"coding": [{"code": verification}]}}
        for reading in readings(problem, other):
            assert len(record(reading).conditions) == (0 if verification == "entered-in-error" else 1)
            assert told(reading) == DOUBTFUL

    def test_two_values_at_one_time_are_a_conflict(self) -> None:
        for reading in readings(pulse("60"), pulse("120")):
            ((one,),) = [series.items for series in record(reading).numbers.values()]
            assert one.spread is not None
            assert (str(one.spread.low), str(one.spread.high)) == ("60", "120")
            assert told(reading) == [*DOUBTFUL, *DOUBTFUL]

    def test_two_orders_are_both_read_in_one_order(self) -> None:
        doses = [order("active", dosageInstruction=[{"text": dose}]) for dose in ("80 mg", "240 mg")]
        answers = {tuple(one.dose_text for one in orders(reading)) for reading in readings(*doses)}
        assert answers == {("240 mg", "80 mg")}
        assert all(told(reading) == DOUBTFUL for reading in readings(*doses))

    def test_a_patient_can_only_be_one(self) -> None:
        for each in permutations([patient(), patient(born="1990-01-01"), pulse("80")]):
            reading = reading_of(*each)
            assert str(record(reading).subject.born) == "1950-06-01"
            (said,) = reading.issues
            assert (said.severity, said.key) == (Severity.WARNING, IssueKey.SEVERAL_PATIENTS)

    def test_what_a_person_may_change_is_a_conflict(self) -> None:
        for each in permutations([patient(name=[{"family": n}]) for n in ("Quill", "Rush")] + [pulse("80")]):
            assert told(reading_of(*each)) == DOUBTFUL


class TestWhichAreOne:
    """Type, id and server; without an id, nothing."""

    def _at(self, *held: tuple[str | None, Json]) -> list[Reading]:
        found = []
        for each in permutations(held):
            entries: list[Json] = [{"resource": patient()}]
            entries += [
                {"resource": r} if url is None else {"fullUrl": url, "resource": r} for url, r in each
            ]
            found.append(read_bytes(text({"resourceType": "Bundle", "type": "collection", "entry": entries})))
        return found

    def test_two_servers_are_two_resources(self) -> None:
        held = [(f"https://{one}.example/fhir/MedicationRequest/m1", order("active")) for one in "ab"]
        for reading in self._at(*held):
            assert [one.origin for one in orders(reading)] == [url for url, _ in held]
            assert told(reading) == []

    def test_two_servers_have_versions_of_their_own(self) -> None:
        def at(server: str, one: Json) -> tuple[str, Json]:
            return f"https://{server}.example/fhir/MedicationRequest/m1", one

        held = [at("a", order("active", EARLY)), at("a", order("stopped", LATE)), at("b", order("active"))]
        for reading in self._at(*held):
            assert [one.status for one in orders(reading)] == [OrderStatus.STOPPED, OrderStatus.ACTIVE]

    @pytest.mark.parametrize(
        "other",
        [None, "MedicationRequest/m1", "http://a.example/fhir/MedicationRequest/m1"],
        ids=["no-address", "relative", "http"],
    )
    def test_one_server_however_it_is_written(self, other: str | None) -> None:
        url = "https://a.example/fhir/MedicationRequest/m1"
        for reading in self._at((url, order("active", EARLY)), (other, order("stopped", LATE))):
            assert [(one.status, one.origin) for one in orders(reading)] == [
                (OrderStatus.STOPPED, "MedicationRequest/m1")
            ]

    def test_without_an_address_among_two_servers(self) -> None:
        held = [(f"https://{one}.example/fhir/MedicationRequest/m1", order("active", EARLY)) for one in "ab"]
        for reading in self._at(*held, (None, order("stopped", LATE))):
            assert len(orders(reading)) == 3

    def test_urn_addresses_are_names_of_their_own(self) -> None:
        one, two = (f"urn:uuid:5a4f1c3e-6f0e-4f6e-8a0e-0a2f6a1d9c1{n}" for n in "12")
        for reading in self._at((one, order("active")), (two, order("stopped"))):
            assert [str(each.origin) for each in orders(reading)] == [one, two]
        for reading in self._at((one, order("active", EARLY)), (one, order("stopped", LATE))):
            assert [each.status for each in orders(reading)] == [OrderStatus.STOPPED]

    def test_without_an_id_nothing_is_a_version(self) -> None:
        nameless = [{k: v for k, v in order(s).items() if k != "id"} for s in ("active", "stopped")]
        for reading in readings(*nameless):
            assert len(orders(reading)) == 2
            assert told(reading) == []

    def test_another_type_with_the_same_id_is_another_resource(self) -> None:
        statement = {**order("active"), "resourceType": "MedicationStatement"}
        for reading in readings(order("stopped", LATE), statement):
            assert len(orders(reading)) == 2

    def test_contained_resources_are_not_concerned(self) -> None:
        def with_medicine(identity: str, name: str) -> Json:
            held = [{"resourceType": "Medication", "id": "med", "code": {"text": name}}]
            one = {
                **order("active"),
                "id": identity,
                "contained": held,
                "medicationReference": {"reference": "#med"},
            }
            del one["medicationCodeableConcept"]
            return one

        for reading in readings(with_medicine("a", "gentamicin"), with_medicine("b", "ramipril")):
            assert [one.medicine.text for one in orders(reading)] == ["gentamicin", "ramipril"]


class TestWhatOthersReferTo:
    """Medication and Location: the newest is what a reference means."""

    def test_the_newer_medication(self) -> None:
        def medication(name: str, updated: str) -> Json:
            meta = {"lastUpdated": updated}
            return {"resourceType": "Medication", "id": "med", "meta": meta, "code": {"text": name}}

        referring = {**order("active"), "medicationReference": {"reference": "Medication/med"}}
        del referring["medicationCodeableConcept"]
        both = medication("gentamicin", EARLY), medication("ramipril", LATE)
        for reading in readings(referring, *both):
            assert [one.medicine.text for one in orders(reading)] == ["ramipril"]


class TestDeletions:
    """FHIR R4, http.html#history: a deletion is an entry without a resource."""

    def _history(self, *entries: Json) -> list[Reading]:
        first: Json = {"resource": patient(), "request": {"method": "PUT", "url": "Patient/p"}}
        return [
            read_bytes(text({"resourceType": "Bundle", "type": "history", "entry": list(each)}))
            for each in permutations([first, *entries])
        ]

    @staticmethod
    def _put(one: Json) -> Json:
        return {"resource": one, "request": {"method": "PUT", "url": "MedicationRequest/m1"}}

    @staticmethod
    def _deleted(**response: str) -> Json:
        entry: Json = {"request": {"method": "DELETE", "url": "MedicationRequest/m1"}}
        return {**entry, "response": {"status": "204", **response}}

    @pytest.mark.parametrize(
        "told_by", [{"lastModified": LATE}, {"etag": 'W/"2"'}], ids=["lastModified", "etag"]
    )
    def test_what_was_deleted_later_is_not_used(self, told_by: dict[str, str]) -> None:
        for reading in self._history(self._put(order("active", EARLY, "1")), self._deleted(**told_by)):
            assert orders(reading) == []
            assert told(reading) == [(Severity.INFORMATION, IssueKey.DELETED)] * 2

    def test_what_was_made_again_after_its_deletion_is_used(self) -> None:
        for reading in self._history(self._put(order("active", LATE)), self._deleted(lastModified=EARLY)):
            assert len(orders(reading)) == 1

    def test_a_deletion_without_a_time_counts(self) -> None:
        for reading in self._history(self._put(order("active", EARLY)), self._deleted()):
            assert orders(reading) == []
            assert sorted(told(reading)) == [*DOUBTFUL, (Severity.INFORMATION, IssueKey.DELETED)][::-1]

    def test_a_deleted_observation(self) -> None:
        gone = {
            "request": {"method": "DELETE", "url": "https://a.example/fhir/Observation/hr"},
            "response": {"lastModified": LATE},
        }
        for reading in self._history({"resource": pulse("80", EARLY)}, gone):
            assert pulses(reading) == []

    def test_a_deletion_of_something_else_changes_nothing(self) -> None:
        gone = {"request": {"method": "DELETE", "url": "Observation/m1"}}
        for reading in self._history(self._put(order("active")), gone):
            assert len(orders(reading)) == 1


def test_an_issue_about_versions_says_nothing_of_the_content() -> None:
    """No value of the input stands in an issue."""
    reading = reading_of(patient(), pulse("71"), pulse("72", status="amended"))
    about: list[Issue] = [issue for issue in reading.issues if issue.key is IssueKey.CONFLICT]
    assert about
    assert all("71" not in issue.text and "amended" not in issue.text for issue in about)
