"""Whom and what a reference means: nobody is merged with somebody else, nothing that was sent is missed.

HL7 FHIR R4, references.html (contained resources are known inside their container only)
and bundle.html (resolving references: a relative one is on the server of its entry).
"""

from typing import Any

import pytest

from tests.records import AT, measured, patient, stay, text
from weatherglass.fhir.issues import IssueKey, Severity, UnreadableError
from weatherglass.fhir.reading.bundle import Reading, read_bytes, read_lines
from weatherglass.model.record.medicines import MatchMethod
from weatherglass.model.signals import Signal

Json = dict[str, Any]
A, B = "https://a.example/fhir", "https://b.example/fhir"
WARD: Json = {"resourceType": "Location", "id": "ward-4", "name": "Ward 4"}
MEDICINE: Json = {"resourceType": "Medication", "id": "med", "code": {"text": "gentamicin"}}
LATER = "2026-03-01T11:00:00+04:00"


def pulse(identity: str, value: str, subject: str, at: str = AT) -> Json:
    """Return a pulse of somebody."""
    return measured(identity, "pulse", value, "/min", subject={"reference": subject}, at=at)


def read(*entries: tuple[str | None, Json]) -> Reading:
    """Read a Bundle of resources with their addresses."""
    held = [{"resource": one} if url is None else {"fullUrl": url, "resource": one} for url, one in entries]
    return read_bytes(text({"resourceType": "Bundle", "type": "collection", "entry": held}))


def pulses(reading: Reading) -> dict[str, list[str]]:
    """Return the pulses of everybody."""
    return {
        key: [str(one.value) for one in record.numbers[Signal.PULSE].items]
        for key, record in reading.records
        if Signal.PULSE in record.numbers
    }


class TestContainedPatients:
    """`#p` names somebody in one resource only."""

    @staticmethod
    def _of(identity: str, value: str) -> Json:
        held = [patient(None, gender="male")]
        return {**pulse(identity, value, "#p"), "contained": held}

    def test_two_of_them_are_never_one(self) -> None:
        reading = read((None, patient()), (None, pulse("x", "70", "Patient/p")), (None, self._of("a", "80")),
                       (None, self._of("b", "120")))  # fmt: skip
        assert pulses(reading) == {"Patient/p": ["70"]}
        assert [(i.key, i.path) for i in reading.issues] == [
            (IssueKey.NO_PATIENT, f"Bundle.entry[{n}].resource.subject") for n in (2, 3)
        ]

    def test_lines_too(self) -> None:
        lines = [text(one) for one in (patient(), pulse("x", "70", "Patient/p"), self._of("a", "80"))]
        reading = read_lines(lines)
        assert pulses(reading) == {"Patient/p": ["70"]}
        assert [i.key for i in reading.issues] == [IssueKey.NO_PATIENT]

    def test_nothing_else_to_use_is_a_refusal(self) -> None:
        with pytest.raises(UnreadableError, match="contained"):
            read_bytes(text(self._of("a", "80")))


