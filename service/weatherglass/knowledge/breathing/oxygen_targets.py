"""Oxygen saturation targets, British Thoracic Society guideline, 2017.

Data only. Oxygen is a treatment that is prescribed to a target range. A prescribed range
in the record always comes first; the two published ranges stand in for it only as
advice to prescribe one.

Left out, with reasons:
    Back to 94-98% after a normal gas (table 3, section 8.12): the team's decision, in the record as a range.
"""

from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.model.numbers.quantities import Quantity, Unit
from weatherglass.model.plain import Plain
from weatherglass.model.sources import Mark, Source, our_choice
from weatherglass.model.tables.bands import Compare, Cutoff
from weatherglass.model.words.clauses import Clause

PUBLIC_KEY: Final = "oxygen-targets-2017"
PUBLICATION: Final = publication("bts-oxygen-2017")


class TargetRange(Plain, frozen=True, kw_only=True):
    """A target saturation in percent, both ends inside.

    Attributes:
        above: What is above the range while oxygen is given.
    """

    key: str
    label: str
    low: Decimal
    high: Decimal
    above: Cutoff
    source: Source


def _above(compare: Compare, percent: str) -> Cutoff:
    return Cutoff(
        compare=compare,
        limit=Quantity(Decimal(percent), Unit.PERCENT),
        source=our_choice("saturation above the range on oxygen suggests giving less"),
    )


MOST_ADULTS: Final = TargetRange(
    key="94-98",
    label="94-98%",
    low=Decimal(94),
    high=Decimal(98),
    above=_above(Compare.AT_LEAST, "99"),
    source=PUBLICATION.at("target for most acutely ill adults, 94-98%"),
)
RISK_OF_HYPERCAPNIA: Final = TargetRange(
    key="88-92",
    label="88-92%",
    low=Decimal(88),
    high=Decimal(92),
    above=_above(Compare.ABOVE, "92"),
    source=PUBLICATION.at("target at risk of hypercapnic respiratory failure, 88-92%"),
)
TARGET_RANGES: Final = (MOST_ADULTS, RISK_OF_HYPERCAPNIA)

PRESCRIBED_RANGE_FIRST: Final = Clause(
    text="A target range recorded for the patient is used before any published one.",
    source=our_choice("the prescribed range decides; any saturation above its upper end counts"),
)
PRESCRIBE_TO_A_RANGE: Final = Clause(
    text="Oxygen is a treatment for low saturation and is prescribed to a target range.",
    source=PUBLICATION.at("oxygen is prescribed to a target range", Mark.SECONDARY),
)
