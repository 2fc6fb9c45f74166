"""KDIGO acute kidney injury: definition and stages, 2012 edition.

Data only, in the order of Table 2. Staging lives in
`weatherglass.assessments`.

The table prints 1.5-1.9, 2.0-2.9 and 3.0. Ours: half-open intervals, so that 1.95
has not reached "2.0 times baseline". The same amounts are printed in two units
(0.3 mg/dL and 26.5 umol/L, which is 0.29977 mg/dL); each value meets the number of
its own unit, and neither is converted into the other.

Left out, with reasons:
    Which weight to use for urine output: the guideline does not say. Ours is the
    recorded actual weight, stated with the result.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.numbers.quantities import Quantity, Unit
from weatherglass.model.plain import Plain
from weatherglass.model.sources import Source
from weatherglass.model.tables.bands import BandTable, Compare, Cutoff, GapRule, band
from weatherglass.model.words.clauses import Window

PUBLICATION: Final = publication("kdigo-aki-2012")

PUBLIC_KEY: Final = "kdigo-aki-2012"
_ROWS: Final = PrintedRows("kidneys/kdigo-aki-2012-rows", globals())
_CREATININE = "Section 2, Table 2, serum creatinine"
_URINE = "Section 2, Table 2, urine output"

#: Stage by creatinine over baseline; 0 means that no stage is reached.
STAGE_BY_RATIO: Final = BandTable(
    unit=Unit.RATIO,
    step=Decimal("0.1"),
    gap_rule=GapRule.KEEP_LOWER_ROW,  # Ours: half-open intervals.
    bands=(
        band(None, "1.4", 0),  # Not printed: everything below stage 1.
        band("1.5", "1.9", 1),
        band("2.0", "2.9", 2),
        band("3.0", None, 3),
    ),
    source=PUBLICATION.at(f"{_CREATININE}, times baseline"),
)


class UrineCriterion(Plain, frozen=True, kw_only=True):
    """One urine row: a rate below the printed limit for at least the printed time."""

    stage: int
    rate: Cutoff
    window: Window

    @property
    def source(self) -> Source:
        """Where the row is printed."""
        return self.rate.source


def _below(rate: str, stage: int, hours: int) -> UrineCriterion:
    place = PUBLICATION.at(f"{_URINE}, stage {stage}")
    limit = Quantity(Decimal(rate), Unit.MILLILITRE_PER_KILOGRAM_HOUR)
    return UrineCriterion(
        stage=stage,
        rate=Cutoff(compare=Compare.BELOW, limit=limit, source=place),
        window=Window(length=timedelta(hours=hours), source=place),
    )


#: The rows, highest stage first. Stage 1 is printed "for 6-12 hours".
URINE_CRITERIA: Final = (
    _below("0.3", 3, 24),
    _below("0.5", 2, 12),
    _below("0.5", 1, 6),
)
#: Below this rate urine is low, by the first stage.
LEAST_RATE: Final = URINE_CRITERIA[-1].rate

STAGE_3: Final = 3
ANURIA_STAGE: Final = STAGE_3
