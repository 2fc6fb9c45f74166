"""A made-up population to measure with: whole wards of invented people, any number of them.

Everybody is a number and every value a seeded draw, so the same seed writes the same
bytes on any machine. Each patient has the types a bulk export holds: the person, a stay
with a bed, diagnoses, a drug chart and some 230 Observations over four days (bedside
sets in LOINC or SNOMED CT, blood results in two unit systems, and results that no rule
needs). One patient in five gets worse on the last day. Rows lie in order of time, as a
server hands them out, so the rows of one patient are spread over all files of a type.
"""

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random
from typing import NamedTuple, TextIO

_START = datetime(2026, 3, 9, 6, 0, tzinfo=UTC)
_ROUNDS = 22
_BEDS_A_WARD = 24
_UCUM = "http://unitsofmeasure.org"
_LOINC = "http://loinc.org"
_SNOMED = "http://snomed.info/sct"
_CATEGORY = "http://terminology.hl7.org/CodeSystem/observation-category"


class _Vital(NamedTuple):
    name: str
    loinc: str
    snomed: str
    display: str
    unit: str
    usual: float
    spread: float
    worse: float  # Added when the patient gets worse.
    digits: int


_VITALS = (
    _Vital("rr", "9279-1", "86290005", "Respiratory rate", "/min", 16, 1.5, 9, 0),
    _Vital("spo2", "59408-5", "431314004", "Oxygen saturation", "%", 97, 1.0, -6, 0),
    _Vital("pulse", "8867-4", "364075005", "Heart rate", "/min", 78, 8, 38, 0),
    _Vital("temp", "8310-5", "276885007", "Body temperature", "Cel", 36.8, 0.3, 1.6, 1),
)


class _Test(NamedTuple):
    name: str
    loinc: str
    display: str
    unit: str
    usual: float
    spread: float
    low: float
    high: float
    digits: int


_TESTS = (
    _Test("creatinine", "14682-9", "Creatinine", "umol/L", 82, 6, 59, 104, 0),
    _Test("potassium", "2823-3", "Potassium", "mmol/L", 4.2, 0.2, 3.5, 5.3, 1),
    _Test("sodium", "2951-2", "Sodium", "mmol/L", 139, 2, 133, 146, 0),
    _Test("haemoglobin", "718-7", "Haemoglobin", "g/L", 128, 5, 115, 165, 0),
    _Test("crp", "1988-5", "C reactive protein", "mg/L", 12, 6, 0, 5, 0),
    _Test("phosphate", "2777-1", "Phosphate", "mmol/L", 1.1, 0.1, 0.8, 1.5, 2),
    _Test("vitamin-d", "1989-3", "Calcidiol", "nmol/L", 55, 10, 50, 125, 0),
)
_DRUGS = (
    ("C09AA05", "Ramipril 5 mg capsules"),
    ("A10BA02", "Metformin 500 mg tablets"),
    ("M01AE01", "Ibuprofen 400 mg tablets"),
    ("N02BE01", "Paracetamol 500 mg tablets"),
    ("C03CA01", "Furosemide 40 mg tablets"),
    ("B01AF01", "Rivaroxaban 20 mg tablets"),
    ("J01GB03", "Gentamicin 80 mg injection"),
    ("N02AA01", "Morphine 10 mg injection"),
)
_PROBLEMS = (
    ("13645005", "Chronic obstructive pulmonary disease"),
    ("38341003", "Hypertension"),
    ("44054006", "Type 2 diabetes"),
    ("709044004", "Chronic kidney disease"),
    ("49436004", "Atrial fibrillation"),
    ("195967001", "Asthma"),
)


class Population(NamedTuple):
    """What was written, and where."""

    folder: Path
    patients: int
    lines: int
    observations: int
    bytes: int


class _Person(NamedTuple):
    number: int
    key: str
    snomed: bool
    zone: str
    in_mg: bool
    worse: bool
    scale: float


