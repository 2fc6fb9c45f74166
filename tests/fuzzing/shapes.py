"""Bodies that grow in one direction only: the cost of each must grow no faster than its size.

Every shape is asked for by a size, and by a salt that makes two bodies of one size different
texts, so that nothing kept from the first makes the second one cheap.
"""

import gc
import math
import random
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from typing import NamedTuple

from tests.records import (
    ACVPU,
    SNOMED,
    Json,
    bundle,
    given,
    observation,
    ordered,
    patient,
    problem,
    procedure,
    quantity,
    stay,
)
from tests.records import text as encoded
from weatherglass.fhir.issues import UnreadableError
from weatherglass.pipeline import review
from weatherglass.stamp import stamp

#: Four times the size may cost this many times as much.
MOST_GROWTH = 6.0
#: Below this the clock is not exact enough, and nobody is kept waiting.
_FLOOR_SECONDS = 0.1
_START = datetime(2026, 3, 1, tzinfo=UTC)
_SUBJECT = {"reference": "Patient/p"}


class Shape(NamedTuple):
    """One direction to grow in.

    Attributes:
        size: The smaller of two sizes to compare.
        body: Makes a body of a size with a salt.
    """

    size: int
    body: Callable[[int, str], bytes]


def hostile(number: int) -> bytes:
    """Return a body of one of the shapes, of a size and a salt that its number gives."""
    draw = random.Random(number)
    shape = SHAPES[draw.choice(sorted(SHAPES))]
    return shape.body(max(1, int(shape.size * draw.uniform(0.01, 0.3))), f"h{number}")


def growth(shape: Shape, tries: int = 9) -> tuple[float, float]:
    """Return how many times as much CPU four times the size costs, and the seconds it costs.

    The least of several tries counts, and there is no other try once one is good enough.
    """
    small = large = math.inf
    for turn in range(tries):
        small = min(small, _seconds(shape.body(shape.size, f"s{turn}")))
        large = min(large, _seconds(shape.body(4 * shape.size, f"l{turn}")))
        if large <= MOST_GROWTH * max(small, _FLOOR_SECONDS):
            break
    return large / max(small, _FLOOR_SECONDS), large


def _seconds(body: bytes) -> float:
    # What else is in memory is no cost of this body, so nothing is collected meanwhile.
    gc.collect()
    gc.disable()
    try:
        began = time.process_time()
        with suppress(UnreadableError):
            review(body).collection(stamp())
        return time.process_time() - began
    finally:
        gc.enable()


def _at(minutes: int) -> str:
    return (_START + timedelta(minutes=minutes)).isoformat().replace("+00:00", "Z")


def _bundle(*resources: Json) -> bytes:
    return encoded(bundle(patient("1950-01-01"), *resources, base=""))


def _observation(number: int, code: str, value: float, unit: str, at: str, person: str = "p") -> Json:
    about, measured = {"reference": f"Patient/{person}"}, quantity(str(value), unit)
    return observation(f"o{number}-{code}", code, at=at, subject=about, valueQuantity=measured)


def _round(number: int, person: str = "p") -> Iterator[Json]:
    at = _at(15 * number)
    yield _observation(number, "9279-1", 14 + number % 9, "/min", at, person)
    yield _observation(number, "59408-5", 93 + number % 6, "%", at, person)
    yield _observation(number, "8480-6", 110 + number % 31, "mm[Hg]", at, person)
    yield _observation(number, "8867-4", 80 + number % 40, "/min", at, person)
    yield _observation(number, "8310-5", 36.5 + number % 20 / 10, "Cel", at, person)


# Texts


def _texts(resource: Callable[[str], Json], text: Callable[[int], str]) -> Callable[[int, str], bytes]:
    return lambda size, salt: _bundle(resource(f"{salt} {text(size)}"))


def _problem_with_many_names(text: str) -> Json:
    codings = [{"system": "urn:x", "code": f"{n}", "display": word} for n, word in enumerate(text.split(";"))]
    return problem("", code={"coding": codings})


def _plan(text: str) -> Json:
    shared = {"subject": _SUBJECT, "status": "active", "intent": "plan", "created": _at(0)}
    return {"resourceType": "CarePlan", "id": "k", "title": text, "description": text, **shared}


