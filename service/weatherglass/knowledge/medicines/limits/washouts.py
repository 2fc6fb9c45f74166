"""What acts on for days or weeks after its last dose, so that it still makes a pair.

The rows stand in `washouts.toml`; a pair says in `pairs.toml` that it is one of them.
"""

from datetime import timedelta
from typing import Final

from weatherglass.knowledge.data_files import Lasting, toml_members
from weatherglass.knowledge.medicines.groups import OfMedicines
from weatherglass.model.sources import Source

PUBLIC_KEY: Final = "medicine-washouts"


class Washout(OfMedicines, frozen=True, kw_only=True, dict=True):
    """One medicine or group.

    Attributes:
        lasts: For how long after its last dose that is recorded, else after its order has ended.
        taken_for: How long it was taken at least, where that is known.
        lowered: Whether a lower dose in use counts as an end of the higher one.
    """

    key: str
    lasts: Lasting
    taken_for: Lasting = timedelta(0)
    lowered: bool = False
    sources: tuple[Source, ...]


WASHOUTS: Final = toml_members("medicines/limits/washouts.toml", Washout)
