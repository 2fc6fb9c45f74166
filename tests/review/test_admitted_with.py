"""What somebody was admitted with is read as the problem list: many a record lists it nowhere else."""

import pytest

from tests.charts import bedside, chart, reading, reason
from tests.records import Json, answer_of, earlier, full_set, measured, ordered, patient, problem, stay
from weatherglass.facts.infection.sepsis import recorded_sepsis
from weatherglass.facts.results.high_creatinine import is_high_without_a_range
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Signal

_BEGAN = earlier("6 h")


def _keys(*resources: Json) -> set[tuple[str, str]]:
    (review,) = answer_of(*resources).reviews
    return {(one.key, one.urgency.word) for one in review.findings if one.urgency}


def _low() -> list[Json]:
    potassium = measured("k", "potassium", "5.8", "mmol/L")
    return [*full_set(systolic_pressure="84 mm[Hg]", pulse="118 /min"), potassium]


@pytest.mark.parametrize(
    ("words", "signs", "chart_line", "expected"),
    [
        ("Diarrhoea and vomiting", full_set(), ordered("Ramipril 5 mg", "C09AA05"), "fluid-loss-raas"),
        ("Head injury", full_set(), ordered("Apixaban 5 mg", "B01AF02"), "head-injury-anticoagulant"),
        ("Sepsis", full_set(), ordered("Ibuprofen 400 mg", "M01AE01"), "sepsis-nsaid"),
        (
            "Heparin-induced thrombocytopenia",
            full_set(),
            ordered("Enoxaparin 40 mg", "B01AB05"),
            "allergy-heparin",
        ),
        ("Addison's disease", _low(), None, "adrenal-crisis"),
        (
            "Spinal cord injury T4",
            full_set(systolic_pressure="190 mm[Hg]", pulse="50 /min"),
            None,
            "autonomic-dysreflexia",
        ),
        ("Parkinson's disease", full_set(), ordered("Paracetamol 1 g", "N02BE01"), "parkinsons"),
        ("Type 1 diabetes", full_set(), ordered("Paracetamol 1 g", "N02BE01"), "type-1-diabetes"),
        ("Alcohol withdrawal", full_set(), ordered("Paracetamol 1 g", "N02BE01"), "alcohol"),
        ("Kidney transplant", full_set(), ordered("Paracetamol 1 g", "N02BE01"), "transplant"),
        ("Epilepsy", full_set(), ordered("Paracetamol 1 g", "N02BE01"), "epilepsy"),
    ],
)
def test_the_reason_of_a_stay_is_read_as_the_problem_list(
    words: str, signs: list[Json], chart_line: Json | None, expected: str
) -> None:
    """The same words of the same hour ask for the same, wherever they stand."""
    line = [{**chart_line, "authoredOn": earlier("4 d")}] if chart_line is not None else []
    rest = [patient(), *signs, *line, measured("hr", "pulse", "76", "/min", at=earlier("30 h"))]
    listed = _keys(*rest, stay(period={"start": _BEGAN}), problem(words, onsetDateTime=_BEGAN))
    came = _keys(*rest, stay(period={"start": _BEGAN}, reasonCode=[{"text": words}]))
    assert expected in {key for key, _ in listed}
    assert came == listed


@pytest.mark.parametrize(("hours", "counts"), [(71, True), (73, False)])
def test_sepsis_that_somebody_came_with_counts_for_3_days(hours: float, counts: bool) -> None:
    """Ours: nobody closes the reason of a stay."""
    record = chart({}, reasons=(reason(ConditionKind.SEPSIS, hours=hours, inpatient=True),))
    assert bool(recorded_sepsis(bedside(record))) is counts


def test_a_stay_that_is_over_and_a_request_say_nothing_of_now() -> None:
    """The reason of an earlier stay is past; what a test was asked for is no admission."""
    over = reason(ConditionKind.SEPSIS, hours=30, ends=10, inpatient=True)
    asked = reason(ConditionKind.SEPSIS, hours=5)
    assert recorded_sepsis(bedside(chart({}, reasons=(over, asked)))) == ()


def test_a_chronic_disease_that_somebody_came_with_is_known() -> None:
    """Ours: a high creatinine without a range is no news in it."""
    creatinine = reading(Signal.CREATININE, 1, 190)
    known = reason(ConditionKind.CHRONIC_KIDNEY_DISEASE, hours=5, inpatient=True)
    for reasons, is_news in (((), True), ((known,), False)):
        at = bedside(chart({Signal.CREATININE: [creatinine]}, reasons=reasons))
        assert is_high_without_a_range(at, creatinine) is is_news
