"""The quick look gives patients the names that the reading gives them."""

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.batch.exports import pulse
from weatherglass.batch.sources.partition_keys import READ, SHARED, look, needs_of, patient_key, shared_name
from weatherglass.fhir.issues import UnreadableError
from weatherglass.fhir.reading import dispatch as handing_over
from weatherglass.fhir.reading.bundle import read_lines


def test_the_same_types_are_read() -> None:
    """A type that the reading learns to read must be brought together too."""
    assert set(handing_over.READERS) == READ
    assert {*SHARED, "Patient"} == set(handing_over.REFERENCED_TYPES)


def _key_by_reading(reference: str) -> str:
    line = json.dumps(pulse(reference)).encode()
    try:
        return next((key for key, _ in read_lines([line]).records), "")
    except UnreadableError:
        return ""


@pytest.mark.property
@given(
    st.from_regex(
        r"(https?://[a-z.]{1,9}/(fhir/)?)?(Patient/|PatientGroup/|)[A-Za-z0-9.\-]{0,5}(/_history/[0-9])?",
        fullmatch=True,
    )
    | st.from_regex(r"urn:(uuid|oid):[a-f0-9.\-]{1,12}", fullmatch=True)
    | st.from_regex(r"Patient\?identifier=[a-z]{1,4}(\|[0-9]{1,3})?", fullmatch=True)
)
def test_references_are_named_alike(reference: str) -> None:
    """Relative, absolute, with a version, by URN, conditional, about a group or nothing."""
    assert patient_key(reference) == _key_by_reading(reference)


@pytest.mark.parametrize("reference", ["Patient/a\nb", "#inside", "Patient/a\u0007"])
def test_unusable_references_name_nobody(reference: str) -> None:
    """A contained patient is another one in every line; control characters are in no id."""
    assert patient_key(reference) == ""


def _needs(**resource: Any) -> list[str]:
    return needs_of(look(json.dumps(resource).encode()))


def test_what_a_line_needs() -> None:
    """A medicine, the places of a stay, the place around a place; nothing else."""
    assert _needs(
        resourceType="MedicationRequest", medicationReference={"reference": "https://x.example/Medication/m1"}
    ) == ["Medication/m1"]
    assert _needs(
        resourceType="Encounter",
        location=[{"location": {"reference": "Location/bed"}}, {"location": {"reference": "Location/ward"}}],
    ) == ["Location/bed", "Location/ward"]
    assert _needs(resourceType="Location", partOf={"reference": "Location/ward"}) == ["Location/ward"]
    assert _needs(resourceType="Procedure", location={"reference": "Location/theatre"}) == []
    assert _needs(resourceType="MedicationRequest", medicationReference={"reference": "#inside"}) == []
    assert shared_name("urn:uuid:1-2") == "urn:uuid:1-2"
