"""Records full of markers, and ways to spoil them: what must never be seen in a log.

Every text that a sender can choose holds the marker: names, ids, identifiers, notes,
displays, codes, units. Dates and numbers that could only come from the record are
markers as well.
"""

import json
from collections.abc import Callable, Iterator
from typing import Any

from tests.records import LOINC, UCUM, Json, bundle, observation, ordered, patient, problem, stay

MARKER = "Zanzibarquill"
BORN = "1903-07-19"
RATE = "131.77331"
#: The hospital number, which is shown beside the name.
NUMBER = "QX-904172"
#: What is looked for; case is ignored.
MARKERS = (MARKER.lower(), BORN, RATE, NUMBER.lower())

_MEDICAL_RECORD = {"system": "http://terminology.hl7.org/CodeSystem/v2-0203", "code": "MR"}


def leaks(text: str) -> list[str]:
    """Return the markers in a text, each with what stands around it."""
    low = text.lower()
    found = []
    for marker in MARKERS:
        at = low.find(marker)
        if at >= 0:
            found.append(text[max(0, at - 80) : at + 60])
    return found


def record(**changed: Any) -> Json:
    """Return a Bundle about one person; keyword arguments change its Observation."""
    subject = {"reference": f"Patient/{MARKER}", "display": f"{MARKER} the patient"}
    concept = {"coding": [{"system": LOINC, "code": "8867-4", "display": MARKER}], "text": MARKER}
    rate: Json = {
        "subject": subject,
        "code": concept,
        "valueQuantity": {"value": 0, "unit": MARKER, "system": UCUM, "code": "/min"},
        "note": [{"text": f"{MARKER} said so"}],
        **changed,
    }
    place = {"reference": f"Location/{MARKER}", "display": MARKER}
    resources = (
        _person(),
        {**observation(f"{MARKER}-rate", "", at="2026-03-01T10:00:00+00:00"), **rate},
        problem(f"{MARKER} syndrome", id=f"{MARKER}-condition", subject=subject),
        ordered(
            f"{MARKER}mycin 500 mg",
            id=f"{MARKER}-order",
            subject=subject,
            dosageInstruction=[{"text": f"{MARKER} daily"}],
        ),
        stay(
            id=f"{MARKER}-stay",
            subject=subject,
            reasonCode=[{"text": MARKER}],
            location=[{"location": place}],
        ),
    )
    return {**bundle(*resources, base="https://ehr.example"), "id": MARKER}


def _person() -> Json:
    return patient(
        BORN,
        id=MARKER,
        identifier=[
            {"system": "urn:ward:number", "value": f"{MARKER}-4711"},
            {"system": "urn:ward:record", "value": NUMBER, "type": {"coding": [_MEDICAL_RECORD]}},
        ],
        name=[{"family": MARKER, "given": [f"{MARKER}-given"], "text": f"Dr {MARKER}"}],
        telecom=[{"system": "phone", "value": f"{MARKER}-5550"}],
        address=[{"line": [f"{MARKER} street"], "city": MARKER}],
    )


def text(value: Any) -> bytes:
    """Encode with the number that is a marker in the place of 0."""
    return json.dumps(value).replace('"value": 0', f'"value": {RATE}').encode()


def good() -> bytes:
    """Return the record as it should be."""
    return text(record())


def spoilt() -> Iterator[tuple[str, bytes]]:
    """Yield bodies that are refused, or used in part; each has markers where it is wrong."""
    whole = good().decode()
    quantity: Callable[..., Json] = lambda **rest: {"valueQuantity": {"value": 0, **rest}}  # noqa: E731
    yield "not json", f'{{"name": "{MARKER}"'.encode()
    yield "words", MARKER.encode()
    yield "cut off", whole[: len(whole) // 2].encode()
    yield "nan", whole.replace(RATE, f"NaN{MARKER}").encode()
    yield "latin-1", whole.replace(MARKER, f"{MARKER}é").encode("latin-1")
    yield "no such type", text({"resourceType": MARKER, "id": MARKER})
    yield "type with a tail", text({"resourceType": f"Patient{MARKER}"})
    yield (
        "duplicate key",
        whole.replace('"id":', f'"{MARKER}": 1, "{MARKER}": 2, "id": "{MARKER}", "id":').encode(),
    )
    yield (
        "too deep",
        ('{"resourceType":"Bundle","a":' + "[" * 5000 + f'"{MARKER}"' + "]" * 5000 + "}").encode(),
    )
    yield "long number", whole.replace(RATE, RATE.replace(".", "") * 600).encode()
    yield "number as words", text(record(valueQuantity={"value": f"{MARKER} {BORN}"}))
    yield "unit unknown", text(record(**quantity(unit=MARKER, system=UCUM, code=MARKER)))
    yield "unit of another system", text(record(**quantity(unit=MARKER, system=f"urn:{MARKER}", code="x")))
    yield "status unknown", text(record(status=MARKER))
    yield "code unknown", text(record(code={"coding": [{"system": f"urn:{MARKER}", "code": MARKER}]}))
    yield "time unreadable", text(record(effectiveDateTime=f"{BORN}T{MARKER}"))
    yield "value a text", text(record(valueString=f"{MARKER}"))
    yield "somebody else's", text(record(subject={"reference": f"Patient/{MARKER}-other"}))
    yield "nobody's", text(record(subject={"display": MARKER}))
    yield "wrong shape", text(record(subject=[MARKER], code=MARKER))
    yield "modifier", text(record(modifierExtension=[{"url": f"urn:{MARKER}", "valueString": MARKER}]))
    yield "birth date wrong", whole.replace(f'"{BORN}"', f'"{BORN}-{MARKER}"').encode()
    yield "number a list", whole.replace(f'"{NUMBER}"', f'["{NUMBER}"]').encode()
    yield "gender wrong", whole.replace('"female"', f'"{MARKER}"').encode()
    yield (
        "two patients",
        text({"resourceType": "Bundle", "type": MARKER, "entry": [*record()["entry"], *_other_patient()]}),
    )
    yield "parameters", text(_parameters({"name": MARKER, "valueString": MARKER}))
    yield "as of what", text(_parameters({"name": "asOf", "valueDateTime": f"{BORN}-{MARKER}"}))
    yield "criteria", text(_parameters({"name": "criteria", "valueCode": MARKER}))
    yield "detail", text(_parameters({"name": "detail", "valueCode": MARKER}))
    yield "parameter twice", text(_parameters({"name": "record", "resource": record()}))
    yield "parameter of a shape", text({"resourceType": "Parameters", "parameter": MARKER})


def _parameters(*more: Json) -> Json:
    return {"resourceType": "Parameters", "parameter": [{"name": "record", "resource": record()}, *more]}


def _other_patient() -> list[Json]:
    return [{"resource": {"resourceType": "Patient", "id": f"{MARKER}-2", "name": [{"text": MARKER}]}}]
