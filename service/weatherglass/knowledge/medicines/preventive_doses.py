"""Doses of injected anticoagulants that prevent clots and do not treat them.

The rows stand in `preventive_doses.toml`. A dose that is not written, as a number or in words, is not
taken for a preventive one.
"""

from collections.abc import Mapping
from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import Columns, cite, toml_rows
from weatherglass.knowledge.medicines.groups import Members, members_of
from weatherglass.model.plain import Plain
from weatherglass.model.sources import Source

PUBLIC_KEY: Final = "preventive-doses"


class _Row(Columns, frozen=True):
    who: tuple[str, ...]
    most: Mapping[str, Decimal]
    in_order: tuple[str, ...]
    sources: tuple[str, ...]


class PreventiveDose(Plain, frozen=True, kw_only=True):
    """The preventive dose of one medicine.

    Attributes:
        who: The medicine.
        most: The highest dose of a day, by "mg" or "unit".
        in_order: Words of such a dose, in small letters.
    """

    who: Members
    most: Mapping[str, Decimal]
    in_order: tuple[str, ...]
    source: Source


PREVENTIVE_DOSES: Final = tuple(
    PreventiveDose(who=members_of(row.who), most=row.most, in_order=row.in_order, source=cite(row.sources[0]))
    for row in toml_rows("medicines/preventive_doses.toml", _Row).values()
)
