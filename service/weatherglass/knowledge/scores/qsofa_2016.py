"""Quick SOFA, Sepsis-3 consensus, 2016.

Data only. One point each for three printed inequalities; two points are positive in
someone with suspected infection. Shown as a secondary score only: the Surviving Sepsis
Campaign 2021 advises against it as the sole screen.

Left out, with reasons:
    SOFA itself: needs vasopressor doses by weight and a partial pressure of oxygen with
    its inspired fraction on the same sample, and no assessment asks for it yet.
"""

from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.model.clauses import Clause
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

PUBLICATION: Final = publication("sepsis-3-2016")
_BREATHING = PUBLICATION.at("qSOFA criteria, respiratory rate", Mark.SECONDARY)
_PRESSURE = PUBLICATION.at("qSOFA criteria, systolic blood pressure", Mark.SECONDARY)
_MENTATION = PUBLICATION.at("qSOFA criteria, altered mentation", Mark.SECONDARY)
_SCALE = PUBLICATION.at("qSOFA criteria, altered mentation as Glasgow Coma Scale", Mark.FROM_MEMORY)

RESPIRATION_RATE: Final = CutoffTable(
    cutoffs=(
        Cutoff(
            compare=Compare.AT_LEAST,
            limit=Quantity(Decimal(22), Unit.PER_MINUTE),
            source=_BREATHING,
        ),
    ),
    points=1,
    source=_BREATHING,
)
SYSTOLIC_PRESSURE: Final = CutoffTable(
    cutoffs=(
        Cutoff(
            compare=Compare.AT_MOST,
            limit=Quantity(Decimal(100), Unit.MILLIMETRE_OF_MERCURY),
            source=_PRESSURE,
        ),
    ),
    points=1,
    source=_PRESSURE,
)
#: Ours: anything but alert is altered mentation.
CONSCIOUSNESS: Final = ChoiceTable(
    points_by_choice={answer: 0 if answer is Consciousness.ALERT else 1 for answer in ACVPU},
    source=_MENTATION,
)
#: Instead of the above where a Glasgow Coma Scale is recorded.
GCS_TOTAL: Final = CutoffTable(
    cutoffs=(Cutoff(compare=Compare.BELOW, limit=Quantity(Decimal(15), Unit.SCORE), source=_SCALE),),
    points=1,
    source=_SCALE,
)

POSITIVE: Final = ResponseTier(
    at_least=2,
    label="positive (2 or more)",
    response="With suspected infection: assess for sepsis and organ dysfunction",
    urgency="prompt",
    source=PUBLICATION.at("qSOFA criteria, 2 or more", Mark.SECONDARY),
    response_source=our_choice("worded as a question, since the score is a secondary screen"),
)
NEGATIVE: Final = ResponseTier(
    at_least=0,
    label="negative (0-1)",
    response="Does not exclude sepsis",
    urgency="routine",
    source=PUBLICATION.at("qSOFA criteria, 0 to 1", Mark.SECONDARY),
)
NEVER_ALONE: Final = Clause(
    text="Not to be used as the only screen for sepsis.",
    source=publication("ssc-2021").at("Recommendation on qSOFA as a single screening tool", Mark.SECONDARY),
)

QSOFA: Final = ScoreDefinition(
    key="qsofa",
    public_key="qsofa-2016",
    name="qSOFA",
    edition="Sepsis-3 consensus, 2016",
    parameters=(
        ScoreParameter(
            key="respiration",
            label="respiration rate",
            signal=Signal.RESPIRATION_RATE,
            table=RESPIRATION_RATE,
        ),
        ScoreParameter(
            key="systolic-pressure",
            label="systolic blood pressure",
            signal=Signal.SYSTOLIC_PRESSURE,
            table=SYSTOLIC_PRESSURE,
        ),
        ScoreParameter(
            key="consciousness",
            label="altered mentation",
            signal=CodedSignal.CONSCIOUSNESS,
            table=CONSCIOUSNESS,
        ),
    ),
    alternatives=(
        ScoreParameter(
            key="consciousness",
            label="altered mentation",
            signal=Signal.GCS_TOTAL,
            table=GCS_TOTAL,
            note="where a Glasgow Coma Scale is recorded",
            replaces="consciousness",
        ),
    ),
    thresholds=(POSITIVE, NEGATIVE),
    applies_to="adults with suspected infection, as a secondary score",
    range=(0, 3),
    source=PUBLICATION.at("qSOFA criteria", Mark.SECONDARY),
    notes=(NEVER_ALONE.text,),
)
