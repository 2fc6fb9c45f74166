"""NHS England's laboratory algorithm for acute kidney injury, 2014.

Data only, in the order of the algorithm's flow: which earlier results count, the
ratios, the two absolute numbers, what is said when there is no earlier result.
The flow lives in `weatherglass.assessments`.

The flow chart itself was not read; the numbers come from two independent public
restatements of it and the marks say so. Its result is a laboratory warning, called
"AKI warning stage", and is kept apart from the KDIGO stage.

Left out, with reasons:
    Urine output and renal replacement: not part of a laboratory algorithm.
    Adult results compared with the reference range as if it were a baseline: the
    algorithm does so in children only.
"""

from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.numbers.quantities import Unit
from weatherglass.model.sources import Mark
from weatherglass.model.tables.bands import BandTable, GapRule, band

PUBLICATION: Final = publication("nhs-england-aki-2014")
PUBLIC_KEY: Final = "nhs-aki-2014"
_ROWS: Final = PrintedRows("kidneys/nhs-aki-2014-rows", globals())
_FLOW = "Algorithm"

#: Stage by the newest result over the reference value; 0 means no warning by ratio.
STAGE_BY_RATIO: Final = BandTable(
    unit=Unit.RATIO,
    step=Decimal("0.1"),
    gap_rule=GapRule.KEEP_LOWER_ROW,  # Ours: half-open, "at least 1.5" begins at 1.5.
    bands=(
        band(None, "1.4", 0),  # Not printed: everything below 1.5.
        band("1.5", "1.9", 1),
        band("2.0", "2.9", 2),
        band("3.0", None, 3),
    ),
    source=PUBLICATION.at(f"{_FLOW}, RV ratio", Mark.SECONDARY),
)


MINIMUM_AGE: Final = _ROWS.age("minimum-age")

#: The term of QS76, statement 3.
RESULT_NAME: Final = "AKI warning stage"
STAGE_WORDING: Final = {
    1: f"{RESULT_NAME} 1",
    2: f"{RESULT_NAME} 2",
    3: f"{RESULT_NAME} 3",
}
