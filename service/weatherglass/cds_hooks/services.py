"""The two CDS Hooks services: what each answers to, and what it asks to be sent.

Prefetch templates keep to the subset that the specification recommends: reads, searches
by reference and token, `_sort` and `_count`; tokens of the context only. One step beyond it,
`_include` asks for the Medication that an order names by reference: without it the order has no name.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from weatherglass.fhir.writing.frame.terms import Json
from weatherglass.medicines.telling.coverage import NOT_CHECKED
from weatherglass.model.signals import Signal
from weatherglass.terminology.observations import LOINC, LOINC_MEANINGS, MEANINGS, Decision, Numeric
from weatherglass.terminology.plans import ADVANCE_DIRECTIVE_CODES


class Hook(StrEnum):
    """The moments of a clinician's work that we answer to."""

    PATIENT_VIEW = "patient-view"
    ORDER_SELECT = "order-select"
    ORDER_SIGN = "order-sign"


@dataclass(frozen=True, slots=True, kw_only=True)
class CdsService:
    """One service.

    Attributes:
        id: Its place in the address.
        hooks: What it answers to.
        prefetch: What to send, by key.
        needed: Keys without which there is no answer: silence would look like an all-clear.
    """

    id: str
    hooks: tuple[Hook, ...]
    title: str
    description: str
    prefetch: Mapping[str, str]
    needed: frozenset[str]


def _codes_of(signal: Signal) -> str:
    codes = sorted(
        code for code, m in LOINC_MEANINGS.items() if isinstance(m, Numeric) and m.signal is signal
    )
    return ",".join(f"{LOINC}|{code}" for code in codes)


def _decision_codes() -> str:
    """Name every code of a decision about treatment, whose Observation need not have any category."""
    return ",".join(
        f"{system}|{code}"
        for system, meanings in MEANINGS.items()
        for code, meaning in sorted(meanings.items())
        if isinstance(meaning, Decision)
    )


def _advance_directives() -> str:
    """Name every code of a document that is a plan; forms that are called one in words alone do not come."""
    return ",".join(sorted(f"{LOINC}|{code}" for code in ADVANCE_DIRECTIVE_CODES if "-" in code))


_PATIENT = "{{context.patientId}}"
#: All that is neither a vital sign nor a result: a plan in words has no code to ask for it by.
_WHERE_PLANS_STAND = "exam,survey,therapy,procedure,activity,social-history"
#: Newest first, so that the page that is sent is the one that counts.
_TEMPLATES: Mapping[str, str] = {
    "patient": f"Patient/{_PATIENT}",
    "vitals": f"Observation?patient={_PATIENT}&category=vital-signs&_sort=-date&_count=200",
    "bedside": f"Observation?patient={_PATIENT}&category={_WHERE_PLANS_STAND}&_sort=-date&_count=100",
    "creatinine": f"Observation?patient={_PATIENT}&code={_codes_of(Signal.CREATININE)}"
    "&_sort=-date&_count=100",
    "potassium": f"Observation?patient={_PATIENT}&code={_codes_of(Signal.POTASSIUM)}&_sort=-date&_count=20",
    "decisions": f"Observation?patient={_PATIENT}&code={_decision_codes()}&_sort=-date&_count=50",
    "results": f"Observation?patient={_PATIENT}&category=laboratory&_sort=-date&_count=200",
    "medications": f"MedicationRequest?patient={_PATIENT}&status=active,on-hold"
    "&_include=MedicationRequest:medication",
    "ended": f"MedicationRequest?patient={_PATIENT}&status=stopped,completed&_sort=-authoredon&_count=100"
    "&_include=MedicationRequest:medication",
    "administrations": f"MedicationAdministration?patient={_PATIENT}&_sort=-effective-time&_count=100"
    "&_include=MedicationAdministration:medication",
    "statements": f"MedicationStatement?patient={_PATIENT}&status=active,on-hold,not-taken"
    "&_include=MedicationStatement:medication",
    "allergies": f"AllergyIntolerance?patient={_PATIENT}",
    "conditions": f"Condition?patient={_PATIENT}&clinical-status=active,recurrence,relapse",
    "encounters": f"Encounter?patient={_PATIENT}&status=in-progress",
    "procedures": f"Procedure?patient={_PATIENT}&_sort=-date&_count=50",
    "requests": f"ServiceRequest?patient={_PATIENT}&status=active&_count=50",
    "flags": f"Flag?patient={_PATIENT}&status=active",
    "plans": f"CarePlan?patient={_PATIENT}&status=active",
    "consents": f"Consent?patient={_PATIENT}&status=active",
    "documents": f"DocumentReference?patient={_PATIENT}&status=current&type={_advance_directives()}"
    "&_count=20",
}

DETERIORATION = CdsService(
    id="deterioration-review",
    hooks=(Hook.PATIENT_VIEW,),
    title="Deterioration review",
    description="Says whether this patient is getting worse, by published early-warning scores, kidney "
    f"stages and trends, and which medicines on the chart need a second look. {NOT_CHECKED} Suggestions, "
    "never orders.",
    prefetch=_TEMPLATES,
    needed=frozenset({"patient", "vitals"}),
)
MEDICINE_SAFETY = CdsService(
    id="medicine-safety",
    hooks=(Hook.ORDER_SELECT, Hook.ORDER_SIGN),
    title="Medicine safety",
    description="Looks at a draft order beside recorded allergies, the kidneys, potassium, bleeding and "
    f"sedation, and says when it is worth a second thought. {NOT_CHECKED} Suggestions, never orders.",
    prefetch=_TEMPLATES,
    needed=frozenset(
        {
            "patient",
            "vitals",
            "creatinine",
            "potassium",
            "results",
            "medications",
            "allergies",
            "conditions",
        }
    ),
)
SERVICES: Mapping[str, CdsService] = {each.id: each for each in (DETERIORATION, MEDICINE_SAFETY)}


def discovery() -> Json:
    """Return the discovery document: one entry a hook, as the specification has it."""
    return {
        "services": [
            {
                "hook": hook.value,
                "id": service.id,
                "title": service.title,
                "description": service.description,
                "prefetch": dict(service.prefetch),
                "usageRequirements": "Send at least the keys "
                f"{', '.join(sorted(service.needed))}; or name a FHIR server that this service may ask.",
            }
            for service in SERVICES.values()
            for hook in service.hooks
        ]
    }
