"""Every question of the review, in the order in which it is asked, with what it can find."""

from types import ModuleType

from weatherglass.assessments.blood.bleeding import assess_bleeding
from weatherglass.assessments.blood.block_and_heparin import assess_block_and_heparin, assess_planned_block
from weatherglass.assessments.blood.microangiopathy import assess_microangiopathy
from weatherglass.assessments.blood.obstetric_blood import assess_obstetric_blood
from weatherglass.assessments.blood.transfusion_reaction import assess_transfusion_reaction
from weatherglass.assessments.brain.cushing import assess_cushing
from weatherglass.assessments.brain.dysreflexia import assess_dysreflexia
from weatherglass.assessments.brain.epidural import assess_epidural
from weatherglass.assessments.brain.head_injury import assess_head_injury
from weatherglass.assessments.brain.seizures import assess_seizures
from weatherglass.assessments.breathing.asthma import assess_asthma
from weatherglass.assessments.breathing.blood_gas import assess_blood_gas
from weatherglass.assessments.breathing.exhaustion import assess_exhaustion
from weatherglass.assessments.breathing.high_flow import assess_high_flow
from weatherglass.assessments.breathing.hypoxaemia import assess_hypoxaemia
from weatherglass.assessments.breathing.oxygen import assess_oxygen
from weatherglass.assessments.breathing.trends_oxygen import assess_oxygen_requirement
from weatherglass.assessments.breathing.venous_gas import assess_venous_gas
from weatherglass.assessments.breathing.vital_capacity import assess_vital_capacity
from weatherglass.assessments.emergencies.acute_problems import assess_acute_problems
from weatherglass.assessments.emergencies.anaphylaxis import assess_anaphylaxis
from weatherglass.assessments.emergencies.crises import assess_crises
from weatherglass.assessments.emergencies.high_pressure import assess_high_pressure
from weatherglass.assessments.emergencies.rescue_doses import assess_rescue_doses
from weatherglass.assessments.infection.after_bowel_surgery import assess_after_bowel_surgery
from weatherglass.assessments.infection.neutropenic_sepsis import assess_neutropenic_sepsis
from weatherglass.assessments.infection.sepsis_risk import assess_sepsis_risk
from weatherglass.assessments.infection.sepsis_signs import assess_sepsis_signs
from weatherglass.assessments.kidneys.aki_course import assess_aki_course
from weatherglass.assessments.kidneys.aki_kdigo import assess_kdigo
from weatherglass.assessments.kidneys.aki_warning import assess_aki_warning
from weatherglass.assessments.kidneys.kidney_function import assess_kidney_function
from weatherglass.assessments.metabolic.adrenal_crisis import assess_adrenal_crisis
from weatherglass.assessments.metabolic.cerebral_oedema import assess_cerebral_oedema
from weatherglass.assessments.metabolic.hyperosmolar import assess_hyperosmolar_state
from weatherglass.assessments.metabolic.ketoacidosis import assess_ketoacidosis
from weatherglass.assessments.metabolic.magnesium import assess_magnesium
from weatherglass.assessments.metabolic.refeeding import assess_refeeding
from weatherglass.assessments.metabolic.sodium_change import assess_sodium_change
from weatherglass.assessments.metabolic.tumour_lysis import assess_tumour_lysis
from weatherglass.assessments.metabolic.unexplained_gap import assess_unexplained_gap
from weatherglass.assessments.results.critical_results import assess_critical_results
from weatherglass.assessments.results.liver import assess_liver
from weatherglass.assessments.results.newborn_jaundice import assess_newborn_jaundice
from weatherglass.assessments.results.newborn_weight import assess_newborn_weight
from weatherglass.assessments.results.reported_flags import assess_not_judged, assess_reported_flags
from weatherglass.assessments.results.troponin import assess_troponin
from weatherglass.assessments.scores.child_in_shock import assess_child_in_shock
from weatherglass.assessments.scores.early_warning import assess_early_warning
from weatherglass.assessments.scores.maternity_criteria import assess_maternity_criteria
from weatherglass.assessments.scores.mean_pressure import assess_mean_pressure
from weatherglass.assessments.scores.modified_early_warning import assess_modified_early_warning
from weatherglass.assessments.scores.organ_failure import assess_organ_failure
from weatherglass.assessments.scores.paediatric_score import assess_paediatric_score
from weatherglass.assessments.scores.recorded_reasons import (
    assess_coagulation,
    assess_delirium,
    assess_heparin,
    assess_phoenix,
    assess_pneumonia,
)
from weatherglass.assessments.scores.sepsis_screens import assess_sepsis_screens
from weatherglass.assessments.scores.shock_index import assess_shock_index
from weatherglass.assessments.scores.signs_of_life import assess_signs_of_life
from weatherglass.assessments.scores.single_signs import assess_single_signs
from weatherglass.assessments.trends.consciousness import assess_consciousness
from weatherglass.assessments.trends.low_pressure import assess_low_pressure
from weatherglass.assessments.trends.slow_decline import assess_slow_decline
from weatherglass.assessments.trends.trends_laboratory import assess_laboratory_trends
from weatherglass.assessments.trends.trends_pressure import assess_pressure_trend
from weatherglass.assessments.trends.trends_pulse import assess_pulse_trend
from weatherglass.assessments.trends.trends_score import assess_score_trends
from weatherglass.assessments.trends.trends_vital_signs import assess_vital_sign_trends
from weatherglass.assessments.trends.usual_values import assess_usual_values
from weatherglass.assessments.ward.artefacts import assess_artefacts
from weatherglass.assessments.ward.comorbidities import assess_comorbidities
from weatherglass.assessments.ward.concern import assess_concern
from weatherglass.assessments.ward.fluid_balance import assess_fluid_balance
from weatherglass.assessments.ward.last_days import assess_last_days
from weatherglass.assessments.ward.operation import assess_operation
from weatherglass.assessments.ward.overdue import assess_overdue
from weatherglass.assessments.ward.step_down import assess_step_down
from weatherglass.assessments.ward.treatment_response import assess_treatment_response
from weatherglass.assessments.ward.watched_infusions import assess_watched_infusions
from weatherglass.knowledge.scores import four_at_2014, news2_2017, shock_index
from weatherglass.knowledge.scores.bedside_pews_2009 import BEDSIDE_PEWS
from weatherglass.knowledge.scores.maternal_criteria_2014 import MATERNAL_CRITERIA
from weatherglass.knowledge.scores.mews_2001 import MEWS
from weatherglass.knowledge.scores.points import (
    curb_65_2003,
    four_ts_2006,
    isth_dic_2001,
    organ_failure,
    phoenix_2024,
)
from weatherglass.knowledge.scores.qsofa_2016 import QSOFA
from weatherglass.knowledge.scores.sirs_1992 import SIRS
from weatherglass.medicines.allergies import assess_allergies
from weatherglass.medicines.assess import assess_medicines
from weatherglass.medicines.expected_medicines import assess_expected_medicines
from weatherglass.medicines.orders.depots import assess_depots
from weatherglass.medicines.orders.doses_due import assess_doses_due
from weatherglass.medicines.orders.ended_orders import assess_ended_orders
from weatherglass.medicines.orders.given_twice import assess_given_twice
from weatherglass.medicines.orders.reconciliation import assess_home_doses, assess_reconciliation
from weatherglass.model.findings import Kind
from weatherglass.model.tables.scores import ScoreDefinition
from weatherglass.review.question import KIDNEY_EDITIONS, Question, question


