"""Trade names that British charts carry, with the ingredients that are known here.

Some medicines are prescribed by their trade name on purpose (lithium, tacrolimus, insulin,
antiepileptics), and it may be all that a chart says. The names are from memory and no complete
list (`trade-names.csv`); what is not in it is listed as not recognised. A name stands for all its forms
and strengths; its route is written where it has one only. Never matched by the beginning of a word:
several names differ by one letter.

Left out, with reasons:
    Products with a trace of potassium beside another purpose: see `medicine_names`.
    Ingredients of a product that nobody here knows (clavulanic acid, tazobactam).
"""

from typing import Final

from weatherglass.knowledge.data_files import Columns, csv_rows
from weatherglass.model.record.medicines import Route
from weatherglass.model.sources import common_practice

SOURCE: Final = common_practice("trade names and their ingredients, from memory")


class _Row(Columns, frozen=True):
    name: str
    ingredients: tuple[str, ...]
    route: Route | None = None


_ROWS: Final = csv_rows("medicines/trade-names.csv", _Row)

#: Trade name in lower case, and its ingredients by their names here.
TRADE_NAMES: Final[dict[str, tuple[str, ...]]] = {row.name: row.ingredients for row in _ROWS}

#: The route of a name of one word whose products have no other.
ROUTES: Final[dict[str, Route]] = {row.name: row.route for row in _ROWS if row.route is not None}
