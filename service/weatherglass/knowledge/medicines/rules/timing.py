"""How long what is recorded sets a rule off, and how recent two results must be to go together.

No publication fixes these times; each is ours and says why. How long a laboratory result
and a blood gas count is a site's own choice (`LocalChoices`).
"""

from typing import Final

from weatherglass.knowledge import publications as cited
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.knowledge.scores import news2_2017
from weatherglass.model.plain import replace
from weatherglass.model.sources import our_choice

_C = MedicineClass

_ROWS: Final = PrintedRows("medicines/rules/timing-rows")
VITAL_SIGNS_COUNT_FOR: Final = _ROWS.window("vital-signs-count-for")
GLUCOSE_COUNTS_FOR: Final = _ROWS.window("glucose-counts-for")
GAS_WITH_BREATHING: Final = _ROWS.window("gas-with-breathing")
GAS_WITH_LACTATE: Final = _ROWS.window("gas-with-lactate")
NALOXONE_WATCHED_FOR: Final = _ROWS.window("naloxone-watched-for")
RESULT_IS_OLD: Final = _ROWS.window("result-is-old")
CONTRAST_ASKED_FOR: Final = _ROWS.window("contrast-asked-for")
CONTRAST_GIVEN: Final = _ROWS.window("contrast-given")
PLATELETS_BEFORE: Final = _ROWS.window("platelets-before")
CAME_WITH_FOR: Final = _ROWS.window("came-with-for")
LOSS_LISTED_FOR: Final = _ROWS.window("loss-listed-for")
SEPSIS_LISTED_FOR: Final = _ROWS.window("sepsis-listed-for")
HEAD_INJURY_FOR: Final = _ROWS.window("head-injury-for")
OPERATION_ASKED_FOR: Final = _ROWS.window("operation-asked-for")
OPERATION_WITHIN_A_DAY: Final = _ROWS.window("operation-within-a-day")
OPERATION_WITHIN_HOURS: Final = _ROWS.window("operation-within-hours")
FRACTURE_AWAITS_OPERATION: Final = _ROWS.window("fracture-awaits-operation")
OPERATION_NEAR: Final = _ROWS.window("operation-near")
OPERATION_LATE: Final = _ROWS.window("operation-late")
NOTHING_BY_MOUTH_FOR: Final = _ROWS.window("nothing-by-mouth-for")
DOSES_MISSED_FOR: Final = _ROWS.window("doses-missed-for")
LAMOTRIGINE_ANEW_AFTER: Final = _ROWS.window("lamotrigine-anew-after")
TOLERANCE_LOST_AFTER: Final = _ROWS.window("tolerance-lost-after")
BEGUN_ANEW_WITH: Final = _ROWS.share("begun-anew-with")
GAP_SEEN_FOR: Final = _ROWS.window("gap-seen-for")
AFTER_KIDNEY_INJURY: Final = _ROWS.window("after-kidney-injury")
UNDER_12: Final = _ROWS.age("under-12")
UNDER_16: Final = _ROWS.age("under-16")
OPIOID_REGULAR_FOR: Final = _ROWS.window("opioid-regular-for")
REVERSED_FOR: Final = _ROWS.window("reversed-for")
BLOOD_REFUSED_SOURCE: Final = _ROWS.source("blood-refused-source")
STEROID_BESIDE_SOURCE: Final = _ROWS.source("steroid-beside-source")
SMOKE_PAUSES_FOR: Final = _ROWS.window("smoke-pauses-for")
CHILDBEARING_FROM: Final = _ROWS.age("childbearing-from")
CHILDBEARING_UNTIL: Final = _ROWS.age("childbearing-until")
MINOR_BLEEDING_FOR: Final = _ROWS.window("minor-bleeding-for")
INFECTION_IN_HOSPITAL_SOURCE: Final = _ROWS.source("infection-in-hospital-source")
LONG_STANDING_ORDER: Final = _ROWS.window("long-standing-order")
THROMBOLYSIS_WATCHED_FOR: Final = _ROWS.window("thrombolysis-watched-for")
EARLY_TREATMENT: Final = _ROWS.window("early-treatment")
RESCUE_ACTS_FOR: Final = _ROWS.window("rescue-acts-for")
LONG_TERM_STEROID: Final = _ROWS.window("long-term-steroid")
STEROID_INJECTION_ACTS_FOR: Final = _ROWS.window("steroid-injection-acts-for")
REMEMBERED_FOR: Final = _ROWS.window("remembered-for")

ADULT_LIMITS: Final = _ROWS.age("adult-limits")
FOR_ADULTS: Final = _ROWS.clause("for-adults")
IN_PREGNANCY: Final = _ROWS.clause("in-pregnancy")

DIRECT_AFTER_WARFARIN: Final = _ROWS.cutoff("direct-after-warfarin")
WARFARIN_ACTS_FOR: Final = _ROWS.window("warfarin-acts-for")
HYPOXIA: Final = _ROWS.cutoff("hypoxia")
HYPOXIA_SCALE_2: Final = _ROWS.cutoff("hypoxia-scale-2")
#: NEWS2 with suspected infection from which the rules on sepsis hold, and without it.
SEPSIS_SCORE: Final = replace(
    news2_2017.URGENT_RESPONSE, source=cited.SEPSIS.at("1.11.5, moderate risk from NEWS2 5")
)
SERIOUS_ILLNESS_SCORE: Final = replace(
    news2_2017.EMERGENCY_RESPONSE,
    source=our_choice("NEWS2 7 or more without suspected infection is acute serious illness"),
)

# --- what is said beside a suggestion --------------------------------------------------
LIMITED_EVIDENCE: Final = _ROWS.clause("limited-evidence")
LIMITED_EVIDENCE_FOR: Final = frozenset(_ROWS.members("limited-evidence-for", _C))
IN_HEART_FAILURE: Final = _ROWS.clause("in-heart-failure")
HEART_FAILURE_MEDICINES: Final = frozenset(_ROWS.members("heart-failure-medicines", _C))
ASKED_ABOUT_AFTERWARDS: Final = frozenset(_ROWS.members("asked-about-afterwards", _C))
ASKED_ABOUT_AFTERWARDS_SOURCE: Final = _ROWS.source("asked-about-afterwards-source")

#: A dose a day in milligrams that is enough in an infection, by name.
STEROID_ENOUGH: Final = {
    "hydrocortisone": _ROWS.share("hydrocortisone-enough"),
    "prednisolone": _ROWS.share("prednisolone-enough"),
}