def write_population(folder: Path, *, patients: int, files: int = 4, seed: int = 7) -> Population:
    """Write a bulk export of a population.

    Args:
        folder: Where the NDJSON files go; made when it is not there.
        patients: How many people.
        files: How many files the Observations are spread over.
        seed: What the values are drawn from.
    """
    folder.mkdir(parents=True, exist_ok=True)
    people = [_person(number, Random(f"{seed}-{number}")) for number in range(patients)]
    written = observations = size = 0
    kinds = {
        "Location": _locations(patients),
        "Medication": _medications(),
        "Patient": map(_patient, people),
        "Encounter": map(_encounter, people),
        "Condition": (line for person in people for line in _conditions(person, seed)),
        "MedicationRequest": (line for person in people for line in _orders(person, seed)),
    }
    for kind, lines in kinds.items():
        with (folder / f"{kind}.ndjson").open("w", encoding="utf-8") as out:
            for line in lines:
                size += out.write(line)
                written += 1
    outs = [(folder / f"Observation.{n:03}.ndjson").open("w", encoding="utf-8") for n in range(files)]
    for round_number in range(_ROUNDS):
        for person in people:
            lines_of_round = list(_round(person, round_number, seed))
            size += _spread_over(outs, lines_of_round, person.number + round_number)
            observations += len(lines_of_round)
    for out in outs:
        out.close()
    return Population(folder, patients, written + observations, observations, size)


def _spread_over(outs: Sequence[TextIO], lines: list[str], first: int) -> int:
    return outs[first % len(outs)].write("".join(lines))


def _person(number: int, draw: Random) -> _Person:
    return _Person(
        number,
        f"p{number:06}",
        draw.random() < 0.4,
        draw.choice(("Z", "+00:00", "+01:00")),
        draw.random() < 0.3,
        draw.random() < 0.2,
        draw.uniform(0.85, 1.2),
    )


# What is not an Observation