def _named_plan(text: str) -> Json:
    named = observation("named", "x", system="urn:x", at=_at(0), valueString=text)
    return {**named, "code": {"text": text}}


def _procedure(text: str) -> Json:
    return procedure(text, performedDateTime=_at(0))


def _fluid(text: str) -> Json:
    return given("Sodium chloride 0.9% infusion", _at(0), id="m", dosage={"text": text})


def _order(text: str, code: str = "", number: int = 0) -> Json:
    dosage = [{"text": text, "route": {"text": text}}]
    return ordered(text, code, id=f"q{number}", authoredOn=_at(number), dosageInstruction=dosage)


def _coded_order(text: str) -> Json:
    return _order("", "A10" + text.replace(" ", ""))


def _noted(text: str) -> Json:
    return {**_observation(0, "8867-4", 80, "/min", _at(0)), "note": [{"text": text}], "valueString": text}


def _answered(text: str) -> Json:
    concept = {"coding": [{"system": SNOMED, "code": ACVPU["alert"]}], "text": text}
    return observation("o0-x", "1104441000000107", system=SNOMED, at=_at(0), valueCodeableConcept=concept)


def _stay(text: str) -> Json:
    said = [{"text": text}]
    return stay(type=said, reasonCode=said, location=[{"location": {"display": text}}])


def _person(text: str) -> Json:
    return patient(text, id="p2", name=[{"text": text, "family": text}])


# Counts


def _locations(size: int, salt: str) -> bytes:
    places = [{"resourceType": "Location", "id": f"{salt}w{n}", "name": f"Ward {n}"} for n in range(size)]
    held = [
        {
            "location": {"reference": f"Location/{salt}w{n}"},
            "period": {"start": _at(n), "end": _at(n + 1)},
        }
        for n in range(size)
    ]
    return _bundle(*places, {**_stay(""), "location": held})


def _dialysis(size: int, salt: str, samples: int = 0) -> bytes:
    sessions = [
        procedure(
            "Haemodialysis",
            "302497006",
            id=f"{salt}d{n}",
            performedPeriod={"start": _at(60 * n), "end": _at(60 * n + 30)},
        )
        for n in range(size)
    ]
    results = (
        _observation(n, "14682-9", 300 + n % 50, "umol/L", _at(60 * size + 6000 * (n + 1)))
        for n in range(samples)
    )
    return _bundle(*sessions, *results)


def _urine(size: int, salt: str) -> bytes:
    volumes = (_observation(n, "9187-6", 20 + n % 60, "mL", _at(60 * n)) for n in range(size))
    return _bundle(_observation(0, "29463-7", 70, "kg", _at(0)), *volumes, problem(salt))


def _versions(size: int, salt: str) -> bytes:
    one = _observation(0, "8867-4", 80, "/min", _at(0))
    versions = (
        {**one, "meta": {"versionId": str(n), "lastUpdated": _at(n)}, "issued": _at(n)} for n in range(size)
    )
    return _bundle(*versions, problem(salt))


def _patients(size: int, salt: str) -> bytes:
    people = ({"resourceType": "Patient", "id": f"{salt}p{n}"} for n in range(size))
    rounds = (_observation(n, "8867-4", 80, "/min", _at(n), f"{salt}p{n}") for n in range(size))
    return _bundle(*people, *rounds)


def _rounds(size: int, salt: str) -> bytes:
    return _bundle(*(one for n in range(size) for one in _round(n)), problem(salt))


def _results(code: str, unit: str, base: float) -> Callable[[int, str], bytes]:
    def body(size: int, salt: str) -> bytes:
        series = (_observation(n, code, base * (1 + n % 13 / 10), unit, _at(360 * n)) for n in range(size))
        return _bundle(*series, problem(salt))

    return body


def _orders(size: int, salt: str) -> bytes:
    return _bundle(*(_order(f"Ibuprofen {n} mg {salt}", "M01AE01", n) for n in range(size)))


def _doses(size: int, salt: str) -> bytes:
    doses = (
        {**_fluid(f"500 ml {salt}"), "id": f"m{n}", "effectiveDateTime": _at(30 * n)} for n in range(size)
    )
    return _bundle(*doses, *_round(0))


