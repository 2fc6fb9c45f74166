"""Doses that prevent and do not treat: of injected anticoagulants, and of antibacterials by mouth.

The rows stand in `preventive_doses.toml`. A dose that is not written, as a number or in words, is not
taken for a preventive one.
"""

from collections.abc import Mapping
from datetime import timedelta
from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import toml_members
from weatherglass.knowledge.medicines.groups import OfMedicines
from weatherglass.model.sources import Source, common_practice, our_choice
from weatherglass.model.words.clauses import Share, Window

PUBLIC_KEY: Final = "preventive-doses"


class PreventiveDose(OfMedicines, frozen=True, kw_only=True, dict=True):
    """The preventive dose of one medicine; its columns are explained in `preventive_doses.toml`."""

    key: str
    most: Mapping[str, Decimal]
    in_order: tuple[str, ...]
    doses: Decimal = Decimal(0)
    sources: tuple[Source, ...]


#: A word that a line has while a new hip or knee, and nothing else on record, asks for prevention.
NEW_JOINT: Final = "after a new hip or knee"
#: Words that a line has where the newest weight is that much or more, the heaviest first.
HEAVY: Final[Mapping[str, Share]] = {
    f"of {kilograms} kg or more": Share(value=Decimal(kilograms), source=source)
    for kilograms, source in (
        (100, common_practice("from 100 kg 40 mg of enoxaparin twice a day prevents clots")),
        (91, common_practice("from 91 kg a higher dose of heparin prevents clots in and after pregnancy")),
    )
}
PREVENTS_AFTER_A_JOINT: Final = Window(
    length=timedelta(days=38),
    source=our_choice("after a new hip or knee tablets prevent clots for up to 38 days"),
)
PREVENTIVE_DOSES: Final = toml_members("medicines/limits/preventive_doses.toml", PreventiveDose)
