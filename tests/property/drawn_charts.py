"""Drug charts drawn from a seed: medicines, problems, allergies, results; nobody real."""

from random import Random
from typing import Any

from tests.medicines.wards import order, problem, result
from tests.records import AT, Json, asked_for, earlier, flag, given, observation, patient, quantity

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


ALLERGIES = (
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
    found: list[Json] = [person(Random(f"person {seed}")), result("Na", "140", AT)]
    for number, text in enumerate(draw.sample(_MEDICINES, draw.choice((1, 4, 8, 14)))):
        found.append({**_ordered(text, draw), "id": f"m{number}"})
    for number, text in enumerate(draw.sample(_PROBLEMS, draw.choice((0, 1, 3)))):
        found.append({**problem(text, since=earlier(f"{draw.choice((1, 20, 400))} d")), "id": f"c{number}"})
    for number, text in enumerate(draw.sample(ALLERGIES, draw.choice((0, 0, 1, 2)))):
        found.append(allergy(number, text, draw))
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


def person(draw: Random) -> Json:
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


def allergy(number: int, text: str, draw: Random) -> Json:
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
