"""Bedside Paediatric Early Warning System score, Parshuram and colleagues, 2009.

Data only, in the order of Table 1: seven items, five age groups, sub-scores 0, 1, 2 and
4. Each age group has a definition of its own; `BEDSIDE_PEWS` lists them youngest first.

Ours, since the table is silent or slips:
    The group "4-12 years" overlaps "1-4 years" at 4; a child of 4 belongs to the younger.
    Heart rate, 4-12 years, 4 points is printed "> 150", every other such cell has ">=".
    Heart rate, over 12 years, 2 points is printed "< 50", every other such cell has "<=".
    Breathing rate, 0 points is printed with "or" in four groups where "and" is meant.
    Values between whole numbers are rounded half up; where several cells match, the
    highest counts.

Left out, with reasons:
    Pulses, fluid bolus, consciousness and temperature: candidates in Table 1 that the
    final score dropped.
    Totals of the national paediatric system of England: its cut-offs could not be read in
    its own documents. A reported total is followed, not computed.
"""

from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.model.quantities import Unit
from weatherglass.model.signals import (
    CodedSignal,
    OxygenDelivery,
    RespiratoryEffort,
    Signal,
)
from weatherglass.model.sources import Mark, our_choice
from weatherglass.model.tables.bands import BandTable, ChoiceTable, GapRule, band
from weatherglass.model.tables.scores import (
    AgedScore,
    ResponseTier,
    ScoreDefinition,
    ScoreParameter,
)

PUBLICATION: Final = publication("parshuram-2009")
_WHOLE = Decimal(1)

#: The printed limits of one cell: "at or below" and "at or above".
_Cell = tuple[int, int]


def _row(unit: Unit, place: str, one: _Cell, two: _Cell, four: _Cell) -> BandTable:
    """Turn the printed columns 1, 2 and 4 into rows; what lies between is column 0."""
    return BandTable(
        unit=unit,
        step=_WHOLE,
        gap_rule=GapRule.ROUND_HALF_UP,
        bands=(
            band(None, str(four[0]), 4),
            band(str(four[0] + 1), str(two[0]), 2),
            band(str(two[0] + 1), str(one[0]), 1),
            band(str(one[0] + 1), str(one[1] - 1), 0),
            band(str(one[1]), str(two[1] - 1), 1),
            band(str(two[1]), str(four[1] - 1), 2),
            band(str(four[1]), None, 4),
        ),
        source=PUBLICATION.at(f"Table 1, {place}"),
    )


_RATE, _HG = Unit.PER_MINUTE, Unit.MILLIMETRE_OF_MERCURY
AGE_GROUPS: Final = ("0-3 months", "3-12 months", "1-4 years", "4-12 years", "over 12 years")

