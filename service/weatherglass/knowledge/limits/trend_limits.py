"""When a change counts: limits for trends against the patient's own normal.

Data only. Few trends have a published limit. Those that have come first in each part;
the others are ours, say so, and are listed in the catalogue for a site to judge.

A trend never suppresses a score, and at most one trend alert per parameter is raised
in `REPEAT_AFTER` unless the band worsens.

Left out, with reasons:
    Reference change of glucose: measured fasting, which inpatients are not.
    Reference change of lactate, INR and others: no value read.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Final, Literal

from weatherglass.knowledge import publications as cited
from weatherglass.knowledge.data_files import publication
from weatherglass.knowledge.plain import Plain
from weatherglass.knowledge.publications import SEPSIS_2016_ADULTS as NICE_2016
from weatherglass.model.clauses import Clause, Share, Window
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Mark, Source, our_choice
from weatherglass.model.tables.bands import Compare, Cutoff

PUBLIC_KEY: Final = "trend-limits"

_HIGH = "Adults, high risk criteria"
_MODERATE = "Adults, moderate to high risk criteria"


def _cut(compare: Compare, number: str, unit: Unit, source: Source) -> Cutoff:
    return Cutoff(compare=compare, limit=Quantity(Decimal(number), unit), source=source)


_MIN, _OVER, _MAX, _UNDER = Compare.AT_LEAST, Compare.ABOVE, Compare.AT_MOST, Compare.BELOW
_RATE, _HG, _SCORE = Unit.PER_MINUTE, Unit.MILLIMETRE_OF_MERCURY, Unit.SCORE
_DAY = timedelta(hours=24)

# Early-warning score.

_SCORE_RISE = our_choice("no publication sets a limit for a rise in the score; 2 points, to 3 or more")
SCORE_RISE: Final = _cut(_MIN, "2", _SCORE, _SCORE_RISE)
SCORE_RISE_FLOOR: Final = _cut(_MIN, "3", _SCORE, _SCORE_RISE)
#: The rise counts from the lowest total of this time.
SCORE_RISE_WINDOW: Final = Window(length=_DAY, source=_SCORE_RISE)
SUSTAINED_HIGH: Final = _cut(
    _MIN, "5", _SCORE, our_choice("sustained high: 5 or more in consecutive complete sets")
)
SUSTAINED_SETS: Final = Share(
    value=Decimal(2), source=our_choice("sustained high: two consecutive complete sets")
)
FALLING_SCORE_SILENCES_NOTHING: Final = Clause(
    text="A falling score never takes back what a single value has triggered.",
    source=our_choice("trends never suppress"),
)
REPEAT_AFTER: Final = Window(
    length=timedelta(hours=12),
    source=our_choice("at most one trend alert per parameter in 12 hours unless it worsens"),
)

# Blood pressure.

PRESSURE_LOW: Final = _cut(_MAX, "90", _HG, NICE_2016.at(f"{_HIGH}, systolic 90 or less"))
PRESSURE_FALL: Final = _cut(_OVER, "40", _HG, NICE_2016.at(f"{_HIGH}, systolic more than 40 below normal"))
PRESSURE_MODERATE_LOW: Final = _cut(_MAX, "100", _HG, NICE_2016.at(f"{_MODERATE}, systolic 91-100"))
_OWN_PRESSURE = our_choice("own normal systolic: median of 7 days without the last 6 hours, from 3 readings")
PRESSURE_BASELINE_WINDOW: Final = Window(length=timedelta(days=7), source=_OWN_PRESSURE)
PRESSURE_BASELINE_EXCLUDES: Final = Window(length=timedelta(hours=6), source=_OWN_PRESSURE)
PRESSURE_BASELINE_READINGS: Final = Share(value=Decimal(3), source=_OWN_PRESSURE)
#: A fall is confirmed by a second reading, or at once when the reading is below this.
PRESSURE_FALL_CERTAIN: Final = _cut(
    _UNDER,
    "100",
    _HG,
    our_choice("a fall needs a second reading unless the pressure is below 100"),
)
PRESSURE_MEAN_TARGET: Final = _cut(
    _UNDER,
    "65",
    _HG,
    cited.SURVIVING_SEPSIS.at("hour-1 bundle, mean arterial pressure of at least 65"),
)

# Pulse.

PULSE_HIGH: Final = _cut(_OVER, "130", _RATE, NICE_2016.at(f"{_HIGH}, heart rate"))
_PULSE = our_choice("pulse trend: up by 30 from the median of 24 hours, to above 110")
PULSE_RISE: Final = _cut(_MIN, "30", _RATE, _PULSE)
PULSE_RISE_FLOOR: Final = _cut(_OVER, "110", _RATE, _PULSE)
PULSE_WINDOW: Final = Window(length=_DAY, source=_PULSE)

# Oxygen requirement. Steps between devices follow the order of `OxygenDelivery`.

OXYGEN_HIGH_NEED: Final = _cut(
    _OVER, "0.40", Unit.FRACTION, NICE_2016.at(f"{_HIGH}, new need for oxygen, FiO2 above 40%")
)
OXYGEN_HELD_AT: Final = _cut(
    _OVER, "92", Unit.PERCENT, NICE_2016.at(f"{_HIGH}, to keep saturation above 92%")
)
OXYGEN_HELD_AT_COPD: Final = _cut(
    _OVER, "88", Unit.PERCENT, NICE_2016.at(f"{_HIGH}, above 88% in known COPD")
)
_OXYGEN = our_choice(
    "more oxygen in 24 hours: air to oxygen, FiO2 up by 0.10, flow up by 2 L/min, next device"
)
OXYGEN_FRACTION_STEP: Final = _cut(_MIN, "0.10", Unit.FRACTION, _OXYGEN)
OXYGEN_FLOW_STEP: Final = _cut(_MIN, "2", Unit.LITRE_PER_MINUTE, _OXYGEN)
OXYGEN_WINDOW: Final = Window(length=_DAY, source=_OXYGEN)

# Consciousness.

GCS_FALL: Final = _cut(
    _MIN,
    "2",
    _SCORE,
    publication("rapid-response-criteria").at("fall in Glasgow Coma Scale of 2 or more", Mark.FROM_MEMORY),
)
GCS_WINDOW: Final = Window(length=_DAY, source=our_choice("a fall in consciousness counts within 24 hours"))


# Haemoglobin.

VARC_2011: Final = publication("varc-2011")
_HB = Unit.GRAM_PER_LITRE
HAEMOGLOBIN_FALL: Final = _cut(
    _MIN, "20", _HB, cited.MAJOR_BLEEDING.at("major bleeding, fall of 20 g/L or more with overt bleeding")
)
HAEMOGLOBIN_FALL_MAJOR: Final = _cut(
    _MIN, "30", _HB, VARC_2011.at("Table 4, major bleeding, fall of at least 3.0 g/dL")
)
HAEMOGLOBIN_FALL_LIFE_THREATENING: Final = _cut(
    _MIN, "50", _HB, VARC_2011.at("Table 4, life-threatening bleeding, fall of 5 g/dL or more")
)
HAEMOGLOBIN_WINDOW: Final = Window(
    length=timedelta(hours=48), source=our_choice("a haemoglobin fall counts within 48 hours")
)
HAEMOGLOBIN_LAST_KNOWN: Final = Window(
    length=timedelta(days=7),
    source=our_choice("without a haemoglobin of 48 hours the last one of 7 days is compared with"),
)
_ANAEMIA: Final = publication("who-haemoglobin-2011")
#: Where no range came with the result.
HAEMOGLOBIN_LOW_MEN: Final = _cut(_UNDER, "130", _HB, _ANAEMIA.at("men, below 130 g/L", Mark.FROM_MEMORY))
HAEMOGLOBIN_LOW_WOMEN: Final = _cut(_UNDER, "120", _HB, _ANAEMIA.at("women, below 120 g/L", Mark.FROM_MEMORY))
HAEMOGLOBIN_LOW_PREGNANT: Final = _cut(
    _UNDER, "110", _HB, _ANAEMIA.at("pregnant women, below 110 g/L", Mark.FROM_MEMORY)
)
FALL_IS_NOT_BLEEDING: Final = Clause(
    text=(
        "A fall in haemoglobin may be bleeding or dilution; the definitions need overt bleeding, "
        "so it is put as a question until a clinician has looked."
    ),
    source=our_choice("a fall in haemoglobin alone is never called bleeding"),
)

# Sodium.

SODIUM_CHANGE: Final = _cut(
    _OVER,
    "10",
    Unit.MILLIMOLE_PER_LITRE,
    cited.CONVENTION.at("sodium change of more than 10 mmol/L in 24 hours", Mark.FROM_MEMORY),
)
SODIUM_WINDOW: Final = Window(length=_DAY, source=SODIUM_CHANGE.source)
SODIUM_LOW_BEFORE: Final = _cut(
    _UNDER,
    "130",
    Unit.MILLIMOLE_PER_LITRE,
    our_choice("a rapid rise from a sodium below 130 mmol/L is 'urgent': it may harm the brain days later"),
)

# Reference change: how much a result may change by chance.


class BiologicalVariation(Plain, frozen=True, kw_only=True):
    """Variation of one analyte, in percent, and the form of its reference change."""

    signal: Signal
    analytical_cv: Decimal
    within_subject_cv: Decimal
    form: Literal["symmetric", "log-normal"]
    source: Source


class PublishedReferenceChange(Plain, frozen=True, kw_only=True):
    """A reference change value printed as such, in percent in both directions."""

    signal: Signal
    percent: Decimal
    source: Source


FRONTIERS_2022: Final = publication("front-med-2022-9-1009358")
EFLM: Final = publication("eflm-biological-variation")
ARCH_PATHOL_1992: Final = publication("arch-pathol-1992-116-825")
YAMAN_2013: Final = publication("jcla-2013-27-438")


def _varies(
    signal: Signal,
    analytical: str,
    within: str,
    source: Source,
    form: Literal["symmetric", "log-normal"] = "symmetric",
) -> BiologicalVariation:
    return BiologicalVariation(
        signal=signal,
        analytical_cv=Decimal(analytical),
        within_subject_cv=Decimal(within),
        form=form,
        source=source,
    )


BIOLOGICAL_VARIATION: Final = (
    _varies(
        Signal.CREATININE,
        "1.1",
        "5.2",
        FRONTIERS_2022.at("Abstract, CVI of creatinine 5.2%, CVA assumed 1.1%"),
    ),
    _varies(
        Signal.HAEMOGLOBIN,
        "1.0",
        "2.8",
        ARCH_PATHOL_1992.at("abstract, haemoglobin within-subject 2.8%", Mark.SECONDARY),
    ),
    _varies(
        Signal.PLATELETS,
        "2.0",
        "9",
        ARCH_PATHOL_1992.at("abstract, platelets within-subject 6.7% in men and 8.6% in women; 9% taken"),
    ),
    _varies(
        Signal.CRP,
        "5",
        "34",
        EFLM.at("C-reactive protein, within-subject 30-42%", Mark.FROM_MEMORY),
        form="log-normal",
    ),
)
#: Measured in stable kidney-transplant recipients, whose variation exceeds that of the healthy.
PUBLISHED_REFERENCE_CHANGES: Final = tuple(
    PublishedReferenceChange(
        signal=signal,
        percent=Decimal(percent),
        source=YAMAN_2013.at(f"Abstract, reference change value of {name}"),
    )
    for signal, percent, name in (
        (Signal.SODIUM, "3.25", "sodium"),
        (Signal.POTASSIUM, "12.81", "potassium"),
        (Signal.UREA, "16.5", "urea"),
        (Signal.ALBUMIN, "12.57", "albumin"),
    )
)
CHANGE_IS_A_MINIMUM: Final = Clause(
    text=(
        "Reference change values come from stable people; in illness results vary more, so a "
        "smaller change means nothing and a larger one is not proof."
    ),
    source=our_choice("a reference change value is a necessary condition, never a trigger alone"),
)
SEPARATE_SPECIMENS: Final = Clause(
    text="Results of a blood gas analyser and of the laboratory are separate series.",
    source=our_choice("specimen types are not mixed in one trend"),
)
