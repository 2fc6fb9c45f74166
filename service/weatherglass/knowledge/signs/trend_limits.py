"""When a change counts: limits for trends against the patient's own normal.

Data only. Few trends have a published limit. Those that have come first in each part;
the others are ours, say so, and are listed in the catalogue for a site to judge.

A trend never suppresses a score, and at most one trend alert per parameter is raised
in `REPEAT_AFTER` unless the band worsens.

Left out, with reasons:
    Reference change of glucose: measured fasting, which inpatients are not.
    Reference change of lactate, INR and others: no value read.
"""

from decimal import Decimal
from typing import Final, Literal

from weatherglass.knowledge.data_files import Columns, csv_rows
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source

PUBLIC_KEY: Final = "trend-limits"
_ROWS: Final = PrintedRows("signs/trend-limits-rows")

# Early-warning score.

SCORE_RISE: Final = _ROWS.cutoff("score-rise")
SCORE_RISE_FLOOR: Final = _ROWS.cutoff("score-rise-floor")
SCORE_RISE_WINDOW: Final = _ROWS.window("score-rise-window")
SUSTAINED_HIGH: Final = _ROWS.cutoff("sustained-high")
SUSTAINED_SETS: Final = _ROWS.share("sustained-sets")
FALLING_SCORE_SILENCES_NOTHING: Final = _ROWS.clause("falling-score-silences-nothing")
REPEAT_AFTER: Final = _ROWS.window("repeat-after")

# Blood pressure.

PRESSURE_LOW: Final = _ROWS.cutoff("pressure-low")
PRESSURE_FALL: Final = _ROWS.cutoff("pressure-fall")
PRESSURE_MODERATE_LOW: Final = _ROWS.cutoff("pressure-moderate-low")
PRESSURE_BASELINE_WINDOW: Final = _ROWS.window("pressure-baseline-window")
PRESSURE_BASELINE_EXCLUDES: Final = _ROWS.window("pressure-baseline-excludes")
PRESSURE_BASELINE_READINGS: Final = _ROWS.share("pressure-baseline-readings")
PRESSURE_FALL_CERTAIN: Final = _ROWS.cutoff("pressure-fall-certain")
PRESSURE_MEAN_TARGET: Final = _ROWS.cutoff("pressure-mean-target")

# Pulse.

PULSE_HIGH: Final = _ROWS.cutoff("pulse-high")
PULSE_RISE: Final = _ROWS.cutoff("pulse-rise")
PULSE_RISE_FLOOR: Final = _ROWS.cutoff("pulse-rise-floor")
PULSE_WINDOW: Final = _ROWS.window("pulse-window")

# Oxygen requirement. Steps between devices follow the order of `OxygenDelivery`.

OXYGEN_HIGH_NEED: Final = _ROWS.cutoff("oxygen-high-need")
OXYGEN_HELD_AT: Final = _ROWS.cutoff("oxygen-held-at")
OXYGEN_HELD_AT_COPD: Final = _ROWS.cutoff("oxygen-held-at-copd")
OXYGEN_FRACTION_STEP: Final = _ROWS.cutoff("oxygen-fraction-step")
OXYGEN_FLOW_STEP: Final = _ROWS.cutoff("oxygen-flow-step")
OXYGEN_FLOW_LESS: Final = _ROWS.cutoff("oxygen-flow-less")
OXYGEN_WINDOW: Final = _ROWS.window("oxygen-window")

# Consciousness.

GCS_FALL: Final = _ROWS.cutoff("gcs-fall")
GCS_WINDOW: Final = _ROWS.window("gcs-window")

# Haemoglobin.

HAEMOGLOBIN_FALL: Final = _ROWS.cutoff("haemoglobin-fall")
HAEMOGLOBIN_FALL_MAJOR: Final = _ROWS.cutoff("haemoglobin-fall-major")
HAEMOGLOBIN_FALL_LIFE_THREATENING: Final = _ROWS.cutoff("haemoglobin-fall-life-threatening")
HAEMOGLOBIN_WINDOW: Final = _ROWS.window("haemoglobin-window")
HAEMOGLOBIN_LAST_KNOWN: Final = _ROWS.window("haemoglobin-last-known")
HAEMOGLOBIN_LOW_MEN: Final = _ROWS.cutoff("haemoglobin-low-men")
HAEMOGLOBIN_LOW_WOMEN: Final = _ROWS.cutoff("haemoglobin-low-women")
HAEMOGLOBIN_LOW_PREGNANT: Final = _ROWS.cutoff("haemoglobin-low-pregnant")
FALL_IS_NOT_BLEEDING: Final = _ROWS.clause("fall-is-not-bleeding")
OXYGEN_BESIDE_A_FALL: Final = _ROWS.cutoff("oxygen-beside-a-fall")
OXYGEN_IS_NOT_BLOOD: Final = _ROWS.clause("oxygen-is-not-blood")

# Sodium.

SODIUM_CHANGE: Final = _ROWS.cutoff("sodium-change")
SODIUM_RISE_AT_RISK: Final = _ROWS.cutoff("sodium-rise-at-risk")
SODIUM_VERY_LOW_BEFORE: Final = _ROWS.cutoff("sodium-very-low-before")
SODIUM_RISE_EARLY: Final = _ROWS.cutoff("sodium-rise-early")
SODIUM_EARLY_WINDOW: Final = _ROWS.window("sodium-early-window")
SODIUM_EARLY_FROM: Final = _ROWS.cutoff("sodium-early-from")
SODIUM_WINDOW: Final = _ROWS.window("sodium-window")
SODIUM_LOW_BEFORE: Final = _ROWS.cutoff("sodium-low-before")

# Reference change: how much a result may change by chance.


class BiologicalVariation(Columns, frozen=True, kw_only=True):
    """Variation of one analyte, in percent, and the form of its reference change."""

    signal: Signal
    analytical_cv: Decimal
    within_subject_cv: Decimal
    form: Literal["symmetric", "log-normal"]
    source: Source


class PublishedReferenceChange(Columns, frozen=True, kw_only=True):
    """A reference change value printed as such, in percent in both directions."""

    signal: Signal
    percent: Decimal
    source: Source


BIOLOGICAL_VARIATION: Final = tuple(csv_rows("signs/biological-variation.csv", BiologicalVariation))
#: Measured in stable kidney-transplant recipients, whose variation exceeds that of the healthy.
PUBLISHED_REFERENCE_CHANGES: Final = tuple(csv_rows("signs/reference-changes.csv", PublishedReferenceChange))
CHANGE_IS_A_MINIMUM: Final = _ROWS.clause("change-is-a-minimum")
SEPARATE_SPECIMENS: Final = _ROWS.clause("separate-specimens")
SODIUM_HARMS_SOONER: Final = _ROWS.members("sodium-harms-sooner", ConditionKind)