def _scores(*definitions: ScoreDefinition) -> set[str]:
    return {name for each in definitions for name in (each.key, each.public_key)}


def _kidney(criterion: str) -> set[str]:
    return {criterion, KIDNEY_EDITIONS[criterion]}


_SHOCK_INDEX = {shock_index.KEY, shock_index.AGE_KEY, shock_index.PUBLIC_KEY}
_ORGAN_FAILURE = {organ_failure.SOFA, organ_failure.SOFA_2, organ_failure.PUBLIC_KEY}


def _of(*modules: ModuleType) -> set[str]:
    return {name for module in modules for name in (module.KEY, module.PUBLIC_KEY)}


_A_SCORE = (Kind.SCORE, Kind.SCORE_NOT_APPLICABLE)
_A_SCORE_THAT_IS_SENT = (*_A_SCORE, Kind.REPORTED_SCORE, Kind.REPORTED_SCORE_DISAGREES)
_MEDICINES = (
    Kind.MEDICINE,
    Kind.MEDICINE_RESTART,
    Kind.MEDICINE_INTERACTION,
    Kind.MEDICINE_NOT_REVIEWED,
)

#: Asked from top to bottom. None knows another; what several need is on the `Bedside`.
QUESTIONS: tuple[Question, ...] = (
    question(assess_signs_of_life, Kind.SINGLE_SIGN),
    question(assess_single_signs, Kind.SINGLE_SIGN),
    question(assess_mean_pressure, Kind.SINGLE_SIGN, Kind.CONTEXT),
    question(assess_consciousness, Kind.SINGLE_SIGN),
    question(
        assess_early_warning,
        *_A_SCORE_THAT_IS_SENT,
        Kind.SINGLE_SIGN,
        names=_scores(news2_2017.NEWS2),
    ),
    question(
        assess_paediatric_score,
        *_A_SCORE_THAT_IS_SENT,
        names=_scores(BEDSIDE_PEWS[0].definition),
    ),
    question(
        assess_maternity_criteria,
        *_A_SCORE_THAT_IS_SENT,
        Kind.OXYGEN_REQUIREMENT,
        names=_scores(MATERNAL_CRITERIA),
    ),
    question(assess_modified_early_warning, *_A_SCORE, names=_scores(MEWS)),
    question(assess_sepsis_screens, *_A_SCORE, names=_scores(QSOFA, SIRS)),
    question(assess_shock_index, *_A_SCORE, names=_SHOCK_INDEX),
    question(assess_organ_failure, Kind.SCORE, names=_ORGAN_FAILURE),
    question(assess_phoenix, Kind.SCORE, names=_of(phoenix_2024)),
    question(assess_pneumonia, Kind.SCORE, names=_of(curb_65_2003)),
    question(assess_coagulation, Kind.SCORE, names=_of(isth_dic_2001)),
    question(assess_heparin, Kind.SCORE, names=_of(four_ts_2006)),
    question(assess_delirium, Kind.SCORE, names=_of(four_at_2014)),
    question(assess_kdigo, Kind.AKI_STAGE, names=_kidney("aki-kdigo")),
    question(assess_aki_warning, Kind.AKI_STAGE, names=_kidney("aki-warning-stage")),
    question(assess_aki_course, Kind.AKI_COURSE),
    question(assess_kidney_function, Kind.KIDNEY_FUNCTION),
    question(assess_score_trends, Kind.SCORE_TREND),
    question(assess_vital_sign_trends, Kind.VITAL_SIGN_TREND),
    question(assess_slow_decline, Kind.VITAL_SIGN_TREND),
    question(assess_oxygen, Kind.OXYGEN_TARGET),
    question(assess_oxygen_requirement, Kind.OXYGEN_REQUIREMENT),
    question(assess_pressure_trend, Kind.VITAL_SIGN_TREND, Kind.SINGLE_SIGN),
    question(assess_low_pressure, Kind.LONG_STANDING_LOW_PRESSURE),
    question(assess_pulse_trend, Kind.VITAL_SIGN_TREND),
    question(assess_critical_results, Kind.CRITICAL_RESULT),
    question(assess_newborn_jaundice, Kind.CRITICAL_RESULT),
    question(assess_newborn_weight, Kind.METABOLIC),
    question(assess_sodium_change, Kind.CRITICAL_RESULT),
    question(assess_after_bowel_surgery, Kind.CRITICAL_RESULT),
    question(assess_troponin, Kind.CARDIAC),
    question(assess_ketoacidosis, Kind.METABOLIC),
    question(assess_cerebral_oedema, Kind.METABOLIC),
    question(assess_obstetric_blood, Kind.METABOLIC, Kind.CRITICAL_RESULT),
    question(assess_hyperosmolar_state, Kind.METABOLIC),
    question(assess_adrenal_crisis, Kind.METABOLIC),
    question(assess_refeeding, Kind.METABOLIC),
    question(assess_liver, Kind.METABOLIC),
    question(assess_crises, Kind.METABOLIC),
    question(assess_rescue_doses, Kind.METABOLIC),
    question(assess_tumour_lysis, Kind.METABOLIC),
    question(assess_microangiopathy, Kind.METABOLIC),
    question(assess_unexplained_gap, Kind.METABOLIC),
    question(assess_magnesium, Kind.METABOLIC),
    question(assess_block_and_heparin, Kind.TREATMENT_RESPONSE),
    question(assess_planned_block, Kind.TREATMENT_RESPONSE),
    question(assess_epidural, Kind.TREATMENT_RESPONSE),
    question(assess_high_pressure, Kind.HIGH_PRESSURE),
    question(assess_dysreflexia, Kind.HIGH_PRESSURE),
    question(assess_transfusion_reaction, Kind.SINGLE_SIGN),
    question(assess_cushing, Kind.HEAD_INJURY),
    question(assess_head_injury, Kind.HEAD_INJURY),
    question(assess_child_in_shock, Kind.SINGLE_SIGN),
    question(assess_anaphylaxis, Kind.SINGLE_SIGN),
    question(assess_seizures, Kind.SINGLE_SIGN),
    question(assess_acute_problems, Kind.SINGLE_SIGN),
    question(assess_laboratory_trends, Kind.LABORATORY_TREND),
    question(assess_bleeding, Kind.POSSIBLE_BLEEDING),
    question(assess_blood_gas, Kind.BLOOD_GAS),
    question(assess_venous_gas, Kind.BLOOD_GAS),
    question(assess_hypoxaemia, Kind.BLOOD_GAS),
    question(assess_exhaustion, Kind.SINGLE_SIGN),
    question(assess_vital_capacity, Kind.METABOLIC),
    question(assess_asthma, Kind.BLOOD_GAS),
    question(assess_high_flow, Kind.OXYGEN_REQUIREMENT),
    question(assess_sepsis_risk, Kind.SEPSIS_RISK),
    question(assess_neutropenic_sepsis, Kind.SEPSIS_RISK),
    question(assess_sepsis_signs, Kind.SEPSIS_RISK),
    question(assess_concern, Kind.CONCERN),
    question(assess_overdue, Kind.OBSERVATIONS_OVERDUE),
    question(assess_watched_infusions, Kind.METABOLIC, Kind.CARDIAC),
    question(assess_treatment_response, Kind.TREATMENT_RESPONSE),
    question(assess_step_down, Kind.CONTEXT),
    question(assess_fluid_balance, Kind.CONTEXT, Kind.METABOLIC),
    question(assess_last_days, Kind.CONTEXT),
    question(assess_operation, Kind.CONTEXT),
    question(assess_comorbidities, Kind.CONTEXT),
    question(assess_reported_flags, Kind.REPORTED_CRITICAL),
    question(assess_not_judged, Kind.NOT_JUDGED),
    question(assess_artefacts, Kind.ARTEFACT),
    question(assess_usual_values, Kind.CONTEXT),
    question(assess_allergies, Kind.ALLERGY),
    question(assess_expected_medicines, Kind.MEDICINE_MISSING),
    question(assess_doses_due, Kind.MEDICINE_MISSING),
    question(assess_reconciliation, Kind.MEDICINE_MISSING),
    question(assess_ended_orders, Kind.MEDICINE_MISSING),
    question(assess_given_twice, Kind.MEDICINE_MISSING),
    question(assess_depots, Kind.MEDICINE_MISSING),
    question(assess_home_doses, Kind.MEDICINE_MISSING),
    question(assess_medicines, *_MEDICINES),
)
