"""Drug charts as a sender would write them, reviewed through the real door."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from tests import records
from tests.records import AT, Json, answer_of, asked_for, observation, patient, procedure, quantity
from weatherglass.model.findings import Finding, Kind
from weatherglass.model.medicine_findings import InteractionFinding, MedicineFinding
from weatherglass.pipeline import Answer

ATC = "http://www.whocc.no/atc"
RXNORM = "http://www.nlm.nih.gov/research/umls/rxnorm"
_CLINICAL = "http://terminology.hl7.org/CodeSystem/condition-clinical"
_VERIFIED = "http://terminology.hl7.org/CodeSystem/condition-ver-status"

#: LOINC code and unit by the short names the tables of vectors use.
RESULTS = {
    "K": ("2823-3", "mmol/L"),
    "Na": ("2951-2", "mmol/L"),
    "Mg": ("2601-3", "mmol/L"),
    "creatinine": ("14682-9", "umol/L"),
    "eGFR": ("62238-1", "mL/min/{1.73_m2}"),
    "SBP": ("8480-6", "mm[Hg]"),
    "HR": ("8867-4", "/min"),
    "RR": ("9279-1", "/min"),
    "Hb": ("718-7", "g/L"),
    "INR": ("6301-6", "{INR}"),
    "platelets": ("777-3", "10*9/L"),
    "glucose": ("15074-8", "mmol/L"),
    "GCS": ("9269-2", "{score}"),
    "lactate": ("2524-7", "mmol/L"),
    "ketones": ("6873-4", "mmol/L"),
    "pH": ("2744-1", "[pH]"),
    "pCO2": ("2019-8", "kPa"),
    "SpO2": ("59408-5", "%"),
    "digoxin": ("10535-3", "ug/L"),
}


def result(name: str, value: str, at: str = AT, **rest: Any) -> Json:
    """Return one result or vital sign by its short name."""
    code, unit = RESULTS[name]
    identity = f"{name}-{at}".replace(":", "").replace("+", "-")
    return observation(identity, code, at=at, valueQuantity=quantity(value, unit), **rest)


def order(name: str, atc: str = "", **rest: Any) -> Json:
    """Return a MedicationRequest in force, coded in ATC or by words alone."""
    usual = {"id": name.split(maxsplit=1)[0].lower(), "authoredOn": "2026-02-25T09:00:00+04:00"}
    return records.ordered(name, atc, **{**usual, **rest})


def problem(text: str, *, since: str | None = None, status: str = "active", **rest: Any) -> Json:
    """Return a Condition in words."""
    said = {"coding": [{"system": _CLINICAL, "code": status}]}
    onset = {"onsetDateTime": since} if since else {}
    usual = {"id": text.split(maxsplit=1)[0].lower(), "clinicalStatus": said}
    return records.problem(text, **{**usual, **rest, **onset})


def unconfirmed(text: str) -> Json:
    """Return a Condition that nobody has confirmed."""
    status = {"coding": [{"system": _VERIFIED, "code": "provisional"}]}
    return problem(text, verificationStatus=status)


def injury(stage: int) -> list[Json]:
    """Return two creatinines that make acute kidney injury of a stage: 80 and then more."""
    worse = {1: "130", 2: "170", 3: "250"}[stage]
    return [result("creatinine", "80", "2026-02-27T10:00:00+04:00"), result("creatinine", worse)]


def reviewed(*resources: Json, as_of: datetime | None = None) -> Answer:
    """Review one patient with these resources."""
    return answer_of(patient(), *resources, as_of=as_of)


def suggestions(answer: Answer) -> dict[str, MedicineFinding]:
    """Return every finding about one medicine, by the id of its order; no order has two."""
    found = [f for one in answer.reviews for f in one.findings if isinstance(f, MedicineFinding)]
    keyed = {f.order.partition("/")[2]: f for f in found}
    assert len(keyed) == len(found), [f.order for f in found]
    return keyed


def the_only(*resources: Json) -> MedicineFinding:
    """Review these resources beside the patient and return the one finding about a medicine."""
    (found,) = suggestions(reviewed(*resources)).values()
    return found


def interactions(answer: Answer) -> dict[str, InteractionFinding]:
    """Return the combinations, by key."""
    found = [f for one in answer.reviews for f in one.findings if isinstance(f, InteractionFinding)]
    return {f.key: f for f in found}


def about_medicines(answer: Answer) -> list[Finding]:
    """Return everything the drug chart led to."""
    kinds = (Kind.MEDICINE, Kind.MEDICINE_INTERACTION, Kind.MEDICINE_RESTART, Kind.MEDICINE_NOT_REVIEWED)
    return [f for one in answer.reviews for f in one.findings if f.kind in kinds]


def said_of(finding: MedicineFinding) -> str:
    """Return everything a reader is told about one medicine."""
    restart = finding.restart.condition if finding.restart is not None else ""
    return " ".join(
        (
            finding.sentence,
            *(f"{reason.why} {reason.trigger}" for reason in finding.reasons),
            finding.do_not_stop,
            restart,
            *finding.monitor,
            *finding.cautions,
            *finding.would_change,
        )
    )


def nameless(identity: str, **rest: Any) -> Json:
    """Return an order whose Medication is elsewhere."""
    made = order(identity, **rest)
    del made["medicationCodeableConcept"]
    return {**made, "id": identity, "medicationReference": {"reference": f"Medication/{identity}"}}


def dosed(
    text: str, amount: str, unit: str, often: tuple[int, int, str] = (1, 1, "d"), **rest: object
) -> Json:
    """Return an order with its dose as numbers: an amount, and how often in how many of what."""
    times, period, of = often
    dose = {"value": float(amount), "unit": unit, "system": "http://unitsofmeasure.org", "code": unit}
    repeat = {"frequency": times, "period": period, "periodUnit": of}
    dosage = [{"timing": {"repeat": repeat}, "doseAndRate": [{"doseQuantity": dose}]}]
    found: Mapping[str, object] = {**order(text), "id": "o", "dosageInstruction": dosage, **rest}
    return dict(found)


def operation_asked_for(
    text: str, due: str = "", status: str = "active", at: str = "2026-03-01T09:00:00+04:00"
) -> Json:
    request: Json = asked_for(text, id="sr", status=status, authoredOn=at)
    return {**request, "occurrenceDateTime": due} if due else request


def operated(text: str, at: str) -> Json:
    return procedure(text, id="pr", performedDateTime=at)


def stay_for(reason: str, start: str = "2026-02-28T08:00:00+04:00") -> Json:
    return {
        "resourceType": "Encounter",
        "id": "e",
        "status": "in-progress",
        "class": {"system": "http://terminology.hl7.org/CodeSystem/v3-ActCode", "code": "IMP"},
        "subject": {"reference": "Patient/p"},
        "period": {"start": start},
        "reasonCode": [{"text": reason}],
    }