class TestPatientsOfSeveralServers:
    """The same id on two servers is two people."""

    def test_everything_stays_with_its_own(self) -> None:
        reading = read(
            (f"{A}/Patient/p", patient()),
            (f"{B}/Patient/p", patient(born="1990-01-01")),
            (f"{A}/Observation/1", pulse("1", "70", "Patient/p")),
            (f"{B}/Observation/1", pulse("1", "120", "Patient/p")),
            (f"{A}/Observation/2", pulse("2", "121", f"{B}/Patient/p/_history/1", at=LATER)),
            (None, pulse("3", "71", f"http{A[5:]}/Patient/p", at=LATER)),
        )
        assert pulses(reading) == {f"{A}/Patient/p": ["70", "71"], f"{B}/Patient/p": ["120", "121"]}
        assert reading.issues == ()

    def test_what_does_not_say_which_is_named(self) -> None:
        reading = read(
            (f"{A}/Patient/p", patient()),
            (f"{B}/Patient/p", patient(born="1990-01-01")),
            (None, pulse("1", "70", "Patient/p")),
            (f"{A}/Observation/2", pulse("2", "71", "Patient/p")),
        )
        assert pulses(reading) == {f"{A}/Patient/p": ["71"]}
        (issue,) = reading.issues
        assert (issue.key, issue.path) == (IssueKey.NO_PATIENT, "Bundle.entry[2].resource.subject")

    def test_a_reference_to_another_server_is_to_somebody_else(self) -> None:
        reading = read(
            (f"{A}/Patient/p", patient()),
            (None, pulse("1", "70", "Patient/p")),
            (None, pulse("2", "120", f"{B}/Patient/p")),
        )
        assert pulses(reading) == {"Patient/p": ["70"], f"{B}/Patient/p": ["120"]}

    @pytest.mark.parametrize("lines", [False, True])
    def test_references_to_two_servers_without_a_patient_of_either_are_said(self, lines: bool) -> None:
        held = [pulse(str(n), f"7{n}", f"{server}/Patient/p") for n, server in enumerate((A, B))]
        reading = read_lines([text(one) for one in held]) if lines else read(*((None, one) for one in held))
        assert list(pulses(reading)) == ["Patient/p"]
        assert IssueKey.CONFLICT in {issue.key for issue in reading.issues if issue.patient == "Patient/p"}

    def test_two_urn_addresses_with_one_id_are_two_people(self) -> None:
        one, two = (f"urn:uuid:5a4f1c3e-6f0e-4f6e-8a0e-0a2f6a1d9c1{n}" for n in "12")
        reading = read(
            (one, patient()),
            (two, patient(born="1990-01-01")),
            (None, pulse("1", "70", one)),
            (None, pulse("2", "120", two)),
            (None, pulse("3", "90", "Patient/p")),
        )
        assert pulses(reading) == {one: ["70"], two: ["120"]}
        assert [issue.key for issue in reading.issues] == [IssueKey.NO_PATIENT]


class TestWhatIsReferredTo:
    """Locations and Medications, by every way to write a reference."""

    @staticmethod
    def _stay(location: str) -> Json:
        return stay(location=[{"location": {"reference": location}}])

    @staticmethod
    def _order(medication: str) -> Json:
        return {
            "resourceType": "MedicationRequest",
            "id": "m",
            "status": "active",
            "intent": "order",
            "subject": {"reference": "Patient/p"},
            "medicationReference": {"reference": medication, "display": "unnamed vial"},
        }

    REFERENCES = pytest.mark.parametrize(
        ("server", "shelved_at", "entry_at"),
        [
            pytest.param("", None, None, id="relative"),
            pytest.param(f"{A}/", None, None, id="absolute-to-a-line"),
            pytest.param(f"{A}/", A, None, id="absolute"),
            pytest.param(f"http{A[5:]}/", A, None, id="http"),
            pytest.param("", A, A, id="relative-on-a-server"),
            pytest.param("", A, None, id="relative-from-nowhere"),
        ],
    )

    @REFERENCES
    @pytest.mark.parametrize("version", ["", "/_history/2"])
    def test_a_location(
        self, server: str, shelved_at: str | None, entry_at: str | None, version: str
    ) -> None:
        reading = read(
            (entry_at and f"{entry_at}/Encounter/e", self._stay(f"{server}Location/ward-4{version}")),
            (shelved_at and f"{shelved_at}/Location/ward-4", WARD),
        )
        ((_, record),) = reading.records
        assert [stay.place for stay in record.stays] == ["Ward 4"]
        assert IssueKey.REFERENCE_NOT_FOUND not in {issue.key for issue in reading.issues}

    @REFERENCES
    def test_a_medication(self, server: str, shelved_at: str | None, entry_at: str | None) -> None:
        reading = read(
            (entry_at and f"{entry_at}/MedicationRequest/m", self._order(f"{server}Medication/med")),
            (shelved_at and f"{shelved_at}/Medication/med", MEDICINE),
        )
        ((_, record),) = reading.records
        assert [order.medicine.text for order in record.orders] == ["gentamicin"]

    def test_a_bed_is_in_the_ward_of_its_own_server(self) -> None:
        bed = {**WARD, "id": "bed-1", "name": "Bed 1", "partOf": {"reference": "Location/ward-4"}}
        bed["physicalType"] = {"coding": [{"code": "bd"}]}
        reading = read(
            (f"{A}/Location/ward-4", WARD),
            (f"{B}/Location/ward-4", {**WARD, "name": "Far away"}),
            (f"{B}/Location/bed-1", bed),
            (f"{A}/Encounter/e", self._stay(f"{B}/Location/bed-1")),
        )
        ((_, record),) = reading.records
        assert [(stay.place, stay.bed) for stay in record.stays] == [("Far away", "Bed 1")]

    def test_the_medicine_of_another_server_is_another_medicine(self) -> None:
        reading = read((f"{B}/Medication/med", MEDICINE), (None, self._order(f"{A}/Medication/med")))
        ((_, record),) = reading.records
        assert [order.medicine.method for order in record.orders] == [MatchMethod.NONE]
        assert IssueKey.REFERENCE_NOT_FOUND in {issue.key for issue in reading.issues}


