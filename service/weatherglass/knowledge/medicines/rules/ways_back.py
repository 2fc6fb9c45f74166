"""What has to be so before a held medicine comes back: one wording for each condition.

Several rules meet in one medicine, and each has its plan. Said in the same words, a
condition that two plans share is said once; one that a stricter condition holds within
itself is left out beside it.
"""

from collections.abc import Mapping
from typing import Final

# --- the kidneys and the circulation ----------------------------------------------------
KIDNEYS_RECOVERED: Final = "kidney function back at its usual level"
KIDNEYS_SETTLING: Final = "creatinine settling"
KIDNEYS_STABLE: Final = "kidney function stable"
EGFR_30: Final = "eGFR stable and at least 30"
UNCHANGED_48: Final = "kidney function unchanged 48 hours after contrast"
UNCHANGED_72: Final = "kidney function unchanged 48 to 72 hours after contrast"
PRESSURE: Final = "blood pressure back at its usual level"
PULSE: Final = "pulse and rhythm recovered"
ECG: Final = "ECG reviewed"
VOLUME: Final = "volume restored"
VOLUME_OR_OVERLOAD: Final = "volume restored (or overload returning)"
POTASSIUM_IN_RANGE: Final = "potassium back in range"
POTASSIUM_BELOW_5: Final = "potassium below 5.0 mmol/L"
# --- illness, food and what is measured ---------------------------------------------------
ILLNESS_SETTLED: Final = "the acute illness settled"
NO_SEPSIS: Final = "no sepsis"
EATING: Final = "eating and drinking normally"
KETONES: Final = "ketones normal and stable"
AWAKE: Final = "awake and breathing normally"
BLEEDING_CONTROLLED: Final = "bleeding controlled"
LEVEL_IN_RANGE: Final = "level in range"
NO_SAFER_ANALGESIC: Final = "no safer analgesic will do"

# --- what goes with the restart itself ------------------------------------------------------
CHECK_INDICATION: Final = "check the indication again"
LOWER_DOSE: Final = "restart at a lower dose"

#: Left out beside any of these, which hold it within themselves.
COVERED_BY: Final[Mapping[str, frozenset[str]]] = {
    KIDNEYS_SETTLING: frozenset({KIDNEYS_RECOVERED, KIDNEYS_STABLE, EGFR_30}),
    KIDNEYS_STABLE: frozenset({KIDNEYS_RECOVERED, EGFR_30}),
    UNCHANGED_48: frozenset({UNCHANGED_72}),
    VOLUME: frozenset({VOLUME_OR_OVERLOAD}),
    POTASSIUM_IN_RANGE: frozenset({POTASSIUM_BELOW_5}),
    NO_SEPSIS: frozenset({ILLNESS_SETTLED}),
}