HEART_RATE: Final = (
    _row(_RATE, "heart rate, 0-3 months", (110, 150), (90, 180), (80, 190)),
    _row(_RATE, "heart rate, 3-12 months", (100, 150), (80, 170), (70, 180)),
    _row(_RATE, "heart rate, 1-4 years", (90, 120), (70, 150), (60, 170)),
    _row(_RATE, "heart rate, 4-12 years", (70, 110), (60, 130), (50, 150)),
    _row(_RATE, "heart rate, over 12 years", (60, 100), (50, 120), (40, 140)),
)
SYSTOLIC_PRESSURE: Final = (
    _row(_HG, "systolic blood pressure, 0-3 months", (60, 80), (50, 100), (45, 130)),
    _row(_HG, "systolic blood pressure, 3-12 months", (80, 100), (70, 120), (60, 150)),
    _row(_HG, "systolic blood pressure, 1-4 years", (90, 110), (75, 125), (65, 160)),
    _row(_HG, "systolic blood pressure, 4-12 years", (90, 120), (80, 140), (70, 170)),
    _row(_HG, "systolic blood pressure, over 12 years", (100, 130), (85, 150), (75, 190)),
)
RESPIRATION_RATE: Final = (
    _row(_RATE, "respiratory rate, 0-3 months", (29, 61), (19, 81), (15, 91)),
    _row(_RATE, "respiratory rate, 3-12 months", (24, 51), (19, 71), (15, 81)),
    _row(_RATE, "respiratory rate, 1-4 years", (19, 41), (15, 61), (12, 71)),
    _row(_RATE, "respiratory rate, 4-12 years", (19, 31), (14, 41), (10, 51)),
    _row(_RATE, "respiratory rate, over 12 years", (11, 17), (10, 23), (9, 30)),
)
#: Printed "< 3 sec" and ">= 3 sec": 2.99 is still below.
CAPILLARY_REFILL: Final = BandTable(
    unit=Unit.SECOND,
    step=Decimal("0.1"),
    gap_rule=GapRule.KEEP_LOWER_ROW,
    bands=(band(None, "2.9", 0), band("3.0", None, 4)),
    source=PUBLICATION.at("Table 1, capillary refill"),
)
#: "Severe" includes any apnoea.
RESPIRATORY_EFFORT: Final = ChoiceTable(
    points_by_choice={
        RespiratoryEffort.NORMAL: 0,  # From memory: the cell was blank in the copy read.
        RespiratoryEffort.MILD: 1,
        RespiratoryEffort.MODERATE: 2,
        RespiratoryEffort.SEVERE: 4,
    },
    source=PUBLICATION.at("Table 1, respiratory effort; 'normal' from memory", Mark.FROM_MEMORY),
)
SPO2: Final = BandTable(
    unit=Unit.PERCENT,
    step=_WHOLE,
    gap_rule=GapRule.ROUND_HALF_UP,
    bands=(
        band(None, "90", 2),
        band("91", "94", 1),  # From memory, as is the row above 94.
        band("95", None, 0),
    ),
    source=PUBLICATION.at(
        "Table 1, saturation; '<= 90' as printed, '91-94' and '> 94' from memory",
        Mark.FROM_MEMORY,
    ),
)

_OXYGEN = PUBLICATION.at("Table 1, oxygen therapy")
#: Any oxygen scores at least 2. How much decides between 2 and 4: see the two tables below.
OXYGEN_THERAPY: Final = ChoiceTable(
    points_by_choice={delivery: 0 if delivery is OxygenDelivery.AIR else 2 for delivery in OxygenDelivery},
    source=_OXYGEN,
)
OXYGEN_FLOW: Final = BandTable(
    unit=Unit.LITRE_PER_MINUTE,
    step=Decimal("0.01"),
    gap_rule=GapRule.KEEP_LOWER_ROW,
    bands=(band(None, "0", 0), band("0.01", "3.99", 2), band("4.00", None, 4)),
    source=_OXYGEN,
)
#: Printed as "< 50%" and ">= 50%"; 0.21 is air.
OXYGEN_FRACTION: Final = BandTable(
    unit=Unit.FRACTION,
    step=Decimal("0.01"),
    gap_rule=GapRule.KEEP_LOWER_ROW,
    bands=(band(None, "0.21", 0), band("0.22", "0.49", 2), band("0.50", None, 4)),
    source=_OXYGEN,
)

_NO_RESPONSE = our_choice("the paper prescribes no response to its score")
#: Ours: 12 is half as much again as the published 8, and three of seven rows at their worst.
VERY_HIGH: Final = ResponseTier(
    at_least=12,
    label="12 or more",
    risk="well above the published limit of 8",
    response=(
        "Emergency assessment by the senior paediatrician and the team that brings paediatric critical care"
    ),
    urgency="emergency",
    source=our_choice(
        "the paper has one limit, 8; at 12, half as much again and three rows at their worst, nobody "
        "waits an hour"
    ),
    response_source=_NO_RESPONSE,
)
HIGH: Final = ResponseTier(
    at_least=8,
    label="8-11",
    risk="sensitivity 82% and specificity 93% for urgent admission to intensive care",
    response=("Urgent review by a senior paediatrician; consider asking for paediatric critical care advice"),
    urgency="urgent",
    source=PUBLICATION.at("Results, performance at a score of 8"),
    response_source=_NO_RESPONSE,
)
BELOW: Final = ResponseTier(
    at_least=0,
    label="0-7",
    # An incomplete or low total never says that nothing is needed: another finding may ask.
    response="",
    urgency="routine",
    source=PUBLICATION.at("Results, performance at a score of 8"),
    response_source=_NO_RESPONSE,
)


