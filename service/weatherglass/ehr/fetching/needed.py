"""Which parts of a record the review reads, and how each is asked for."""

#: Every type that the review reads, in the order in which a folder lists them.
NEEDED_TYPES = (
    "Patient",
    "Encounter",
    "Location",
    "Condition",
    "Observation",
    "MedicationRequest",
    "MedicationAdministration",
    "MedicationStatement",
    "Medication",
    "Procedure",
    "ServiceRequest",
    "Consent",
    "Flag",
    "CarePlan",
    "Goal",
    "AllergyIntolerance",
)
#: Types that belong to no patient; they come along where others refer to them.
_SHARED = frozenset({"Location", "Medication"})
#: What is searched by patient.
SEARCHED_TYPES = tuple(kind for kind in NEEDED_TYPES if kind != "Patient" and kind not in _SHARED)
_INCLUDED = {
    "MedicationRequest": ("MedicationRequest:medication",),
    "MedicationAdministration": ("MedicationAdministration:medication",),
    "MedicationStatement": ("MedicationStatement:medication",),
    "Encounter": ("Encounter:location",),
}


#: How many resources a page may hold.
PAGE = 200


def search_for(kind: str, patient: str) -> str:
    """Return the search of one type, with what is named in it.

    Args:
        kind: A type of `SEARCHED_TYPES`.
        patient: Id of the patient, ready to stand in an address.
    """
    included = "".join(f"&_include={one}" for one in _INCLUDED.get(kind, ()))
    return f"{kind}?patient={patient}&_count={PAGE}{included}"