def _orders_and_doses(name: str, dose: str = "500 mg four times daily") -> Callable[[int, str], bytes]:
    def body(size: int, salt: str) -> bytes:
        orders = (
            ordered(f"{name} {salt}", id=f"o{n}", dosageInstruction=[{"text": dose}]) for n in range(size)
        )
        doses = ({**given(f"{name} {salt}", _at(n % 1_200)), "id": f"d{n}"} for n in range(size))
        return _bundle(*orders, *doses, *_round(0))

    return body


def _ended_orders(size: int, salt: str) -> bytes:
    over = [{"timing": {"repeat": {"boundsPeriod": {"start": _at(-90_000), "end": _at(-600)}}}}]
    ended = (
        ordered(f"Prednisolone {salt}", id=f"e{n}", status="stopped", dosageInstruction=over)
        for n in range(size)
    )
    here = (_order(f"Amlodipine {n} mg {salt}", "C08CA01", n) for n in range(size))
    return _bundle(*ended, *here, *_round(0))


def _on_hold_and_in_use(size: int, salt: str) -> bytes:
    held = (ordered(f"Lantus {salt}", id=f"h{n}", status="on-hold") for n in range(size))
    needed = [{"asNeededBoolean": True, "text": "when needed"}]
    here = (ordered(f"Toujeo {salt}", id=f"o{n}", dosageInstruction=needed) for n in range(size))
    doses = ({**given(f"Lantus {salt}", _at(n % 1_200)), "id": f"d{n}"} for n in range(size))
    return _bundle(*held, *here, *doses, *_round(0))


def _preventive_doses(size: int, salt: str) -> bytes:
    daily = ordered(
        f"Co-trimoxazole 480 mg {salt}", id="o", dosageInstruction=[{"text": "480 mg once daily"}]
    )
    doses = ({**given(f"Co-trimoxazole 480 mg {salt}", _at(-n)), "id": f"d{n}"} for n in range(size))
    before = ({**given(f"Amoxicillin {salt}", _at(-20_000 - n)), "id": f"b{n}"} for n in range(size))
    return _bundle(problem("Pneumonia"), daily, *doses, *before, *_round(0))


def _troponin_after_operations(size: int, salt: str) -> bytes:
    done = (
        {**procedure(f"Coronary artery bypass graft {salt}", performedDateTime=_at(n)), "id": f"r{n}"}
        for n in range(size)
    )
    results = (_observation(n, "67151-1", 100 + n % 70, "ng/L", _at(7 * n)) for n in range(size))
    return _bundle(*done, *results)


def _conditions(size: int, salt: str) -> bytes:
    return _bundle(*({**problem(f"Heart failure {n} {salt}"), "id": f"c{n}"} for n in range(size)))


def _plans(size: int, salt: str) -> bytes:
    return _bundle(*({**_plan(f"Not for ICU {n} {salt}"), "id": f"k{n}"} for n in range(size)), *_round(0))


def _inside_one(size: int, salt: str) -> bytes:
    """Return one Observation that holds its results."""
    held = [_observation(n, "2823-3", 4, "mmol/L", _at(0)) for n in range(size)]
    return _bundle({**_observation(-1, "85354-9", 4, "mmol/L", _at(0)), "contained": held, "issued": salt})


def _faulty(size: int, salt: str) -> bytes:
    return _bundle(*({**_observation(n, f"{salt}{n}", 1, "?", "soon"), "status": "odd"} for n in range(size)))


# Bytes


def _unclosed(size: int, salt: str) -> bytes:
    return b'{"resourceType":"Bundle","x":"' + salt.encode() + b'\\"' * size + b"\x01"


def _unclosed_in_brackets(size: int, salt: str) -> bytes:
    return b'{"resourceType":"Bundle","x":' + b"[" * 3000 + salt.encode() + b'\\"' * size


def _brackets(size: int, salt: str) -> bytes:
    return b'{"resourceType":"Bundle","' + salt.encode() + b'":' + b"[{" * size + b"}]" * size + b"}"


def _long_numbers(size: int, salt: str) -> bytes:
    return b'{"resourceType":"Bundle","' + salt.encode() + b'":' + b"9" * size + b"}"


