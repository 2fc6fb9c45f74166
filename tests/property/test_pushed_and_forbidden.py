"""No medicine is ever both pushed and forbidden: by an allergy, a problem, a pair, a limit or a ceiling.

Ours: the fifth law over drawn charts. Pushed is what is urged to go on, to be given, or to come back;
forbidden is what is to be held, not started or not given together with what is taken.
"""

from random import Random
from typing import Any

import pytest

from tests.medicines.wards import order, problem, result
from tests.records import (
    AT,
    Json,
    answer_of,
    asked_for,
    earlier,
    flag,
    full_set,
    given,
    observation,
    patient,
    quantity,
)
from weatherglass.model.findings import Finding, Kind
from weatherglass.model.medicine_findings import InteractionFinding, MedicineFinding
from weatherglass.model.review import Review

_MEDICINES = (
    "Co-amoxiclav 625 mg", "Meropenem 1 g", "Clarithromycin 500 mg", "Co-trimoxazole 960 mg",
    "Gentamicin 240 mg intravenous", "Ciprofloxacin 500 mg", "Linezolid 600 mg", "Nitrofurantoin 100 mg",
    "Fluconazole 200 mg capsules", "Rifampicin 600 mg", "Vancomycin 1 g intravenous",
    "Warfarin 3 mg", "Apixaban 5 mg", "Dabigatran 150 mg", "Enoxaparin 40 mg injection", "Aspirin 75 mg",
    "Clopidogrel 75 mg", "Ibuprofen 400 mg", "Naproxen 500 mg", "Paracetamol 1 g", "Co-codamol 30/500",
    "Morphine 10 mg", "Tramadol 50 mg", "Pregabalin 75 mg", "Diazepam 5 mg", "Midazolam 10 mg",
    "Co-careldopa 25/100", "Metoclopramide 10 mg", "Haloperidol 1 mg", "Domperidone 10 mg",
    "Levetiracetam 500 mg", "Epilim 500 mg", "Carbamazepine 200 mg", "Priadel 400 mg", "Clozapine 100 mg",
    "Sertraline 50 mg", "Citalopram 20 mg", "Methotrexate 10 mg", "Azathioprine 50 mg", "Allopurinol 100 mg",
    "Adoport 1 mg", "Prednisolone 5 mg", "Hydrocortisone 10 mg", "Lantus 20 units", "Metformin 500 mg",
    "Pioglitazone 30 mg", "Ramipril 5 mg", "Losartan 50 mg", "Spironolactone 25 mg", "Sando-K",
    "Bisoprolol 5 mg", "Propranolol 40 mg", "Verapamil 80 mg", "Digoxin 125 micrograms", "Amiodarone 200 mg",
    "Simvastatin 40 mg", "Colchicine 500 micrograms", "Furosemide 40 mg", "Bendroflumethiazide 2.5 mg",
    "Desmopressin 100 micrograms tablets", "Pyridostigmine 60 mg", "Magnesium sulfate 1 g/hour infusion",
    "Carbimazole 20 mg", "Baclofen 10 mg", "Tizanidine 2 mg", "Theophylline 200 mg",
    "Dapagliflozin 10 mg", "Gliclazide 80 mg", "NovoRapid 8 units", "Actrapid 50 units in 50 mL infusion",
    "Lidocaine 2 mg/min intravenous infusion", "Codeine 30 mg", "Rasagiline 1 mg", "Pethidine 50 mg",
    "Bupivacaine 0.1% with fentanyl epidural infusion", "Phenytoin 300 mg",
    "Capecitabine 500 mg", "Doxycycline 100 mg", "Mycophenolate mofetil 500 mg", "Topiramate 50 mg",
)  # fmt: skip
_PROBLEMS = (
    "Parkinson's disease", "Epilepsy", "Myasthenia gravis", "Type 1 diabetes", "Addison's disease",
    "Kidney transplant", "Mechanical aortic valve", "Antiphospholipid syndrome", "Heart failure", "Asthma",
    "Acute severe asthma", "Liver cirrhosis", "Pneumonia", "Sepsis", "Melaena", "Cranial diabetes insipidus",
    "Pulmonary embolism", "Atrial fibrillation", "Acute myeloid leukaemia", "Haemodialysis",
    "Pregnancy, 24 weeks", "Epistaxis", "Nil by mouth", "Hepatic encephalopathy",
)  # fmt: skip
_ALLERGIES = (
    "Penicillin",
    "NSAIDs",
    "Opiates",
    "Macrolides",
    "Heparin",
    "Sulfonamides",
    "Levetiracetam",
    "Statins",
)
_RESULTS = {
    "K": ("3.0", "4.2", "5.7", "6.6"), "creatinine": ("70", "150", "320"),
    "eGFR": ("12", "28", "44", "90"), "INR": ("1.1", "2.6", "5.5", "9.0"), "glucose": ("2.4", "7.0", "18"),
    "SBP": ("82", "96", "130"), "HR": ("38", "46", "80"), "RR": ("7", "16", "28"), "GCS": ("8", "13", "15"),
    "Mg": ("0.5", "0.9", "4.0"), "platelets": ("20", "45", "250"),
}  # fmt: skip
_FURTHER = {
    "neutrophils": ("751-8", "10*9/L", ("0.2", "1.2", "5.0")),
    "ALT": ("1742-6", "U/L", ("30", "400", "2400")),
    "QTc": ("8636-3", "ms", ("420", "530")),
}
_BORN = ("2026-02-10", "2024-05-01", "2017-05-01", "2010-05-01", "1996-05-01", "1981-05-01", "1960-05-01",
         "1941-05-01", None)  # fmt: skip
