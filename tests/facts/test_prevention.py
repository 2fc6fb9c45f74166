"""Antibacterials that only prevent: usual preventive doses, from memory."""

from typing import Any

import pytest

from tests.records import (
    Json,
    answer_of,
    earlier,
    full_set,
    given,
    ordered,
    patient,
    problem,
    procedure,
    reading_of,
)
from weatherglass.facts.infection.prevention import only_prevents
from weatherglass.model.record.medicines import MedicineOrder


def _order(medicine: str, dose: str, **rest: Any) -> Json:
    return ordered(medicine, dosageInstruction=[{"text": dose}], authoredOn=earlier("3 d"), **rest)


@pytest.mark.parametrize(
    ("medicine", "dose", "is_so"),
    [
        ("Co-trimoxazole", "480 mg oral once daily", True),
        ("Co-trimoxazole", "960 mg oral three times a week", True),
        ("Co-trimoxazole", "960 mg oral twice daily", False),
        ("Co-trimoxazole", "480 mg oral twice daily", True),
        ("Co-trimoxazole", "480 mg intravenous once daily", False),
        ("Trimethoprim", "100 mg oral at night", True),
        ("Trimethoprim", "200 mg oral twice daily", False),
        ("Nitrofurantoin", "50 mg oral at night", True),
        ("Nitrofurantoin", "50 mg oral four times daily", False),
        ("Norfloxacin", "400 mg oral once daily", True),
        ("Norfloxacin", "400 mg oral twice daily", False),
        ("Cefalexin", "250 mg oral at night", True),
        ("Cefalexin", "500 mg oral three times daily", False),
        ("Amoxicillin", "250 mg oral once daily", True),
        ("Amoxicillin", "250 mg oral twice daily", False),
        ("Erythromycin", "250 mg oral twice daily", True),
        ("Erythromycin", "500 mg oral four times daily", False),
        ("Phenoxymethylpenicillin", "250 mg oral twice daily", True),
        ("Phenoxymethylpenicillin", "500 mg oral twice daily", True),
        ("Phenoxymethylpenicillin", "250 mg oral four times daily", False),
        ("Phenoxymethylpenicillin", "500 mg oral four times daily", False),
        ("Azithromycin", "250 mg oral three times a week", True),
        ("Azithromycin", "250 mg oral Mon/Wed/Fri", True),
        ("Azithromycin", "250 mg oral once daily", False),
        ("Ciprofloxacin", "500 mg oral once daily", True),
        ("Ciprofloxacin", "250 mg oral twice daily", False),
        ("Doxycycline", "100 mg oral once daily", False),
        ("Trimethoprim", "as directed", False),
    ],
)
def test_a_dose_that_only_prevents(medicine: str, dose: str, is_so: bool) -> None:
    assert only_prevents(_line(_order(medicine, dose))) is is_so


def _line(*resources: Json) -> MedicineOrder:
    ((_, record),) = reading_of(patient(), *resources).records
    return record.orders[0]


def test_a_reason_outweighs_the_dose() -> None:
    treats = _order("Trimethoprim", "100 mg oral at night", reasonCode=[{"text": "Urinary tract infection"}])
    assert not only_prevents(_line(treats))


@pytest.mark.parametrize(
    ("words", "before", "is_suspected"),
    [
        ("1.5 g once", "24 h", False),
        ("1.5 g once", "25 h", True),
        ("1.5 g once", "-4 h", False),
        ("1.5 g once", "-5 h", True),
        ("1.5 g three times daily", "1 h", True),
    ],
)
def test_one_dose_around_an_operation_prevents(words: str, before: str, is_suspected: bool) -> None:
    """Ours: ordered from a day before an operation to four hours after its beginning."""
    began = earlier("30 h")
    done = procedure("Hemiarthroplasty of hip", "", performedDateTime=began)
    dose = ordered("Cefuroxime", dosageInstruction=[{"text": words}], authoredOn=earlier(before, began))
    answer = answer_of(patient(), *full_set(), done, dose)
    told = " ".join(finding.sentence for finding in answer.reviews[0].findings)
    assert ("Suspected infection" in told) is is_suspected


@pytest.mark.parametrize(
    ("dose", "is_treated"), [("480 mg oral once daily", False), ("960 mg oral twice daily", True)]
)
def test_prevention_treats_no_infection(dose: str, is_treated: bool) -> None:
    """A pneumonia was "already treated" by tablets against another germ."""
    pneumonia = problem("Pneumonia", onsetDateTime=earlier("5 h"), recordedDate=earlier("5 h"))
    answer = answer_of(
        patient(),
        *full_set(respiration_rate="26 /min", spo2="91 %", pulse="115 /min", temperature="38.9 Cel"),
        pneumonia,
        _order("Co-trimoxazole", dose),
        given("Co-trimoxazole", earlier("2 h")),
    )
    assert (
        "already treated" in answer.reviews[0].headline or "given" in answer.reviews[0].headline
    ) is is_treated


@pytest.mark.parametrize(
    ("done", "words", "is_treated"),
    [
        ("ERCP", "500 mg oral once", False),
        ("ERCP", "500 mg oral twice daily", True),
        ("CT head", "500 mg oral once", True),
    ],
)
def test_one_dose_for_a_procedure_treats_no_sepsis_after_it(done: str, words: str, is_treated: bool) -> None:
    """Ours: sepsis six hours after an ERCP was "already treated" by the dose before it."""
    answer = answer_of(
        patient(),
        *full_set(respiration_rate="26 /min", spo2="91 %", pulse="115 /min", temperature="38.9 Cel"),
        problem("Cholangitis", onsetDateTime=earlier("2 h"), recordedDate=earlier("2 h")),
        procedure(done, "", performedDateTime=earlier("7 h")),
        ordered("Ciprofloxacin", dosageInstruction=[{"text": words}], authoredOn=earlier("8 h")),
        given("Ciprofloxacin", earlier("8 h")),
    )
    assert ("already treated" in answer.reviews[0].headline) is is_treated
    told = " ".join(finding.sentence for finding in answer.reviews[0].findings)
    assert (" was for prevention" in told) is not is_treated


@pytest.mark.parametrize(("dose", "is_asked"), [("2.5 mg", True), ("5 mg", False)])
def test_what_only_prevents_a_clot_does_not_answer_an_embolism(dose: str, is_asked: bool) -> None:
    """The label's dose after a new knee, from memory; twice that treats."""
    answer = answer_of(
        patient(),
        *full_set(spo2="88 %", pulse="112 /min"),
        procedure("Total knee replacement", "", performedDateTime=earlier("72 h")),
        ordered(
            "Apixaban", dosageInstruction=[{"text": f"{dose} oral twice daily"}], authoredOn=earlier("70 h")
        ),
    )
    assert ("Pulmonary embolism?" in " ".join(f.sentence for f in answer.reviews[0].findings)) is is_asked
