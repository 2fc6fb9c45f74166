"""What would make a suggestion stronger or milder, in words a prescriber understands at once."""

from collections.abc import Mapping
from typing import Final, NamedTuple

from weatherglass.knowledge.medicines.rules.rule import RuleCondition, Trigger

_R = RuleCondition
_T = Trigger


class Clause(NamedTuple):
    """One circumstance as it stands after "if".

    Attributes:
        holds: When it is there.
        passed: When it no longer is; empty for what lasts.
    """

    holds: str
    passed: str = ""


#: Of every circumstance that makes an action stronger or milder.
CLAUSES: Final[Mapping[RuleCondition, Clause]] = {
    _R.HYPOTENSION: Clause("the blood pressure is low", "the blood pressure is no longer low"),
    _R.SHOCK: Clause("there is shock", "there is no shock any more"),
    _R.BRADYCARDIA: Clause("the pulse is slow", "the pulse is no longer slow"),
    _R.HYPOXIA: Clause("oxygen is low", "oxygen is no longer low"),
    _R.HYPOVOLAEMIA: Clause(
        "fluid has been lost (depletion, vomiting or diarrhoea)", "the lost fluid has been replaced"
    ),
    _R.FLUID_OVERLOAD: Clause("there is fluid overload", "the fluid overload is gone"),
    _R.SEPSIS: Clause("there is sepsis", "the sepsis has settled"),
    _R.AKI: Clause("there is acute kidney injury", "the kidney injury is over"),
    _R.AKI_STAGE_2_OR_MORE: Clause(
        "the kidney injury reaches stage 2 or 3", "the kidney injury is no longer stage 2 or 3"
    ),
    _R.AKI_STAGE_3: Clause("the kidney injury reaches stage 3", "the kidney injury is below stage 3"),
    _R.EGFR_BELOW_30: Clause("the eGFR is below 30", "a stable eGFR is 30 or more"),
    _R.POTASSIUM_AT_LEAST_6: Clause("potassium reaches 6.0", "potassium is below 6.0"),
    _R.CONTRAST_PLANNED: Clause(
        "iodinated contrast is planned", "no contrast is planned and the last is 48 hours ago"
    ),
    _R.HAEMOLYSED_SAMPLE: Clause("the sample turns out to be haemolysed"),
    _R.HEART_FAILURE: Clause("there is heart failure"),
    _R.SECONDARY_PREVENTION: Clause("there is known arterial disease"),
    _R.CORONARY_STENT: Clause("there is a coronary stent"),
    _R.RECENT_ACUTE_CORONARY_SYNDROME: Clause("there was an acute coronary syndrome in the last year"),
    _R.PALLIATIVE: Clause("this is palliative care"),
    _R.GLUCOSE_RECOVERED: Clause("the glucose has recovered"),
    _R.EPILEPSY: Clause("there is epilepsy"),
    _R.TRANSPLANT: Clause("there is an organ transplant"),
    _R.DIABETES_INSIPIDUS: Clause("there is arginine vasopressin deficiency"),
}

#: When each trigger no longer speaks for anything, as it stands after "once".
TRIGGER_PASSED: Final[Mapping[Trigger, str]] = {
    _T.ANY: "the acute illness has settled",
    _T.AKI: "the kidney injury is over",
    _T.LOW_EGFR: "the eGFR is back above its limit",
    _T.HYPERKALAEMIA: "potassium is no longer high",
    _T.HYPOTENSION: "the blood pressure is no longer low",
    _T.SLOW_PULSE: "the pulse is 50 or more",
    _T.BRADYCARDIA: "the pulse is no longer slow",
    _T.BLEEDING: "bleeding is excluded or controlled",
    _T.CRITICAL_BLEEDING: "bleeding is excluded, or controlled and reviewed with haematology",
    _T.HEAD_INJURY: "bleeding into the head is excluded",
    _T.INR_ABOVE_8: "the INR is no longer raised",
    _T.INR_5_TO_8: "the INR is no longer raised",
    _T.INR_ABOVE_TARGET: "the INR is no longer raised",
    _T.LOW_PLATELETS: "platelets are no longer low",
    _T.PLATELETS_HALVED_ON_HEPARIN: "heparin-induced thrombocytopenia is excluded",
    _T.HYPOGLYCAEMIA: "no low glucose has been measured for 24 hours",
    _T.DROWSINESS: "the patient is alert and no longer confused",
    _T.REDUCED_CONSCIOUSNESS: "consciousness and breathing are back to normal",
    _T.LACTATE_OR_ACIDOSIS: "lactate and pH are back to normal",
    _T.SEPSIS: "the acute illness has settled",
    _T.RAISED_KETONES: "ketones are no longer raised",
    _T.FLUID_LOSS: "the lost fluid has been replaced",
    _T.OPIOID_REVERSED: "6 hours have passed since the last naloxone",
    _T.CONTRAST_PLANNED: "no contrast is planned and the last is 48 hours ago",
    _T.LOW_SODIUM: "sodium has recovered",
    _T.LOW_POTASSIUM: "potassium has recovered",
    _T.LOW_MAGNESIUM: "magnesium has recovered",
    _T.LEVEL_HIGH: "the level is no longer too high",
    _T.LEVEL_LOW: "the level is in its range",
    _T.LEVEL_OVERDUE: "a new level is known",
}