def _deep_entries(size: int, salt: str) -> bytes:
    deep = b'{"resourceType":"Basic","x":' + b"[" * 3000 + b"]" * 3000 + b"}"
    plain = b"," + encoded({"resource": _observation(0, salt, 1, "%", _at(0))})
    return b'{"resourceType":"Bundle","entry":[{"resource":' + deep + b"}" + plain * size + b"]}"


SHAPES: Mapping[str, Shape] = {
    "string-never-closed": Shape(8_000, _unclosed),
    "string-never-closed-after-brackets": Shape(8_000, _unclosed_in_brackets),
    "brackets": Shape(20_000, _brackets),
    "number-of-many-digits": Shape(100_000, _long_numbers),
    "one-too-deep-among-many": Shape(1_000, _deep_entries),
    "condition-words": Shape(20_000, _texts(problem, lambda n: "history of no " * (n // 14))),
    "condition-long-word": Shape(40_000, _texts(problem, lambda n: "x" * n)),
    "condition-digits": Shape(20_000, _texts(problem, lambda n: "88 " * (n // 3))),
    "condition-clauses": Shape(20_000, _texts(problem, lambda n: "no asthma, excluded; " * (n // 21))),
    "condition-names": Shape(1_500, _texts(_problem_with_many_names, lambda n: "no asthma excluded;" * n)),
    "plan-words": Shape(20_000, _texts(_plan, lambda n: "DNACPR " * (n // 7))),
    "plan-ranges": Shape(20_000, _texts(_plan, lambda n: "aim spo2 88-92 rate " * (n // 20))),
    "plan-full-stops": Shape(20_000, _texts(_plan, lambda n: "DNACPR " + "." * n + "x")),
    "plan-sentences": Shape(20_000, _texts(_plan, lambda n: "Not for ICU 7. " * (n // 15))),
    "procedure-words": Shape(20_000, _texts(_procedure, lambda n: "ct with and with without " * (n // 25))),
    "fluid-digits": Shape(8_000, _texts(_fluid, lambda n: "1" * n)),
    "fluid-volumes": Shape(8_000, _texts(_fluid, lambda n: "5 ml " * (n // 5))),
    "code-of-many-letters": Shape(60_000, _texts(_coded_order, lambda n: "B" * n)),
    "medicine-words": Shape(20_000, _texts(_order, lambda n: "insulin sodium potassium " * (n // 25))),
    "note-words": Shape(40_000, _texts(_noted, lambda n: "haemolys " * (n // 9))),
    "answer-words": Shape(40_000, _texts(_answered, lambda n: "- _ " * (n // 4))),
    "place-words": Shape(40_000, _texts(_stay, lambda n: "post high dependency " * (n // 21))),
    "name-words": Shape(40_000, _texts(_person, lambda n: "Quill " * (n // 6))),
    "locations": Shape(1_500, _locations),
    "dialysis-sessions": Shape(1_500, _dialysis),
    "dialysis-and-creatinine": Shape(800, lambda size, salt: _dialysis(size, salt, size)),
    "urine-volumes": Shape(2_400, _urine),
    "versions": Shape(1_500, _versions),
    "patients": Shape(150, _patients),
    "rounds": Shape(300, _rounds),
    "creatinine": Shape(800, _results("14682-9", "umol/L", 80)),
    "potassium": Shape(1_000, _results("2823-3", "mmol/L", 4)),
    "glucose": Shape(1_000, _results("15074-8", "mmol/L", 5)),
    "orders": Shape(300, _orders),
    "doses": Shape(1_000, _doses),
    "orders-and-doses": Shape(150, _orders_and_doses("Morphine")),
    "paracetamol-and-doses": Shape(100, _orders_and_doses("Paracetamol")),
    "prevention-and-doses": Shape(150, _orders_and_doses("Co-trimoxazole", "480 mg orally once daily")),
    "ended-orders": Shape(400, _ended_orders),
    "on-hold-and-in-use": Shape(500, _on_hold_and_in_use),
    "preventive-doses": Shape(1_500, _preventive_doses),
    "troponin-after-operations": Shape(300, _troponin_after_operations),
    "conditions": Shape(800, _conditions),
    "plans": Shape(600, _plans),
    "inside-one": Shape(1_500, _inside_one),
    "plan-names": Shape(20_000, _texts(_named_plan, lambda n: "not for attempted cpr " * (n // 22))),
    "faulty-entries": Shape(1_000, _faulty),
}
