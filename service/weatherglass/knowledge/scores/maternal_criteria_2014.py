"""Maternal Early Warning Criteria, National Partnership for Maternal Safety, 2014.

Data only. Any single criterion asks for an urgent bedside evaluation; nothing is added
up. Every inequality is strict as printed and holds for the value as recorded.

Left out, with reasons:
    Non-remitting headache or shortness of breath in pre-eclampsia: symptoms are not read;
    the criterion is listed in `PREECLAMPSIA_SYMPTOMS` for the clinician.
    Totals of the national maternity score of England and of other aggregate obstetric
    scores: their cut-offs could not be read in the publications. A reported total is
    followed, not computed.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.model.clauses import Clause, Window
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.signals import ACVPU, CodedSignal, Consciousness, Signal
from weatherglass.model.sources import Mark, our_choice
from weatherglass.model.tables.bands import ChoiceTable, Compare, Cutoff
from weatherglass.model.tables.scores import (
    CutoffTable,
    ResponseTier,
    ScoreDefinition,
    ScoreParameter,
)

PUBLICATION: Final = publication("maternal-criteria-2014")


def _outside(unit: Unit, row: str, *, below: str = "", above: str = "") -> CutoffTable:
    source = PUBLICATION.at(f"The Maternal Early Warning Criteria, row '{row}'", Mark.SECONDARY)
    limits = ((Compare.BELOW, below), (Compare.ABOVE, above))
    cutoffs = tuple(
        Cutoff(compare=compare, limit=Quantity(Decimal(number), unit), source=source)
        for compare, number in limits
        if number
    )
    return CutoffTable(cutoffs=cutoffs, points=1, source=source)


_HG = Unit.MILLIMETRE_OF_MERCURY
SYSTOLIC_PRESSURE: Final = _outside(_HG, "Systolic BP", below="90", above="160")
DIASTOLIC_PRESSURE: Final = _outside(_HG, "Diastolic BP", above="100")
PULSE: Final = _outside(Unit.PER_MINUTE, "Heart rate", below="50", above="120")
RESPIRATION_RATE: Final = _outside(Unit.PER_MINUTE, "Respiratory rate", below="10", above="30")
SPO2_ON_AIR: Final = _outside(Unit.PERCENT, "Oxygen saturation on room air", below="95")
URINE_RATE: Final = _outside(Unit.MILLILITRE_PER_HOUR, "Oliguria", below="35")
URINE_WINDOW: Final = Window(
    length=timedelta(hours=2),
    source=PUBLICATION.at("The Maternal Early Warning Criteria, row 'Oliguria'", Mark.SECONDARY),
)
#: Printed as agitation, confusion or unresponsiveness.
CONSCIOUSNESS: Final = ChoiceTable(
    points_by_choice={answer: 0 if answer is Consciousness.ALERT else 1 for answer in ACVPU},
    source=PUBLICATION.at(
        "The Maternal Early Warning Criteria, agitation, confusion or unresponsiveness",
        Mark.SECONDARY,
    ),
)

NEW_OXYGEN: Final = Window(
    length=timedelta(hours=24),
    source=our_choice("oxygen that is given from the first record on is new for 24 hours"),
)
PREECLAMPSIA_SYMPTOMS: Final = Clause(
    text="In pre-eclampsia a headache that does not remit, or shortness of breath, is a criterion.",
    source=PUBLICATION.at("The Maternal Early Warning Criteria, pre-eclampsia", Mark.SECONDARY),
)
VERIFY_SINGLE_VALUES: Final = Clause(
    text="A single abnormal pressure, pulse, breathing rate or saturation should be verified.",
    source=PUBLICATION.at("text beside the criteria, isolated measurements", Mark.SECONDARY),
)

MET: Final = ResponseTier(
    at_least=1,
    label="any criterion met",
    response=(
        "Urgent bedside evaluation by a clinician who can escalate care, diagnose and treat; "
        "observe more often until then"
    ),
    urgency="urgent",
    source=PUBLICATION.at("Abstract, need for urgent bedside evaluation"),
)
NOT_MET: Final = ResponseTier(
    at_least=0,
    label="no criterion met",
    response="Continue observations as local policy says",
    urgency="routine",
    source=PUBLICATION.at("The Maternal Early Warning Criteria", Mark.SECONDARY),
)

MATERNAL_CRITERIA: Final = ScoreDefinition(
    key="maternal-criteria",
    public_key="maternal-criteria-2014",
    name="Maternal Early Warning Criteria",
    edition="National Partnership for Maternal Safety, 2014",
    parameters=(
        ScoreParameter(
            key="systolic-pressure",
            label="systolic blood pressure",
            signal=Signal.SYSTOLIC_PRESSURE,
            table=SYSTOLIC_PRESSURE,
        ),
        ScoreParameter(
            key="diastolic-pressure",
            label="diastolic blood pressure",
            signal=Signal.DIASTOLIC_PRESSURE,
            table=DIASTOLIC_PRESSURE,
        ),
        ScoreParameter(key="pulse", label="pulse", signal=Signal.PULSE, table=PULSE),
        ScoreParameter(
            key="respiration",
            label="respiration rate",
            signal=Signal.RESPIRATION_RATE,
            table=RESPIRATION_RATE,
        ),
        ScoreParameter(
            key="spo2",
            label="oxygen saturation",
            signal=Signal.SPO2,
            table=SPO2_ON_AIR,
            note="printed for room air at sea level; on oxygen a need of 40 % or more meets it here",
        ),
        ScoreParameter(
            key="urine-output",
            label="urine output",
            signal=Signal.URINE_RATE,
            table=URINE_RATE,
            note="for at least two hours, where it is measured",
            required=False,
            bedside=False,
        ),
        ScoreParameter(
            key="consciousness",
            label="agitation, confusion or unresponsiveness",
            signal=CodedSignal.CONSCIOUSNESS,
            table=CONSCIOUSNESS,
        ),
    ),
    thresholds=(MET, NOT_MET),
    applies_to="pregnancy and up to 42 days after it",
    range=(0, 7),
    source=PUBLICATION.at("The Maternal Early Warning Criteria", Mark.SECONDARY),
    notes=(PREECLAMPSIA_SYMPTOMS.text, VERIFY_SINGLE_VALUES.text),
)