def _locations(patients: int) -> Iterator[str]:
    for ward in range(1 + patients // _BEDS_A_WARD):
        yield (
            f'{{"resourceType":"Location","id":"ward-{ward}","status":"active","name":"Ward {ward + 1}",'
            '"physicalType":{"coding":[{"system":"http://terminology.hl7.org/CodeSystem/'
            'location-physical-type","code":"wa"}]}}\n'
        )
        for bed in range(_BEDS_A_WARD):
            yield (
                f'{{"resourceType":"Location","id":"ward-{ward}-bed-{bed}","status":"active",'
                f'"name":"Bed {bed + 1}","physicalType":{{"coding":[{{"system":"http://terminology.hl7.org/'
                f'CodeSystem/location-physical-type","code":"bd"}}]}},'
                f'"partOf":{{"reference":"Location/ward-{ward}"}}}}\n'
            )


def _medications() -> Iterator[str]:
    for code, text in _DRUGS:
        yield (
            f'{{"resourceType":"Medication","id":"drug-{code}","code":{{"coding":[{{"system":'
            f'"http://www.whocc.no/atc","code":"{code}"}}],"text":"{text}"}}}}\n'
        )


def _patient(person: _Person) -> str:
    born = 1930 + person.number * 7 % 75
    sex = "female" if person.number % 2 else "male"
    return (
        f'{{"resourceType":"Patient","id":"{person.key}","identifier":[{{"system":'
        f'"urn:made-up:hospital-number","value":"{person.number:08}"}}],"name":[{{"use":"official",'
        f'"family":"Person {person.number}","given":["Made Up"]}}],"gender":"{sex}",'
        f'"birthDate":"{born}-{1 + person.number % 12:02}-{1 + person.number % 28:02}"}}\n'
    )


def _encounter(person: _Person) -> str:
    ward, bed = divmod(person.number, _BEDS_A_WARD)
    return (
        f'{{"resourceType":"Encounter","id":"stay-{person.key}","status":"in-progress","class":{{"system":'
        f'"http://terminology.hl7.org/CodeSystem/v3-ActCode","code":"IMP"}},'
        f'"subject":{{"reference":"Patient/{person.key}"}},"period":{{"start":"2026-03-09T05:00:00Z"}},'
        f'"reasonCode":[{{"text":"Made-up reason {person.number % 9}"}}],'
        f'"location":[{{"location":{{"reference":"Location/ward-{ward}-bed-{bed}"}},"status":"active"}}]}}\n'
    )


def _conditions(person: _Person, seed: int) -> Iterator[str]:
    draw = Random(f"{seed}-{person.number}-conditions")
    for index, (code, text) in enumerate(draw.sample(_PROBLEMS, 2)):
        yield (
            f'{{"resourceType":"Condition","id":"{person.key}-problem-{index}","clinicalStatus":{{"coding":'
            f'[{{"system":"http://terminology.hl7.org/CodeSystem/condition-clinical","code":"active"}}]}},'
            f'"code":{{"coding":[{{"system":"{_SNOMED}","code":"{code}"}}],"text":"{text}"}},'
            f'"subject":{{"reference":"Patient/{person.key}"}}}}\n'
        )


def _orders(person: _Person, seed: int) -> Iterator[str]:
    draw = Random(f"{seed}-{person.number}-orders")
    for index, (code, text) in enumerate(draw.sample(_DRUGS, 4)):
        if index == 0:
            medicine = f'"medicationReference":{{"reference":"Medication/drug-{code}"}}'
        else:
            medicine = (
                '"medicationCodeableConcept":{"coding":[{"system":"http://www.whocc.no/atc",'
                f'"code":"{code}"}}],"text":"{text}"}}'
            )
        yield (
            f'{{"resourceType":"MedicationRequest","id":"{person.key}-drug-{index}","status":"active",'
            f'"intent":"order",{medicine},"subject":{{"reference":"Patient/{person.key}"}},'
            f'"authoredOn":"2026-03-09T09:{index:02}:00Z","dosageInstruction":[{{"text":"as charted",'
            '"timing":{"repeat":{"frequency":1,"period":1,"periodUnit":"d"}}}]}\n'
        )


# Observations


def _round(person: _Person, number: int, seed: int) -> Iterator[str]:
    draw = Random(f"{seed}-{person.number}-{number}")
    at = _START + timedelta(hours=4 * number, minutes=draw.randrange(40))
    worse = max(0.0, (number - _ROUNDS + 5) / 4) if person.worse else 0.0
    for vital in _VITALS:
        value = vital.usual + draw.gauss(0, vital.spread) + worse * vital.worse
        shown = f"{min(value, 100.0) if vital.unit == '%' else value:.{vital.digits}f}"
        code = (_SNOMED, vital.snomed) if person.snomed else (_LOINC, vital.loinc)
        yield _measured(person, f"{vital.name}-{number}", code, vital.display, at, shown, vital.unit)
    yield _pressure(person, number, at, 128 * person.scale - 45 * worse + draw.gauss(0, 6))
    yield _alert(person, number, at, worse=worse > 0.9)
    yield _oxygen(person, number, at, litres=2 if worse else 0)
    if number % 4 == 0:
        for test in _TESTS:
            value = test.usual * person.scale + draw.gauss(0, test.spread)
            if test.name == "creatinine":
                value *= 1 + worse
            yield _result(person, number, test, at + timedelta(minutes=50), value)
    # What no rule needs: a pain score and a weight.
    yield _measured(
        person,
        f"pain-{number}",
        (_LOINC, "72514-3"),
        "Pain severity",
        at,
        str(draw.randrange(10)),
        "{score}",
    )
    yield _measured(person, f"waist-{number}", (_LOINC, "56086-2"), "Waist", at, "93", "cm")


def _time(person: _Person, at: datetime) -> str:
    local = at + timedelta(hours=1) if person.zone == "+01:00" else at
    return f"{local:%Y-%m-%dT%H:%M:%S}{person.zone}"


def _head(person: _Person, name: str, category: str) -> str:
    return (
        f'{{"resourceType":"Observation","id":"{person.key}-{name}","meta":{{"versionId":"1"}},'
        f'"status":"final","category":[{{"coding":[{{"system":"{_CATEGORY}","code":"{category}"}}]}}],'
    )


def _tail(person: _Person) -> str:
    return (
        f'"subject":{{"reference":"Patient/{person.key}","display":"Person {person.number}, Made Up"}},'
        f'"encounter":{{"reference":"Encounter/stay-{person.key}"}}'
    )


def _quantity(value: str, unit: str) -> str:
    return f'{{"value":{value},"unit":"{unit}","system":"{_UCUM}","code":"{unit}"}}'


def _measured(
    person: _Person, name: str, code: tuple[str, str], display: str, at: datetime, value: str, unit: str
) -> str:
    return (
        f'{_head(person, name, "vital-signs")}"code":{{"coding":[{{"system":"{code[0]}","code":"{code[1]}",'
        f'"display":"{display}"}}]}},{_tail(person)},"effectiveDateTime":"{_time(person, at)}",'
        f'"valueQuantity":{_quantity(value, unit)}}}\n'
    )


def _pressure(person: _Person, number: int, at: datetime, systolic: float) -> str:
    parts = ",".join(
        f'{{"code":{{"coding":[{{"system":"{_LOINC}","code":"{code}"}}]}},'
        f'"valueQuantity":{_quantity(f"{value:.0f}", "mm[Hg]")}}}'
        for code, value in (("8480-6", systolic), ("8462-4", systolic * 0.6))
    )
    return (
        f'{_head(person, f"bp-{number}", "vital-signs")}"code":{{"coding":[{{"system":"{_LOINC}",'
        f'"code":"85354-9","display":"Blood pressure panel"}}]}},{_tail(person)},'
        f'"effectiveDateTime":"{_time(person, at)}","component":[{parts}]}}\n'
    )


def _alert(person: _Person, number: int, at: datetime, *, worse: bool) -> str:
    code, word = ("300202002", "Responds to voice") if worse else ("248234008", "Mentally alert")
    return (
        f'{_head(person, f"acvpu-{number}", "exam")}"code":{{"coding":[{{"system":"{_SNOMED}",'
        f'"code":"1104441000000107"}}]}},{_tail(person)},"effectiveDateTime":"{_time(person, at)}",'
        f'"valueCodeableConcept":{{"coding":[{{"system":"{_SNOMED}","code":"{code}","display":"{word}"}}]}}}}\n'
    )


def _oxygen(person: _Person, number: int, at: datetime, *, litres: int) -> str:
    if litres:
        code = (_LOINC, "3151-8")
        return _measured(person, f"o2-{number}", code, "Oxygen flow", at, str(litres), "L/min")
    return (
        f'{_head(person, f"o2-{number}", "vital-signs")}"code":{{"coding":[{{"system":"{_SNOMED}",'
        f'"code":"722742002","display":"Breathing room air"}}]}},{_tail(person)},'
        f'"effectiveDateTime":"{_time(person, at)}","valueBoolean":true}}\n'
    )


def _result(person: _Person, number: int, test: _Test, at: datetime, value: float) -> str:
    code, unit, scale, digits = test.loinc, test.unit, 1.0, test.digits
    if test.name == "creatinine" and person.in_mg:
        code, unit, scale, digits = "2160-0", "mg/dL", 1 / 88.42, 2
    low, high = (_quantity(f"{limit * scale:.{digits}f}", unit) for limit in (test.low, test.high))
    return (
        f'{_head(person, f"{test.name}-{number}", "laboratory")}"code":{{"coding":[{{"system":"{_LOINC}",'
        f'"code":"{code}","display":"{test.display}"}}]}},{_tail(person)},'
        f'"effectiveDateTime":"{_time(person, at)}","issued":"{_time(person, at + timedelta(minutes=45))}",'
        f'"valueQuantity":{_quantity(f"{max(value, 0.1) * scale:.{digits}f}", unit)},'
        f'"referenceRange":[{{"low":{low},"high":{high}}}]}}\n'
    )