_STATUSES = ("active", "active", "active", "on-hold", "stopped", "draft")


def chart(seed: int) -> list[Json]:
    """Return an invented person with problems, allergies, results and a chart, all drawn."""
    draw = Random(seed)
    found: list[Json] = [_person(Random(f"person {seed}")), result("Na", "140", AT)]
    for number, text in enumerate(draw.sample(_MEDICINES, draw.choice((1, 4, 8, 14)))):
        found.append({**_ordered(text, draw), "id": f"m{number}"})
    for number, text in enumerate(draw.sample(_PROBLEMS, draw.choice((0, 1, 3)))):
        found.append({**problem(text, since=earlier(f"{draw.choice((1, 20, 400))} d")), "id": f"c{number}"})
    for number, text in enumerate(draw.sample(_ALLERGIES, draw.choice((0, 0, 1, 2)))):
        found.append(_allergy(number, text, draw))
    found += [
        result(name, draw.choice(_RESULTS[name]), earlier(f"{draw.choice((1, 6))} h"))
        for name in draw.sample(sorted(_RESULTS), draw.choice((0, 2, 5)))
    ]
    for name in draw.sample(sorted(_FURTHER), draw.choice((0, 1, 2))):
        code, unit, values = _FURTHER[name]
        found.append(observation(name, code, valueQuantity=quantity(draw.choice(values), unit)))
    if draw.random() < 0.15:
        found.append(_dying())
    if draw.random() < 0.5:
        found.append(_given(draw))
    if draw.random() < 0.25:
        found.append(_asked_for(draw))
    return found


def _asked_for(draw: Random) -> Json:
    return asked_for(
        draw.choice(("Nil by mouth", "Laparotomy", "Hip replacement", "CT with contrast")),
        authoredOn=earlier("3 h"),
    )


def _person(draw: Random) -> Json:
    return {**patient(draw.choice(_BORN)), "gender": draw.choice(("female", "female", "male"))}


def _ordered(text: str, draw: Random) -> Json:
    written = earlier(f"{draw.choice((3, 30, 300))} h")
    if draw.random() < 0.15:
        return {
            "resourceType": "MedicationStatement",
            "status": "active",
            "subject": {"reference": "Patient/p"},
            "medicationCodeableConcept": {"text": text},
        }
    rest: dict[str, Any] = {"status": draw.choice(_STATUSES), "authoredOn": written}
    if draw.random() < 0.4:
        rest["dosageInstruction"] = [{"timing": {"repeat": {"timeOfDay": ["06:00:00", "18:00:00"]}}}]
    return order(text, **rest)


def _allergy(number: int, text: str, draw: Random) -> Json:
    return {
        "resourceType": "AllergyIntolerance",
        "id": f"a{number}",
        "patient": {"reference": "Patient/p"},
        "criticality": draw.choice(("high", "low")),
        "code": {"text": text},
    }


def _dying() -> Json:
    return flag("End of life care: last days of life")


def _given(draw: Random) -> Json:
    return given(draw.choice(_MEDICINES), earlier("2 h"), id="g")


def forbidden(review: Review) -> dict[str, str]:
    """Return the orders that something speaks against, each with what it is."""
    found: dict[str, str] = {}
    for one in review.findings:
        if isinstance(one, InteractionFinding):
            found |= {str(each): one.key for each in one.against}
        elif isinstance(one, MedicineFinding):
            refuses = one.action in ("hold", "avoid") or (one.kind is Kind.ALLERGY and one.action == "review")
            if refuses or one.hold_stands:
                found[str(one.order)] = one.key
    return found


def pushed(review: Review) -> dict[str, str]:
    """Return the orders that something urges, each with what it is."""
    return {order: one.key for one in review.findings for order in _orders_pushed(one)}


def _orders_pushed(finding: Finding) -> list[str]:
    if isinstance(finding, MedicineFinding):
        urges = finding.action == "continue" or "continue" in finding.also
        urges = urges or finding.sentence.startswith("Consider restarting")
        urges = urges or "make sure that it has been given" in finding.sentence
        return [str(finding.order)] if urges else []
    return [str(each) for each in finding.evidence] if finding.key == "doses-not-given" else []


