"""Bedside Paediatric Early Warning System score, Parshuram and colleagues, 2009.

Data only, in the order of Table 1: seven items, five age groups, sub-scores 0, 1, 2 and
4. Each age group has a definition of its own; `BEDSIDE_PEWS` lists them youngest first.

Ours, since the table is silent or slips:
    The group "4-12 years" overlaps "1-4 years" at 4; a child of 4 belongs to the younger.
    Heart rate, 4-12 years, 4 points is printed "> 150", every other such cell has ">=".
    Heart rate, over 12 years, 2 points is printed "< 50", every other such cell has "<=".
    Breathing rate, 0 points is printed with "or" in four groups where "and" is meant.
    Values between whole numbers are rounded half up; where several cells match, the
    highest counts. A refill of 2.99 seconds is below the printed 3, a flow of 0.01 is oxygen,
    and a fraction of 0.21 is air.
    12 asks for an emergency: half as much again as the published 8, and three of seven rows at
    their worst. A low total has no response: another finding may ask.

Left out, with reasons:
    Pulses, fluid bolus, consciousness and temperature: candidates in Table 1 that the
    final score dropped.
    Totals of the national paediatric system of England: its cut-offs could not be read in
    its own documents. A reported total is followed, not computed.
"""

from typing import Final

from weatherglass.knowledge.scores.printed_scores import printed_by_age
from weatherglass.model.tables.bands import BandTable, ChoiceTable

PUBLIC_KEY: Final = "bedside-pews-2009"
#: Youngest first; the rows stand in `bedside-pews-2009.toml`. Ages are completed months, so that a
#: child of 4 years is in "1-4 years".
BEDSIDE_PEWS: Final = printed_by_age("bedside-pews-2009")
AGE_GROUPS: Final = tuple(form.label for form in BEDSIDE_PEWS)

HEART_RATE: Final = tuple(form.definition.table("heart-rate", BandTable) for form in BEDSIDE_PEWS)
SYSTOLIC_PRESSURE: Final = tuple(
    form.definition.table("systolic-pressure", BandTable) for form in BEDSIDE_PEWS
)
RESPIRATION_RATE: Final = tuple(form.definition.table("respiration", BandTable) for form in BEDSIDE_PEWS)

#: The rest is the same at every age.
_ANY: Final = BEDSIDE_PEWS[0].definition
CAPILLARY_REFILL: Final = _ANY.table("capillary-refill", BandTable)
RESPIRATORY_EFFORT: Final = _ANY.table("respiratory-effort", ChoiceTable)
SPO2: Final = _ANY.table("spo2", BandTable)
OXYGEN_THERAPY: Final = _ANY.table("oxygen-therapy", ChoiceTable)
OXYGEN_FLOW: Final = _ANY.table("oxygen-flow", BandTable)
OXYGEN_FRACTION: Final = _ANY.table("oxygen-fraction", BandTable)
VERY_HIGH, HIGH, BELOW = _ANY.thresholds


def age_group(months: int) -> int:
    """Return the place of the age group of a child of so many completed months."""
    return next(n for n, group in enumerate(BEDSIDE_PEWS) if group.covers(max(months, 0)))
