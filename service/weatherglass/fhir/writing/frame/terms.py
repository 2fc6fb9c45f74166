"""The codes and display words that results are sent with.

Local code systems hang from one base, `urn:weatherglass:codes:` unless a site
publishes under its own address. Standard systems are named as HL7 names them.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from weatherglass.fhir.writing.frame.detail import DEFAULT_BASE
from weatherglass.model.findings import Kind, Urgency
from weatherglass.model.numbers.quantities import Unit, unit_sign
from weatherglass.terminology.observations import OWN_RESULTS

Json = dict[str, Any]

SNOMED = "http://snomed.info/sct"
UCUM = "http://unitsofmeasure.org"
_HL7 = "http://terminology.hl7.org/CodeSystem/"
OBSERVATION_CATEGORY = f"{_HL7}observation-category"
DATA_ABSENT = f"{_HL7}data-absent-reason"
COMMUNICATION_CATEGORY = f"{_HL7}communication-category"
DATA_OPERATION = f"{_HL7}v3-DataOperation"
PARTICIPANT = f"{_HL7}provenance-participant-type"
TASK_CODE = "http://hl7.org/fhir/CodeSystem/task-code"
#: One name for results, which the reading knows too: it leaves out what an earlier review wrote back.
IDENTIFIER_SYSTEM = OWN_RESULTS
#: The system of names that the request itself gives to its resources ("Observation/scr-2").
INPUT_SYSTEM = "urn:weatherglass:input"
EXTENSION_BASE = "urn:weatherglass:extension:"

#: Words for the codes of the local systems; the generated CodeSystems carry the same.
SCORE_NAMES = {
    "news2": "National Early Warning Score 2",
    "mews": "Modified Early Warning Score",
    "qsofa": "Quick SOFA",
    "sirs": "Systemic inflammatory response syndrome criteria",
    "shock-index": "Shock index",
    "age-shock-index": "Age shock index",
    "sofa": "Sequential Organ Failure Assessment",
    "sofa-2": "Sequential Organ Failure Assessment 2",
    "curb-65": "CURB-65",
    "isth-dic": "ISTH score of overt disseminated intravascular coagulation",
    "four-ts": "4Ts score of heparin-induced thrombocytopenia",
    "four-at": "4AT",
    "phoenix": "Phoenix Sepsis Score",
    "bedside-pews": "Bedside Paediatric Early Warning System score",
    "maternal-criteria": "Maternal early warning criteria",
    "aki-kdigo": "KDIGO stage of acute kidney injury",
    "aki-warning-stage": "AKI warning stage",
    "review-urgency": "Urgency of review",
}
#: The UK extension code of the NEWS2 total, and of its sub-scores.
SNOMED_SCORES = {"news2": "1104051000000101"}
SNOMED_SUB_SCORES = {
    "news2-respiration": "1104301000000104",
    "news2-spo2-scale-1": "1104311000000102",
    "news2-spo2-scale-2": "1104321000000108",
    "news2-air-or-oxygen": "1104331000000105",
    "news2-systolic-pressure": "1104341000000101",
    "news2-pulse": "1104351000000103",
    "news2-consciousness": "1104361000000100",
    "news2-temperature": "1104371000000107",
}
#: Measures that are no signal of a record but are worked out.
MEASURE_NAMES = {
    "reference-value": "Reference value",
    "other-reference-value": "Other reference value",
    "reference-method": "How the reference value was chosen",
    "ratio": "Ratio to the reference value",
    "glasgow-blatchford": "Glasgow-Blatchford score",
    "absolute-rise": "Rise from the lowest of 48 hours",
    "laboratory-flag": "Laboratory flag",
    "lowest-possible": "Lowest possible total",
    "highest-possible": "Highest possible total",
    "reported-total": "Reported total",
    "recomputed-total": "Recomputed total",
    "reference-count": "Results the reference value was chosen from",
    "creatinine-stage": "Stage by creatinine",
    "urine-stage": "Stage by urine output",
    "urine-hours": "Charted hours of urine output",
    "peak": "Highest creatinine",
    "share-of-peak": "Share of the highest creatinine",
    "recovery-confirmed": "Recovery confirmed by two results",
    "akd-stage": "Stage of acute kidney disease",
    "equation": "Equation of the estimate",
    "unsteady-state": "Unsteady state",
    "creatinine-clearance": "Estimated creatinine clearance",
    "reported-egfr": "Reported estimated filtration rate",
    "rise": "Rise of a reported total",
}
AKI_STAGE_WORDS = {
    0: "No acute kidney injury",
    1: "Acute kidney injury stage 1",
    2: "Acute kidney injury stage 2",
    3: "Acute kidney injury stage 3",
}
KIND_WORDS: dict[Kind, str] = {kind: kind.value.replace("-", " ").capitalize() for kind in Kind}
SEVERITY = {
    Urgency.EMERGENCY: "high",
    Urgency.URGENT: "high",
    Urgency.PROMPT: "moderate",
    Urgency.ROUTINE: "low",
}
PRIORITY = {
    Urgency.EMERGENCY: "stat",
    Urgency.URGENT: "asap",
    Urgency.PROMPT: "urgent",
    Urgency.ROUTINE: "routine",
}
#: UCUM units as people write them.
UNIT_SIGNS = {unit.value: unit_sign(unit) for unit in Unit}


@dataclass(frozen=True, slots=True)
class Terms:
    """The local code systems under one base."""

    base: str = DEFAULT_BASE

    def coding(self, system: str, code: str, display: str = "") -> Json:
        """Return a coding in one of the local systems."""
        return standard(self.base + system, code, display)

    def concept(self, system: str, code: str, text: str) -> Json:
        """Return a concept in one of the local systems, with its words, which no display repeats."""
        return {"coding": [self.coding(system, code)], "text": text}


def standard(system: str, code: str, display: str = "") -> Json:
    """Return a coding in a standard system, with a display where the code is no word by itself."""
    coding = {"system": system, "code": code}
    if display:
        coding["display"] = display
    return coding


@lru_cache(maxsize=512)
def words_of(code: str) -> str:
    """Return a code of ours as words: 'not-json' -> 'Not json'."""
    return code.replace("-", " ").capitalize()


@lru_cache(maxsize=256)
def unit_fields(code: str) -> Mapping[str, str]:
    """Return the unit fields of a Quantity; a sign that is the code's own word does not stand beside it."""
    sign = UNIT_SIGNS.get(code, code)
    is_said = code in ("1", f"{{{sign}}}")
    return {"system": UCUM, "code": code} if is_said else {"unit": sign, "system": UCUM, "code": code}
