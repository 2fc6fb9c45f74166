"""Modified Early Warning Score, Subbe and colleagues, 2001.

Data only. The rows were read in three reproductions of the paper's table, which differ
in the printed inequality of the outer rows; the marks say so.

Ours: systolic pressure of exactly 70 and pulse of exactly 40 lie between two printed
rows and take the row with more points, as one of the reproductions prints them.

Left out, with reasons:
    Urine output: one reproduction has such a row, the paper's score has not.
    Oxygen saturation, oxygen given: the score has no such rows.
"""

from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.model.quantities import Unit
from weatherglass.model.signals import CodedSignal, Consciousness, Signal
from weatherglass.model.sources import Mark, our_choice
from weatherglass.model.tables.bands import BandTable, ChoiceTable, GapRule, band
from weatherglass.model.tables.scores import ResponseTier, ScoreDefinition, ScoreParameter

PUBLICATION: Final = publication("subbe-2001")
_WHOLE = Decimal(1)

SYSTOLIC_PRESSURE: Final = BandTable(
    unit=Unit.MILLIMETRE_OF_MERCURY,
    step=_WHOLE,
    gap_rule=GapRule.ROUND_HALF_UP,
    bands=(
        band(None, "70", 3),  # Ours: printed "< 70" or "<= 70".
        band("71", "80", 2),
        band("81", "100", 1),
        band("101", "199", 0),
        band("200", None, 2),
    ),
    source=PUBLICATION.at("MEWS table, row 'Systolic BP'", Mark.SECONDARY),
)
PULSE: Final = BandTable(
    unit=Unit.PER_MINUTE,
    step=_WHOLE,
    gap_rule=GapRule.ROUND_HALF_UP,
    bands=(
        band(None, "40", 2),  # Ours: printed "< 40" or "<= 40".
        band("41", "50", 1),
        band("51", "100", 0),
        band("101", "110", 1),
        band("111", "129", 2),
        band("130", None, 3),
    ),
    source=PUBLICATION.at("MEWS table, row 'Heart rate'", Mark.SECONDARY),
)
RESPIRATION_RATE: Final = BandTable(
    unit=Unit.PER_MINUTE,
    step=_WHOLE,
    gap_rule=GapRule.ROUND_HALF_UP,
    bands=(
        band(None, "8", 2),  # Printed "< 9".
        band("9", "14", 0),
        band("15", "20", 1),
        band("21", "29", 2),
        band("30", None, 3),
    ),
    source=PUBLICATION.at("MEWS table, row 'Respiratory rate'", Mark.SECONDARY),
)
TEMPERATURE: Final = BandTable(
    unit=Unit.DEGREE_CELSIUS,
    step=Decimal("0.1"),
    gap_rule=GapRule.ROUND_HALF_UP,
    bands=(
        band(None, "34.9", 2),  # Printed "< 35".
        band("35.0", "38.4", 0),
        band("38.5", None, 2),
    ),
    source=PUBLICATION.at("MEWS table, row 'Temperature'", Mark.SECONDARY),
)
CONSCIOUSNESS: Final = ChoiceTable(
    points_by_choice={
        Consciousness.ALERT: 0,
        Consciousness.NEW_CONFUSION: 0,  # Ours: AVPU has no such answer; awake is alert.
        Consciousness.VOICE: 1,
        Consciousness.PAIN: 2,
        Consciousness.UNRESPONSIVE: 3,
    },
    source=PUBLICATION.at("MEWS table, row 'AVPU score'", Mark.SECONDARY),
)

#: What to do is a local matter; the paper gives outcomes, not a response.
CRITICAL: Final = ResponseTier(
    at_least=5,
    label="5 or more",
    risk="associated with death and with critical care admission",
    response="Urgent review by a doctor; consider critical care outreach",
    urgency="urgent",
    source=PUBLICATION.at("Results, scores of 5 or more"),
    response_source=our_choice("the paper prescribes no response to its score"),
)
BELOW: Final = ResponseTier(
    at_least=0,
    label="0-4",
    response="Continue observations as local policy says",
    urgency="routine",
    source=PUBLICATION.at("Results, scores below 5"),
    response_source=our_choice("the paper prescribes no response to its score"),
)

MEWS: Final = ScoreDefinition(
    key="mews",
    public_key="mews-2001",
    name="MEWS",
    edition="Subbe and colleagues, 2001",
    parameters=(
        ScoreParameter(
            key="systolic-pressure",
            label="systolic blood pressure",
            signal=Signal.SYSTOLIC_PRESSURE,
            table=SYSTOLIC_PRESSURE,
        ),
        ScoreParameter(key="pulse", label="pulse", signal=Signal.PULSE, table=PULSE),
        ScoreParameter(
            key="respiration",
            label="respiration rate",
            signal=Signal.RESPIRATION_RATE,
            table=RESPIRATION_RATE,
        ),
        ScoreParameter(
            key="temperature",
            label="temperature",
            signal=Signal.TEMPERATURE,
            table=TEMPERATURE,
        ),
        ScoreParameter(
            key="consciousness",
            label="consciousness",
            signal=CodedSignal.CONSCIOUSNESS,
            table=CONSCIOUSNESS,
            note="the score has no item for new confusion",
        ),
    ),
    thresholds=(CRITICAL, BELOW),
    applies_to="adult medical admissions",
    range=(0, 14),
    source=PUBLICATION.at("MEWS table"),
    notes=("The score has no item for oxygen saturation, oxygen given or new confusion.",),
)
