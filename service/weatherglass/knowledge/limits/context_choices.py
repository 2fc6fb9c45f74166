"""What no publication fixes: how long context counts, and what supports a suspicion.

Data only. Every number here is ours, says why, and is listed in the catalogue for a
site to judge.
"""

from decimal import Decimal
from typing import Final

from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.knowledge.signs import trend_limits
from weatherglass.model.plain import Plain, replace
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source, our_choice
from weatherglass.model.tables.bands import Compare, Cutoff

PUBLIC_KEY: Final = "context-choices"
_ROWS: Final = PrintedRows("limits/context-choices-rows")

# Bleeding.

BLEEDING_SEEN_FOR: Final = _ROWS.window("bleeding-seen-for")
BLEEDING_LISTED_FOR: Final = _ROWS.window("bleeding-listed-for")
SMALL_BLEEDING_HAEMOGLOBIN: Final = _ROWS.cutoff("small-bleeding-haemoglobin")
SMALL_BLEEDING_INR: Final = _ROWS.cutoff("small-bleeding-inr")
STEADY_AFTER_OPERATION: Final = _ROWS.window("steady-after-operation")
STEADY_AFTER_BLEEDING: Final = _ROWS.window("steady-after-bleeding")
CALM_AFTER_BLEEDING: Final = _ROWS.window("calm-after-bleeding")
STEADY_FOR_NOW: Final = _ROWS.window("steady-for-now")
BLEEDING_SEEN_WITHIN: Final = _ROWS.window("bleeding-seen-within")
THICK_BLOOD: Final = _ROWS.cutoff("thick-blood")
THINNED_TO: Final = _ROWS.cutoff("thinned-to")
OPERATION_BLEEDS_FOR: Final = _ROWS.window("operation-bleeds-for")
OPERATION_IS_FRESH_FOR: Final = _ROWS.window("operation-is-fresh-for")
CHILD_PULSE_POINTS: Final = _ROWS.cutoff("child-pulse-points")
CHILD_PRESSURE_POINTS: Final = _ROWS.cutoff("child-pressure-points")
FAST_IN_FIBRILLATION: Final = _ROWS.cutoff("fast-in-fibrillation")
PULSE_UP_AFTER_OPERATION: Final = _ROWS.cutoff("pulse-up-after-operation")
SHOCKED_AFTER_OPERATION: Final = _ROWS.cutoff("shocked-after-operation")
PRESSURE_DOWN_AFTER_OPERATION: Final = _ROWS.cutoff("pressure-down-after-operation")
TRANSFUSION_HIDES_FOR: Final = _ROWS.window("transfusion-hides-for")
BLOOD_IS_TAKEN_FOR: Final = _ROWS.window("blood-is-taken-for")
ENOUGH_BLOOD_LEFT: Final = _ROWS.cutoff("enough-blood-left")
READS_AS_FAHRENHEIT: Final = _ROWS.cutoff("reads-as-fahrenheit")
READS_AS_GRAMS_A_DECILITRE: Final = _ROWS.cutoff("reads-as-grams-a-decilitre")
VITAL_SIGNS_COUNT_FOR: Final = _ROWS.window("vital-signs-count-for")
ANTICOAGULANTS: Final = frozenset(_ROWS.members("anticoagulants", MedicineClass))
ANTIPLATELETS: Final = frozenset(
    {MedicineClass.ANTIPLATELET, MedicineClass.ASPIRIN, MedicineClass.P2Y12_INHIBITOR}
)
ANTICOAGULANT_ACTS_FOR: Final = _ROWS.window("anticoagulant-acts-for")
VITAMIN_K_ANTAGONIST_ACTS_FOR: Final = _ROWS.window("vitamin-k-antagonist-acts-for")
BLEEDING_UPGRADE: Final = _ROWS.clause("bleeding-upgrade")
HELD_PULSE_PRESSURE: Final = _ROWS.cutoff("held-pulse-pressure")
HELD_PULSE_LACTATE: Final = _ROWS.cutoff("held-pulse-lactate")
BLED_PRESSURE: Final = _ROWS.cutoff("bled-pressure")
BLED_HAEMOGLOBIN: Final = _ROWS.cutoff("bled-haemoglobin")
BLEEDING_EMERGENCY: Final = _ROWS.clause("bleeding-emergency")
BIRTH_LOSS: Final = _ROWS.cutoff("birth-loss")
BIRTH_LOSS_MINOR: Final = _ROWS.cutoff("birth-loss-minor")
BIRTH_LOSS_MAJOR: Final = _ROWS.cutoff("birth-loss-major")
LARGE_LOSS: Final = _ROWS.cutoff("large-loss")
VERY_LARGE_LOSS: Final = _ROWS.cutoff("very-large-loss")
BIRTH_LOSS_LISTED_FOR: Final = _ROWS.window("birth-loss-listed-for")
BIRTH_LOSS_URGENCY: Final = _ROWS.source("birth-loss-urgency")
BIRTH_LOSS_IS_FRESH_FOR: Final = _ROWS.window("birth-loss-is-fresh-for")
PREVENTION_AFTER_A_BLEED: Final = _ROWS.window("prevention-after-a-bleed")
BLEEDING_IN_THE_SKULL: Final = _ROWS.clause("bleeding-in-the-skull")
INR_PROLONGED: Final = _ROWS.cutoff("inr-prolonged")

# Blood gas.

SAME_SAMPLE: Final = _ROWS.window("same-sample")
REST_OF_A_SAMPLE: Final = _ROWS.window("rest-of-a-sample")
LOW_PH: Final = _ROWS.cutoff("low-ph")
PERSISTING: Final = _ROWS.window("persisting")

# Concern, place, operation.

