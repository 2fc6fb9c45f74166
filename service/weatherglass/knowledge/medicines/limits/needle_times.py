"""How long after a dose a needle goes beside the spinal cord, or a catheter comes out from there.

The rows stand in `needle_times.toml`. The anaesthetist decides; the hours are for normal kidneys.
"""

from typing import Final

from weatherglass.knowledge.data_files import Lasting, toml_members
from weatherglass.knowledge.medicines.groups import OfMedicines
from weatherglass.model.sources import Source

PUBLIC_KEY: Final = "needle-times"


class NeedleTime(OfMedicines, frozen=True, kw_only=True, dict=True):
    """One group of anticoagulants.

    Attributes:
        key: Stable key.
        prevents: How long after a dose that only prevents clots.
        treats: How long after any other dose.
    """

    key: str
    prevents: Lasting
    treats: Lasting
    sources: tuple[Source, ...]


NEEDLE_TIMES: Final = toml_members("medicines/limits/needle_times.toml", NeedleTime)
#: What is given to prevent clots as a rule, and whose hours are asked of a needle that has gone in.
LOW_MOLECULAR_WEIGHT_HEPARIN: Final = next(
    row for row in NEEDLE_TIMES if row.key == "low-molecular-weight-heparin"
)