def test_the_newest_time_is_each_patients_own() -> None:
    """Two patients observed at the same minute: neither's record ends earlier for it."""
    at = {n: f"2026-03-01T{n}:00:00Z" for n in ("08", "09", "10")}
    people = [{**patient(), "id": name} for name in ("p", "q")]
    held = [
        measured(
            f"{name}-{hour}", "pulse", "80", "/min", at=at[hour], subject={"reference": f"Patient/{name}"}
        )
        for name, hour in (("p", "08"), ("q", "08"), ("p", "10"), ("q", "10"), ("p", "09"), ("q", "09"))
    ]
    reading = read(*((None, one) for one in [*people, *held]))
    assert [record.newest and record.newest.isoformat() for _, record in reading.records] == [
        "2026-03-01T10:00:00+00:00"
    ] * 2


def test_a_further_page_of_an_inner_bundle_is_said() -> None:
    page = {
        "resourceType": "Bundle",
        "type": "searchset",
        "link": [{"relation": "next", "url": "https://a.example/fhir?page=2"}],
        "entry": [{"resource": patient()}, {"resource": pulse("1", "70", "Patient/p")}],
    }
    assert IssueKey.INCOMPLETE_BUNDLE in {issue.key for issue in read((None, page)).issues}


@pytest.mark.parametrize(
    "around",
    [pytest.param({"resourceType": "DiagnosticReport", "status": "cancelled"}, id="cancelled report")],
)
def test_results_inside_another_resource_are_said_to_be_lost(around: Json) -> None:
    """Results in what does not count or is not known are not read, and that is no matter of indifference."""
    inside = [pulse("inner", "140", "Patient/p"), {"resourceType": "Practitioner", "id": "x"}]
    held = {
        "id": "r",
        "status": "final",
        "subject": {"reference": "Patient/p"},
        **around,
        "contained": inside,
    }
    reading = read((None, patient()), (None, held), (None, pulse("1", "70", "Patient/p")))
    assert pulses(reading) == {"Patient/p": ["70"]}
    said = [(i.severity, i.path, i.text[0]) for i in reading.issues if i.path.endswith(".contained")]
    assert said == [(Severity.WARNING, "Bundle.entry[1].resource.contained", "1")]


@pytest.mark.parametrize("kind", ["Device", "Group", "Location"])
def test_what_is_no_person_becomes_no_patient(kind: str) -> None:
    """`Reference.type` says what an address that names no type refers to."""
    about = {"reference": "urn:uuid:5a4f1c3e-6f0e-4f6e-8a0e-0a2f6a1d9c11", "type": kind}
    warm = measured("t", "temperature", "41", "Cel", subject=about)
    reading = read((None, patient()), (None, pulse("1", "70", "Patient/p")), (None, warm))
    assert [key for key, _ in reading.records] == ["Patient/p"]
    assert [issue.key for issue in reading.issues] == [IssueKey.NOT_THE_PATIENT]


@pytest.mark.parametrize(
    ("system", "value", "doubtful"),
    [
        ("urn:hospital", "222", True),
        ("urn:hospital", "111", False),
        ("urn:another", "222", False),
        ("urn:hospital", None, False),
    ],
)
def test_a_number_of_somebody_else_beside_the_reference(
    system: str, value: str | None, doubtful: bool
) -> None:
    """Ours: it is used as the reference says, and that two patients may be mixed is said first."""
    known = patient(identifier=[{"system": "urn:hospital", "value": "111"}])
    number = {"system": system, **({"value": value} if value else {})}
    subject = {"reference": "Patient/p", "identifier": number}
    sent = measured("a", "pulse", "144", "/min", subject=subject, at=AT)
    reading = read((f"{A}/Patient/p", known), (f"{A}/Observation/a", sent))
    ((_, record),) = reading.records
    assert record.subject.doubtful is doubtful
    assert any(issue.key is IssueKey.CONFLICT for issue in reading.issues) is doubtful
