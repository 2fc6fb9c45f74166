"""Systemic inflammatory response syndrome, ACCP/SCCM consensus, 1992.

Data only. Two or more of four criteria. Every inequality is strict, so 38.0, 36.0, 90,
20, 12 and 4 do not count. Ours: the inequalities are applied to the value as recorded,
without rounding it to the printed digits first.

Left out, with reasons:
    More than 10% immature forms: no signal carries a differential count.
"""

from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.signals import Signal
from weatherglass.model.sources import our_choice
from weatherglass.model.tables.bands import Compare, Cutoff
from weatherglass.model.tables.scores import (
    CutoffTable,
    ResponseTier,
    ScoreDefinition,
    ScoreParameter,
)

PUBLICATION: Final = publication("accp-sccm-1992")


def _outside(unit: Unit, place: str, *, below: str = "", above: str = "") -> CutoffTable:
    source = PUBLICATION.at(f"SIRS criteria, {place}")
    limits = ((Compare.BELOW, below), (Compare.ABOVE, above))
    cutoffs = tuple(
        Cutoff(compare=compare, limit=Quantity(Decimal(number), unit), source=source)
        for compare, number in limits
        if number
    )
    return CutoffTable(cutoffs=cutoffs, points=1, source=source)


TEMPERATURE: Final = _outside(Unit.DEGREE_CELSIUS, "temperature", below="36.0", above="38.0")
PULSE: Final = _outside(Unit.PER_MINUTE, "heart rate", above="90")
RESPIRATION_RATE: Final = _outside(Unit.PER_MINUTE, "respiratory rate", above="20")
#: Printed as 32 mmHg and 4.3 kPa.
PCO2_ARTERIAL: Final = _outside(Unit.KILOPASCAL, "PaCO2", below="4.3")
WHITE_CELLS: Final = _outside(Unit.BILLION_PER_LITRE, "white blood cells", below="4", above="12")

POSITIVE: Final = ResponseTier(
    at_least=2,
    label="met (2 or more)",
    response="With suspected infection: assess for sepsis",
    urgency="routine",
    source=PUBLICATION.at("SIRS, two or more criteria"),
    response_source=our_choice("unspecific criteria; never raise the urgency by themselves"),
)
NEGATIVE: Final = ResponseTier(
    at_least=0,
    label="not met (0-1)",
    response="Does not exclude sepsis",
    urgency="routine",
    source=PUBLICATION.at("SIRS, fewer than two criteria"),
)

#: Sepsis-induced low pressure in the same consensus: below this, or the fall underneath.
LOW_PRESSURE: Final = Cutoff(
    compare=Compare.BELOW,
    limit=Quantity(Decimal(90), Unit.MILLIMETRE_OF_MERCURY),
    source=PUBLICATION.at("sepsis-induced hypotension, systolic below 90"),
)
PRESSURE_FALL: Final = Cutoff(
    compare=Compare.AT_LEAST,
    limit=Quantity(Decimal(40), Unit.MILLIMETRE_OF_MERCURY),
    source=PUBLICATION.at("sepsis-induced hypotension, reduction of 40 or more from baseline"),
)

SIRS: Final = ScoreDefinition(
    key="sirs",
    public_key="sirs-1992",
    name="SIRS",
    edition="ACCP/SCCM consensus, 1992",
    parameters=(
        ScoreParameter(
            key="temperature",
            label="temperature",
            signal=Signal.TEMPERATURE,
            table=TEMPERATURE,
        ),
        ScoreParameter(key="pulse", label="pulse", signal=Signal.PULSE, table=PULSE),
        ScoreParameter(
            key="respiration",
            label="respiration rate",
            signal=Signal.RESPIRATION_RATE,
            table=RESPIRATION_RATE,
        ),
        ScoreParameter(
            key="carbon-dioxide",
            label="arterial carbon dioxide",
            signal=Signal.PCO2_ARTERIAL,
            table=PCO2_ARTERIAL,
            note="an alternative to the respiration rate; the two count once",
            required=False,
            bedside=False,
        ),
        ScoreParameter(
            key="white-cells",
            label="white cells",
            signal=Signal.WHITE_CELLS,
            table=WHITE_CELLS,
            bedside=False,
        ),
    ),
    either=(("respiration", "carbon-dioxide"),),
    thresholds=(POSITIVE, NEGATIVE),
    applies_to="adults; shown for sites that still use it",
    range=(0, 4),
    source=PUBLICATION.at("SIRS criteria"),
    notes=("Immature forms are not counted.",),
)
