"""Invented patients by the thousand, as a sender would write them, with what is known of each.

A patient is drawn from a seed: of any age, pregnant or not, with none or many rounds, results,
medicines, allergies and decisions, some of it in codes that nobody here reads. Beside the resources
stands what the writer knows and the review is not told: what is unread, which allergy meets which
medicine, which single sign is catastrophic. The laws of judgement are held against that.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from random import Random

from tests.records import ACVPU, LOINC, SNOMED, Json, bundle, observation, quantity, text

NOW = datetime(2026, 3, 12, 9, 0, tzinfo=UTC)
_CLINICAL = "http://terminology.hl7.org/CodeSystem/allergyintolerance-clinical"
_CATEGORY = "http://terminology.hl7.org/CodeSystem/observation-category"
_FLAGS = "http://terminology.hl7.org/CodeSystem/v3-ObservationInterpretation"
_ATC = "http://www.whocc.no/atc"

#: LOINC code, unit, lowest and highest value drawn, decimals.
_RESULTS: dict[str, tuple[str, str, float, float, int]] = {
    "potassium": ("2823-3", "mmol/L", 2.2, 7.2, 1),
    "sodium": ("2951-2", "mmol/L", 112, 165, 0),
    "creatinine": ("14682-9", "umol/L", 35, 600, 0),
    "lactate": ("2524-7", "mmol/L", 0.5, 9, 1),
    "glucose": ("15074-8", "mmol/L", 1.5, 40, 1),
    "haemoglobin": ("718-7", "g/L", 45, 180, 0),
    "platelets": ("777-3", "10*9/L", 8, 600, 0),
    "neutrophils": ("751-8", "10*9/L", 0.1, 30, 1),
    "troponin": ("89579-7", "ng/L", 2, 4000, 0),
}
#: The same where nothing is the matter.
_NORMAL_RESULTS: dict[str, tuple[float, float]] = {
    "potassium": (3.8, 4.8),
    "sodium": (136, 144),
    "creatinine": (62, 64),
    "glucose": (4.6, 6.2),
    "haemoglobin": (138, 141),
    "platelets": (220, 240),
    "neutrophils": (3.0, 5.0),
}
#: A creatinine of 62 is no normal one in a small child: 60 asks for a repeat there, our choice.
_NORMAL_CREATININE_BELOW_5 = (28, 30)
#: Codes that no release of ours reads, with words that name no known sign.
_UNREAD = (
    ("2132-9", "Vitamin B12", "ng/L", "300"),
    ("2276-4", "Ferritin", "ug/L", "2400"),
    ("2498-4", "Iron", "umol/L", "88"),
    ("1834-1", "Alpha-1-fetoprotein", "ug/L", "1900"),
)
#: A known sign in a code that is not read.
_UNREAD_KNOWN = (
    ("local-77", "Serum potassium", "mmol/L", "7.4"),
    ("local-78", "Blood lactate", "mmol/L", "8.1"),
    ("local-79", "Respiratory rate", "/min", "44"),
)
#: ATC code, name, the classes that an allergy may name.
_MEDICINES: dict[str, tuple[str, tuple[str, ...]]] = {
    "Co-amoxiclav": ("J01CR02", ("penicillin",)),
    "Piperacillin and tazobactam": ("J01CR05", ("penicillin",)),
    "Flucloxacillin": ("J01CF05", ("penicillin",)),
    "Gentamicin": ("J01GB03", ()),
    "Ibuprofen": ("M01AE01", ("nsaid",)),
    "Naproxen": ("M01AE02", ("nsaid",)),
    "Morphine": ("N02AA01", ("opioid",)),
    "Oxycodone": ("N02AA05", ("opioid",)),
    "Midazolam": ("N05CD08", ()),
    "Ramipril": ("C09AA05", ()),
    "Spironolactone": ("C03DA01", ()),
    "Furosemide": ("C03CA01", ()),
    "Bisoprolol": ("C07AB07", ()),
    "Metformin": ("A10BA02", ()),
    "Gliclazide": ("A10BB09", ()),
    "Insulin glargine": ("A10AE04", ()),
    "Prednisolone": ("H02AB06", ()),
    "Warfarin": ("B01AA03", ()),
    "Apixaban": ("B01AF02", ()),
    "Enoxaparin": ("B01AB05", ()),
    "Levodopa and carbidopa": ("N04BA02", ()),
    "Tacrolimus": ("L04AD02", ()),
    "Lithium carbonate": ("N05AN01", ()),
    "Digoxin": ("C01AA05", ()),
    "Clarithromycin": ("J01FA09", ("macrolide",)),
    "Paracetamol": ("N02BE01", ()),
}
_ALLERGY_WORDS = {
    "penicillin": ("Penicillin", "Penicillins", "Amoxicillin"),
    "nsaid": ("NSAIDs", "Ibuprofen"),
    "opioid": ("Morphine",),
    "macrolide": ("Macrolides", "Clarithromycin"),
}
_PROBLEMS = (
    "Community acquired pneumonia",
    "Urinary tract infection",
    "Chronic obstructive pulmonary disease",
    "Type 1 diabetes mellitus",
    "Type 2 diabetes mellitus",
    "Addison's disease",
    "Parkinson's disease",
    "Epilepsy",
    "Heart failure",
    "Atrial fibrillation",
    "Haematemesis",
    "Acute asthma",
    "Hypertension",
)
_CEILINGS = (
    "Not for non-invasive ventilation or intensive care",
    "Ward level care, not for intensive care",
    "Not for ventilation",
)


@dataclass
class Invented:
    """A patient, and what the writer knows of it.

    Attributes:
        is_quiet: Nothing is the matter: normal rounds and results, no problem, no medicine.
        age: In years; None where no birth date is written.
        newest: The values of the newest round by sign, empty without a round.
        newest_at: When that round was taken.
        is_whole: Whether nothing of NEWS2 is missing in it.
        unread: Something of the last 24 hours was sent that cannot be read.
        critical: Results of the last 24 hours whose newest value its sender flagged as critical.
        allergic_to: Ids of the orders that an active allergy to the substance or its class meets.
        running: Ids of orders that are active, or have a dose running.
        excludes_ventilation: A recorded ceiling excludes it.
    """

    seed: int
    resources: list[Json] = field(default_factory=list)
    is_quiet: bool = False
    age: int | None = None
    is_pregnant: bool = False
    newest: dict[str, float | str] = field(default_factory=dict)
    newest_at: datetime | None = None
    is_whole: bool = False
    unread: list[str] = field(default_factory=list)
    critical: list[str] = field(default_factory=list)
    allergic_to: set[str] = field(default_factory=set)
    running: set[str] = field(default_factory=set)
    has_orders: bool = False
    has_allergies: bool = False
    excludes_ventilation: bool = False
    is_dying: bool = False
    has_died: bool = False
    left_at: datetime | None = None
    spo2_may_be_low: bool = False
    pressure_may_be_low: bool = False

    @property
    def has_left(self) -> bool:
        """Whether the patient has left hospital, and was not measured after that."""
        return self.left_at is not None and not (self.newest_at is not None and self.newest_at > self.left_at)

    @property
    def is_open(self) -> bool:
        """Whether somebody may be called at all."""
        return not (self.is_dying or self.has_died or self.has_left)

    def body(self, *further: Json) -> bytes:
        """Return the record as a Bundle."""
        return text(bundle(*self.resources, *further))


def _normal(key: str, age: int | None) -> tuple[float, float]:
    """Return between what a result lies where nothing is the matter."""
    if key == "creatinine" and age is not None and age < 5:
        return _NORMAL_CREATININE_BELOW_5
    return _NORMAL_RESULTS.get(key, (0, 0))


def invented(seed: int) -> Invented:
    """Draw one patient."""
    draw = Random(seed)
    one = Invented(seed, is_quiet=draw.random() < 0.3)
    _person(one, draw)
    _stay(one, draw)
    _rounds(one, draw)
    _results(one, draw)
    _unread(one, draw)
    if not one.is_quiet:
        _problems(one, draw)
        _decisions(one, draw)
        _chart(one, draw)
    return one


def again(one: Invented, later: timedelta) -> list[Json]:
    """Return every measurement of the newest round and each newest result once more, some time later."""
    newest: dict[str, Json] = {}
    for resource in one.resources:
        if resource["resourceType"] == "Observation" and "T" in resource["effectiveDateTime"]:
            key = resource["id"].rpartition("-")[0]
            if key not in newest or newest[key]["effectiveDateTime"] < resource["effectiveDateTime"]:
                newest[key] = resource
    return [
        {
            **resource,
            "id": f"{resource['id']}-again",
            "effectiveDateTime": _written(datetime.fromisoformat(resource["effectiveDateTime"]) + later),
        }
        for resource in newest.values()
    ]


def _person(one: Invented, draw: Random) -> None:
    person: Json = {"resourceType": "Patient", "id": "p", "gender": draw.choice(("female", "male"))}
    if draw.random() < 0.95:
        days = draw.choice(
            (draw.randint(0, 90), draw.randint(91, 5 * 365), draw.randint(5 * 365, 16 * 365))
            if draw.random() < 0.25
            else (draw.randint(16 * 366, 104 * 365),)
        )
        born = (NOW - timedelta(days=days)).date()
        person["birthDate"] = born.isoformat()
        one.age = NOW.year - born.year - ((NOW.month, NOW.day) < (born.month, born.day))
    if draw.random() < 0.02:
        person["deceasedBoolean"] = True
        one.has_died = True
    one.resources.append(person)
    if person["gender"] == "female" and one.age is not None and 16 <= one.age < 48 and draw.random() < 0.4:
        one.is_pregnant = True
        one.resources.append(_condition("pregnant", "Pregnancy", code="77386006"))


def _stay(one: Invented, draw: Random) -> None:
    if draw.random() < 0.3:
        return
    has_left = draw.random() < 0.05
    period = {"start": _written(NOW - timedelta(days=4))}
    if has_left:
        one.left_at = NOW - timedelta(hours=draw.randint(1, 20))
        period["end"] = _written(one.left_at)
    one.resources.append(
        {
            "resourceType": "Encounter",
            "id": "stay",
            "status": "finished" if has_left else "in-progress",
            "class": {"system": "http://terminology.hl7.org/CodeSystem/v3-ActCode", "code": "IMP"},
            "subject": {"reference": "Patient/p"},
            "period": period,
        }
    )


def _rounds(one: Invented, draw: Random) -> None:
    count = draw.choice((0, 1, 1, 2, 3, 5, 8))
    if not count:
        return
    is_ill = draw.random() < 0.7 and not one.is_quiet
    last, apart = NOW - timedelta(minutes=draw.choice((0, 20, 60, 200, 500, 900))), draw.choice((2, 4, 6))
    for number in range(count):
        at = last - timedelta(hours=apart * (count - 1 - number))
        values = dict(_signs(draw, is_ill=is_ill and number >= count - 2, age=one.age))
        for key in [key for key in values if draw.random() < (0.01 if one.is_quiet else 0.05)]:
            del values[key]
        one.resources.extend(_measured(values, at, number))
        one.newest, one.newest_at = dict(values), at
    one.is_whole = len(one.newest) == 7


def _signs(draw: Random, *, is_ill: bool, age: int | None) -> Iterator[tuple[str, float | str]]:
    small = age is not None and age < 6
    child = age is not None and age < 16
    if not is_ill:
        yield "respiration-rate", draw.randint(22, 28) if small else draw.randint(13, 19)
        yield "spo2", draw.randint(96, 99)
        yield "oxygen", "air"
        yield "systolic-pressure", draw.randint(92, 105) if small else draw.randint(112, 138)
        yield "pulse", draw.randint(95, 115) if small else draw.randint(62, 88)
        yield "consciousness", "alert"
        yield "temperature", draw.choice((36.4, 36.8, 37.2))
        return
    yield (
        "respiration-rate",
        draw.choice((0, 6, 8, 9, 12, 22, 28, 36, 44)) if not child else draw.randint(8, 70),
    )
    yield "spo2", draw.choice((72, 84, 85, 88, 90, 92, 96, 99))
    yield "oxygen", draw.choice(("air", "oxygen"))
    yield "systolic-pressure", draw.choice((60, 84, 89, 90, 96, 118, 184, 226))
    yield "pulse", draw.choice((0, 34, 40, 41, 52, 88, 112, 131, 139, 140, 168))
    yield "consciousness", draw.choice(tuple(ACVPU))
    yield "temperature", draw.choice((31.5, 32.0, 34.2, 36.9, 38.4, 40.1))


_CODES = {
    "respiration-rate": ("9279-1", "/min"),
    "spo2": ("59408-5", "%"),
    "systolic-pressure": ("8480-6", "mm[Hg]"),
    "pulse": ("8867-4", "/min"),
    "temperature": ("8310-5", "Cel"),
}


def _measured(values: dict[str, float | str], at: datetime, number: int) -> Iterator[Json]:
    for key, value in values.items():
        name, when = f"{key}-{number}", _written(at)
        if key == "consciousness":
            answer = {"coding": [{"system": SNOMED, "code": ACVPU[str(value)]}]}
            yield observation(name, "1104441000000107", system=SNOMED, at=when, valueCodeableConcept=answer)
        elif key == "oxygen":
            code = "722742002" if value == "air" else "371825009"
            yield observation(name, code, system=SNOMED, at=when)
        else:
            code, unit = _CODES[key]
            yield observation(name, code, at=when, valueQuantity=quantity(str(value), unit))


def _results(one: Invented, draw: Random) -> None:
    for key, (code, unit, lowest, highest, decimals) in _RESULTS.items():
        low, high = _normal(key, one.age) if one.is_quiet else (lowest, highest)
        if not high:
            continue
        newest: tuple[datetime, bool] | None = None
        for number in range(draw.choice((0, 0, 1, 1, 2, 3))):
            at = NOW - timedelta(hours=draw.choice((1, 3, 9, 30, 70)), minutes=number)
            value = Decimal(str(round(draw.uniform(low, high), decimals)))
            when = at.date().isoformat() if draw.random() < 0.06 else _written(at)
            extra: Json = {}
            is_critical = draw.random() < 0.06 and not one.is_quiet and "T" in when
            if is_critical:
                extra["interpretation"] = [{"coding": [{"system": _FLAGS, "code": "HH"}]}]
            # A date alone may have been later in its day than any time of it.
            if newest is None or at > newest[0] or "T" not in when:
                newest = at, is_critical
            one.resources.append(
                observation(
                    f"{key}-{number}",
                    code,
                    at=when,
                    category=[{"coding": [{"system": _CATEGORY, "code": "laboratory"}]}],
                    valueQuantity=quantity(str(value), unit),
                    **extra,
                )
            )
        if newest is not None and newest[1] and NOW - newest[0] < timedelta(hours=24):
            one.critical.append(key)


def _unread(one: Invented, draw: Random) -> None:
    if draw.random() > 0.25:
        return
    code, name, unit, value = draw.choice((*_UNREAD, *_UNREAD_KNOWN))
    at = NOW - timedelta(hours=draw.choice((1, 5, 20, 40)))
    system = LOINC if "-" in code and code[0].isdigit() else "https://ward.example/codes"
    resource = observation(
        "unread",
        code,
        system=system,
        at=_written(at),
        category=[{"coding": [{"system": _CATEGORY, "code": "laboratory"}]}],
        valueQuantity=quantity(value, unit),
    )
    resource["code"]["text"] = name
    one.resources.append(resource)
    if NOW - at < timedelta(hours=24):
        one.unread.append(name)


def _problems(one: Invented, draw: Random) -> None:
    for number, name in enumerate(draw.sample(_PROBLEMS, draw.choice((0, 0, 1, 2, 4)))):
        one.resources.append(_condition(f"problem-{number}", name))


def _condition(identity: str, words: str, *, code: str = "") -> Json:
    concept: Json = {"text": words}
    if code:
        concept["coding"] = [{"system": SNOMED, "code": code}]
    return {
        "resourceType": "Condition",
        "id": identity,
        "subject": {"reference": "Patient/p"},
        "code": concept,
        "clinicalStatus": {
            "coding": [
                {"system": "http://terminology.hl7.org/CodeSystem/condition-clinical", "code": "active"}
            ]
        },
    }


def _decisions(one: Invented, draw: Random) -> None:
    if draw.random() < 0.12:
        one.excludes_ventilation = True
        one.resources.append(_flag("ceiling", draw.choice(_CEILINGS)))
    if draw.random() < 0.05:
        one.is_dying = True
        one.resources.append(_flag("dying", "End of life care: last days of life"))
    if draw.random() < 0.08:
        one.resources.append(_flag("dnacpr", "Not for attempted cardiopulmonary resuscitation"))
    if draw.random() < 0.08:
        one.spo2_may_be_low = True
        one.resources.append(_flag("target", "Target oxygen saturation 88-92 %"))


def _flag(identity: str, words: str) -> Json:
    return {
        "resourceType": "Flag",
        "id": identity,
        "status": "active",
        "subject": {"reference": "Patient/p"},
        "code": {"text": words},
        "period": {"start": _written(NOW - timedelta(days=1))},
    }


def _chart(one: Invented, draw: Random) -> None:
    allergies = draw.sample(sorted(_ALLERGY_WORDS), 1) if draw.random() < 0.3 else []
    for kind in allergies:
        one.has_allergies = True
        one.resources.append(
            {
                "resourceType": "AllergyIntolerance",
                "id": f"allergy-{kind}",
                "clinicalStatus": {"coding": [{"system": _CLINICAL, "code": "active"}]},
                "type": "allergy",
                "criticality": draw.choice(("high", "low", "unable-to-assess")),
                "code": {"text": draw.choice(_ALLERGY_WORDS[kind])},
                "patient": {"reference": "Patient/p"},
            }
        )
    for name in draw.sample(sorted(_MEDICINES), draw.choice((0, 0, 1, 3, 6, 12))):
        code, kinds = _MEDICINES[name]
        status = draw.choice(("active", "active", "active", "on-hold", "completed", "stopped"))
        identity = f"order-{code.lower()}"
        coding = {"system": _ATC, "code": code}
        one.has_orders = True
        if draw.random() < 0.1:
            one.resources.append(_given(identity, name, coding, draw))
            one.running.add(f"given-{identity}")
            continue
        if status in ("active", "on-hold"):
            one.running.add(identity)
            if set(kinds) & set(allergies):
                one.allergic_to.add(identity)
        one.resources.append(
            {
                "resourceType": "MedicationRequest",
                "id": identity,
                "status": status,
                "intent": "order",
                "subject": {"reference": "Patient/p"},
                "authoredOn": _written(NOW - timedelta(hours=draw.choice((2, 20, 60, 400)))),
                "medicationCodeableConcept": {"text": name, "coding": [coding]},
            }
        )


def _given(identity: str, name: str, coding: Json, draw: Random) -> Json:
    """Return an infusion that is running and has no order."""
    return {
        "resourceType": "MedicationAdministration",
        "id": f"given-{identity}",
        "status": "in-progress",
        "subject": {"reference": "Patient/p"},
        "effectivePeriod": {"start": _written(NOW - timedelta(hours=draw.choice((1, 6))))},
        "medicationCodeableConcept": {"text": name, "coding": [coding]},
        "dosage": {"route": {"text": "intravenous"}},
    }


def _written(moment: datetime) -> str:
    return moment.isoformat().replace("+00:00", "Z")
