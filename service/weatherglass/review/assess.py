"""Every question of the review, in the order in which it is asked."""

from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import datetime

from weatherglass.assessments.breathing.asthma import assess_asthma
from weatherglass.assessments.breathing.blood_gas import assess_blood_gas
from weatherglass.assessments.breathing.hypoxaemia import assess_hypoxaemia
from weatherglass.assessments.breathing.oxygen import assess_oxygen
from weatherglass.assessments.breathing.trends_oxygen import assess_oxygen_requirement
from weatherglass.assessments.breathing.venous_gas import assess_venous_gas
from weatherglass.assessments.infection.neutropenic_sepsis import assess_neutropenic_sepsis
from weatherglass.assessments.infection.sepsis_risk import assess_sepsis_risk
from weatherglass.assessments.infection.sepsis_signs import assess_sepsis_signs
from weatherglass.assessments.kidneys.aki_course import assess_aki_course
from weatherglass.assessments.kidneys.aki_kdigo import assess_kdigo
from weatherglass.assessments.kidneys.aki_warning import assess_aki_warning
from weatherglass.assessments.kidneys.kidney_function import assess_kidney_function
from weatherglass.assessments.results.adrenal_crisis import assess_adrenal_crisis
from weatherglass.assessments.results.bleeding import assess_bleeding
from weatherglass.assessments.results.critical_results import assess_critical_results
from weatherglass.assessments.results.cushing import assess_cushing
from weatherglass.assessments.results.head_injury import assess_head_injury
from weatherglass.assessments.results.high_pressure import assess_high_pressure
from weatherglass.assessments.results.hyperosmolar import assess_hyperosmolar_state
from weatherglass.assessments.results.ketoacidosis import assess_ketoacidosis
from weatherglass.assessments.results.reported_flags import (
    assess_not_judged,
    assess_reported_flags,
    without_repeats,
)
from weatherglass.assessments.results.seizures import assess_seizures
from weatherglass.assessments.results.troponin import assess_troponin
from weatherglass.assessments.scores.early_warning import assess_early_warning
from weatherglass.assessments.scores.maternity_criteria import assess_maternity_criteria
from weatherglass.assessments.scores.modified_early_warning import assess_modified_early_warning
from weatherglass.assessments.scores.paediatric_score import assess_paediatric_score
from weatherglass.assessments.scores.sepsis_screens import assess_sepsis_screens
from weatherglass.assessments.scores.shock_index import assess_shock_index
from weatherglass.assessments.scores.single_signs import assess_single_signs
from weatherglass.assessments.scores.trends_score import assess_score_trends
from weatherglass.assessments.trends.consciousness import assess_consciousness
from weatherglass.assessments.trends.low_pressure import assess_low_pressure
from weatherglass.assessments.trends.trends_laboratory import assess_laboratory_trends
from weatherglass.assessments.trends.trends_pressure import assess_pressure_trend
from weatherglass.assessments.trends.trends_pulse import assess_pulse_trend
from weatherglass.assessments.trends.trends_vital_signs import assess_vital_sign_trends
from weatherglass.assessments.trends.usual_values import assess_usual_values
from weatherglass.assessments.ward.artefacts import assess_artefacts
from weatherglass.assessments.ward.comorbidities import assess_comorbidities
from weatherglass.assessments.ward.concern import assess_concern
from weatherglass.assessments.ward.operation import assess_operation
from weatherglass.assessments.ward.overdue import assess_overdue
from weatherglass.assessments.ward.step_down import assess_step_down
from weatherglass.assessments.ward.treatment_response import assess_treatment_response
from weatherglass.facts.bedside import Bedside
from weatherglass.medicines.allergies import assess_allergies
from weatherglass.medicines.assess import assess_medicines
from weatherglass.medicines.expected_medicines import assess_expected_medicines
from weatherglass.model.findings import Finding, Review
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.record import Record
from weatherglass.review.selection import Selection
from weatherglass.review.synthesis import synthesise

Assessment = Callable[[Bedside], Iterable[Finding]]

#: Read from top to bottom. None knows another; what several need is on the `Bedside`.
ASSESSMENTS: tuple[Assessment, ...] = (
    assess_single_signs,
    assess_consciousness,
    assess_early_warning,
    assess_paediatric_score,
    assess_maternity_criteria,
    assess_modified_early_warning,
    assess_sepsis_screens,
    assess_shock_index,
    assess_kdigo,
    assess_aki_warning,
    assess_aki_course,
    assess_kidney_function,
    assess_score_trends,
    assess_vital_sign_trends,
    assess_oxygen,
    assess_oxygen_requirement,
    assess_pressure_trend,
    assess_low_pressure,
    assess_pulse_trend,
    assess_critical_results,
    assess_troponin,
    assess_ketoacidosis,
    assess_hyperosmolar_state,
    assess_adrenal_crisis,
    assess_high_pressure,
    assess_cushing,
    assess_head_injury,
    assess_seizures,
    assess_laboratory_trends,
    assess_bleeding,
    assess_blood_gas,
    assess_venous_gas,
    assess_hypoxaemia,
    assess_asthma,
    assess_sepsis_risk,
    assess_neutropenic_sepsis,
    assess_sepsis_signs,
    assess_concern,
    assess_overdue,
    assess_treatment_response,
    assess_step_down,
    assess_operation,
    assess_comorbidities,
    assess_reported_flags,
    assess_not_judged,
    assess_artefacts,
    assess_usual_values,
    assess_allergies,
    assess_expected_medicines,
    assess_medicines,
)


def _go_on() -> None:
    """Nothing is in the way."""


def assess(
    record: Record,
    as_of: datetime,
    choices: LocalChoices,
    only: Selection | None = None,
    *,
    between: Callable[[], None] = _go_on,
) -> Review:
    """Review one patient as the record stood at a moment.

    Args:
        record: The whole record; what is later than `as_of` is not looked at.
        as_of: The moment of the review.
        choices: What the site has chosen.
        only: What was asked for; everything when None.
        between: Called before each question; may raise to end the review.
    """
    bedside = Bedside(record.until(as_of), as_of, choices)
    found: list[Finding] = []
    for assessment in ASSESSMENTS:
        between()
        found.extend(assessment(bedside))
    if only is None:
        return synthesise(bedside, without_repeats(found))
    taken = without_repeats(finding for finding in found if only.takes(finding))
    review = synthesise(bedside, taken, is_narrowed=True)
    return replace(review, cautions=(only.caution, *review.cautions))