CONCERN_COUNTS_FOR: Final = _ROWS.window("concern-counts-for")
STEP_DOWN_COUNTS_FOR: Final = _ROWS.window("step-down-counts-for")
RISING_AFTER_CRITICAL_CARE: Final = _ROWS.clause("rising-after-critical-care")
POST_OPERATIVE_FOR: Final = _ROWS.window("post-operative-for")

# Infection.

REASON_COUNTS_FOR: Final = _ROWS.window("reason-counts-for")
INFECTION_OVER_AFTER: Final = _ROWS.window("infection-over-after")
UNTREATED_FOR: Final = _ROWS.window("untreated-for")
ANTIBACTERIAL_TELLS_FOR: Final = _ROWS.window("antibacterial-tells-for")
ONE_DOSE_BEFORE: Final = _ROWS.window("one-dose-before")
ONE_DOSE_AFTER: Final = _ROWS.window("one-dose-after")
UNORDERED_DOSES_COUNT_FOR: Final = _ROWS.window("unordered-doses-count-for")
REASON_OUTLIVES_STAY: Final = _ROWS.window("reason-outlives-stay")

# Observations.

LEAST_OBSERVATIONS: Final = _ROWS.window("least-observations")
#: Ours: how many of the seven signs of the score make an incomplete round more than stray values.
SIGNS_OF_A_ROUND: Final = 4
#: Ours: where no score says how often, one sign alone is no round.
SIGNS_OF_A_ROUND_AT_ALL: Final = 2
STRAY_VALUES: Final = _ROWS.clause("stray-values")
GONE_AFTER: Final = _ROWS.window("gone-after")
NOT_SEEN_FOR: Final = _ROWS.window("not-seen-for")

# Pressure that is low as usual.

LOW_AS_USUAL: Final = replace(
    trend_limits.PRESSURE_MODERATE_LOW,
    source=our_choice("an own normal systolic of 100 or less is a long-standing low pressure"),
)
NEAR_USUAL: Final = _ROWS.cutoff("near-usual")
LONG_STANDING_FOR: Final = _ROWS.window("long-standing-for")
OLD_CORD_INJURY: Final = _ROWS.window("old-cord-injury")
KNOWN_IN_THE_SKULL: Final = _ROWS.window("known-in-the-skull")
FAILING_HEART: Final = _ROWS.source("failing-heart")
STEADY_IN_HEART_FAILURE: Final = _ROWS.cutoff("steady-in-heart-failure")
STEADY_FOR: Final = _ROWS.window("steady-for")
URINE_KEPT: Final = _ROWS.cutoff("urine-kept")
URINE_LOOK_BACK: Final = _ROWS.window("urine-look-back")
URINE_SHORTEST: Final = _ROWS.window("urine-shortest")

# Steady trends of vital signs.

STEADY_WINDOW: Final = _ROWS.window("steady-window")
STEADY_POINTS: Final = _ROWS.share("steady-points")
STEADY_PROBABILITY: Final = _ROWS.share("steady-probability")
STEADY_SIZE: Final = _ROWS.cutoff("steady-size")
STEADY_IN_PREGNANCY_SOURCE: Final = _ROWS.source("steady-in-pregnancy-source")


class SteadyLimit(Plain, frozen=True, kw_only=True):
    """How large a steady trend of a sign is in pregnancy, and beyond what it ends."""

    signal: Signal
    change: Cutoff
    ends: Cutoff

    @property
    def source(self) -> Source:
        """Ours."""
        return self.change.source


def _steady(signal: Signal, unit: Unit, change: str, compare: Compare, end: str) -> SteadyLimit:
    def _cut(how: Compare, number: str) -> Cutoff:
        return Cutoff(compare=how, limit=Quantity(Decimal(number), unit), source=STEADY_IN_PREGNANCY_SOURCE)

    return SteadyLimit(signal=signal, change=_cut(Compare.AT_LEAST, change), ends=_cut(compare, end))


STEADY_IN_PREGNANCY: Final = (
    _steady(Signal.RESPIRATION_RATE, Unit.PER_MINUTE, "6", Compare.AT_LEAST, "21"),
    _steady(Signal.SPO2, Unit.PERCENT, "3", Compare.AT_MOST, "94"),
    _steady(Signal.SYSTOLIC_PRESSURE, Unit.MILLIMETRE_OF_MERCURY, "20", Compare.AT_MOST, "100"),
    _steady(Signal.PULSE, Unit.PER_MINUTE, "20", Compare.AT_LEAST, "100"),
    _steady(Signal.TEMPERATURE, Unit.DEGREE_CELSIUS, "1.0", Compare.AT_LEAST, "38"),
)
STEADY_BESIDE_A_HIGH_SCORE: Final = _ROWS.clause("steady-beside-a-high-score")
LABORATORY_WINDOW: Final = _ROWS.window("laboratory-window")
LABORATORY_POINTS: Final = _ROWS.share("laboratory-points")
OUTLIER_READINGS: Final = _ROWS.share("outlier-readings")

# Consciousness.

# Before and after a treatment.

RESPONSE_AFTER: Final = _ROWS.window("response-after")
RESPONSE_BEFORE: Final = _ROWS.window("response-before")
RESPONSE_FOR: Final = _ROWS.window("response-for")
FLUID_WORDS: Final = (
    "sodium chloride 0.9",
    "saline",
    "compound sodium lactate",
    "hartmann",
    "ringer",
    "balanced crystalloid",
    "crystalloid",
    "human albumin solution",
    "albumin 4",
    "albumin 5",
    "gelatin",
)
FLUID_RULE: Final = _ROWS.clause("fluid-rule")
FLUID_LEAST_ML: Final = _ROWS.share("fluid-least-ml")
THICKENS_BLOOD: Final = _ROWS.members("thickens-blood", ConditionKind)