#: Antibacterials, and what speaks for and against each of them; nothing published is checked.
_ANTIBACTERIALS = (
    "Co-amoxiclav 625 mg", "Meropenem 1 g", "Clarithromycin 500 mg", "Erythromycin 500 mg",
    "Linezolid 600 mg", "Co-trimoxazole 960 mg", "Trimethoprim 200 mg", "Gentamicin 240 mg intravenous",
    "Ciprofloxacin 500 mg", "Nitrofurantoin 100 mg", "Vancomycin 1 g intravenous", "Doxycycline 100 mg",
    "Ceftriaxone 2 g",
)  # fmt: skip
_BESIDE = (
    "Methotrexate 10 mg", "Sertraline 50 mg", "Epilim 500 mg", "Simvastatin 40 mg", "Ticagrelor 90 mg",
    "Ramipril 5 mg", "Spironolactone 25 mg", "Warfarin 3 mg", "Theophylline 200 mg",
)  # fmt: skip


def _septic(seed: int) -> list[Json]:
    """Return somebody with pneumonia and NEWS2 8 to whom no antibacterial was given, the rest drawn."""
    draw = Random(seed)
    signs = {
        "respiration_rate": "26 /min",
        "pulse": "118 /min",
        "temperature": "38.6 Cel",
        "systolic_pressure": "98 mm[Hg]",
    }
    found = [_person(draw), *full_set(**signs), {**problem("Pneumonia", since=earlier("2 d")), "id": "c"}]
    drawn = draw.sample(_ANTIBACTERIALS, draw.choice((1, 2, 4))) + draw.sample(
        _BESIDE, draw.choice((0, 1, 3))
    )
    for number, text in enumerate(drawn):
        found.append({**order(text, authoredOn=earlier("3 h")), "id": f"m{number}"})
    for number, text in enumerate(draw.sample(_SPEAKING, draw.choice((0, 1, 2)))):
        found.append({**problem(text), "id": f"c{number}"})
    for number, text in enumerate(draw.sample(_ALLERGIES, draw.choice((0, 0, 1)))):
        found.append(_allergy(number, text, draw))
    for name, values in _LEVELS.items():
        if draw.random() < 0.4:
            found.append(result(name, draw.choice(values), earlier("1 h")))
    return found


_SPEAKING = ("Myasthenia gravis", "Pregnancy, 24 weeks", "Epilepsy", "Haemodialysis", "Atrial fibrillation")
_LEVELS = {"K": ("2.3", "4.2", "6.4"), "Mg": ("0.38", "0.9"), "eGFR": ("12", "24", "80"),
           "creatinine": ("80", "320")}  # fmt: skip


def _asked_for_in_sepsis(review: Review) -> set[str]:
    """Return the medicines of which the sentence about sepsis asks whether they were given."""
    told = [one.sentence for one in review.findings if one.kind is Kind.SEPSIS_RISK]
    asked = [one for each in told for one in each.split("; ") if "ask whether it was given" in one]
    return {name for one in asked for name in one.partition(" on the chart")[0].rsplit(" ", 1)[0].split(", ")}


@pytest.mark.parametrize("part", range(4))
def test_no_antibacterial_is_asked_for_that_the_chart_forbids(part: int) -> None:
    asked_at_all = 0
    for seed in range(part * 60, part * 60 + 60):
        chart_of = _septic(seed)
        (review,) = answer_of(*chart_of).reviews
        names = {f"MedicationRequest/{one['id']}": _text(one) for one in chart_of if "intent" in one}
        asked = _asked_for_in_sepsis(review)
        asked_at_all += len(asked)
        both = asked & {names[each] for each in forbidden(review) if each in names}
        assert not both, (seed, both, [f.sentence for f in review.findings if f.kind is Kind.SEPSIS_RISK])
    assert asked_at_all > 40


def _text(one: Json) -> str:
    return str(one["medicationCodeableConcept"]["text"])


@pytest.mark.parametrize("part", range(8))
def test_nothing_is_both(part: int) -> None:
    for seed in range(part * 75, part * 75 + 75):
        (review,) = answer_of(*chart(seed)).reviews
        both = forbidden(review).keys() & pushed(review).keys()
        assert not both, (seed, {each: (forbidden(review)[each], pushed(review)[each]) for each in both})


def test_the_charts_hold_both_kinds() -> None:
    """The law is not kept by silence: of 200 charts many urge and many forbid."""
    reviews = [answer_of(*chart(seed)).reviews[0] for seed in range(200)]
    assert sum(bool(pushed(each)) for each in reviews) > 25
    assert sum(bool(forbidden(each)) for each in reviews) > 80