def _definition(group: int) -> ScoreDefinition:
    return ScoreDefinition(
        key="bedside-pews",
        public_key="bedside-pews-2009",
        name="Bedside PEWS",
        edition=f"Parshuram and colleagues, 2009, {AGE_GROUPS[group]}",
        parameters=(
            ScoreParameter(
                key="heart-rate",
                label="heart rate",
                signal=Signal.PULSE,
                table=HEART_RATE[group],
            ),
            ScoreParameter(
                key="systolic-pressure",
                label="systolic blood pressure",
                signal=Signal.SYSTOLIC_PRESSURE,
                table=SYSTOLIC_PRESSURE[group],
            ),
            ScoreParameter(
                key="capillary-refill",
                label="capillary refill time",
                signal=Signal.CAPILLARY_REFILL,
                table=CAPILLARY_REFILL,
            ),
            ScoreParameter(
                key="respiration",
                label="respiration rate",
                signal=Signal.RESPIRATION_RATE,
                table=RESPIRATION_RATE[group],
            ),
            ScoreParameter(
                key="respiratory-effort",
                label="respiratory effort",
                signal=CodedSignal.RESPIRATORY_EFFORT,
                table=RESPIRATORY_EFFORT,
                note="severe includes any apnoea",
            ),
            ScoreParameter(
                key="spo2",
                label="oxygen saturation",
                signal=Signal.SPO2,
                table=SPO2,
            ),
            ScoreParameter(
                key="oxygen-therapy",
                label="oxygen therapy",
                signal=CodedSignal.OXYGEN_DELIVERY,
                table=OXYGEN_THERAPY,
                note="on oxygen without a recorded flow or fraction: 2 or 4, not decided",
            ),
            ScoreParameter(
                key="oxygen-flow",
                label="oxygen flow",
                signal=Signal.OXYGEN_FLOW,
                table=OXYGEN_FLOW,
                note="counts with oxygen therapy, the higher once",
                required=False,
            ),
            ScoreParameter(
                key="oxygen-fraction",
                label="inspired oxygen fraction",
                signal=Signal.FIO2,
                table=OXYGEN_FRACTION,
                note="counts with oxygen therapy, the higher once",
                required=False,
            ),
        ),
        either=(("oxygen-therapy", "oxygen-flow", "oxygen-fraction"),),
        thresholds=(VERY_HIGH, HIGH, BELOW),
        applies_to="children in hospital",
        range=(0, 26),
        source=PUBLICATION.at("Table 1"),
        notes=("Two saturation cells and one effort cell are from memory; see the sources.",),
    )


#: Youngest first. Ages are completed months, so that a child of 4 years is in "1-4 years".
BEDSIDE_PEWS: Final = (
    AgedScore(label=AGE_GROUPS[0], from_months=0, below_months=3, definition=_definition(0)),
    AgedScore(label=AGE_GROUPS[1], from_months=3, below_months=12, definition=_definition(1)),
    AgedScore(label=AGE_GROUPS[2], from_months=12, below_months=60, definition=_definition(2)),
    AgedScore(label=AGE_GROUPS[3], from_months=60, below_months=156, definition=_definition(3)),
    AgedScore(label=AGE_GROUPS[4], from_months=156, below_months=None, definition=_definition(4)),
)
