"""Every ingredient the drug-chart review knows, put together and checked.

The rows stand in `ingredients.csv`, by organ system. This module refuses to load
when two rows share a name or a code, when an ingredient has no class, or when its
classes are not exactly those that its ATC codes fall under.

Left out, with reasons:
    RxNorm products and UK dm+d products: a chart's display name says what they hold.
    RxNorm codes of amiodarone, allopurinol and isosorbide mononitrate, and of every other
    row without one: not confirmed, so absent. The name and the ATC code find them.
"""

from collections import Counter
from collections.abc import Mapping
from typing import Final

from weatherglass.knowledge.data_files import Columns, csv_rows
from weatherglass.knowledge.medicines.class_codes import classes_of
from weatherglass.knowledge.medicines.ingredient_tables.ingredient import Ingredient, ingredients

INGREDIENTS: Final[tuple[Ingredient, ...]] = ingredients()


class _Compound(Columns, frozen=True):
    name: str
    ingredients: tuple[str, ...]


_COMPOUNDS: Final = csv_rows("medicines/compound-names.csv", _Compound)
#: British approved names of fixed combinations, each with the ingredients in our table.
#: What is missing (paracetamol, clavulanic acid) has no class.
COMPOUND_NAMES: Final[dict[str, tuple[str, ...]]] = {
    row.name: row.ingredients for row in _COMPOUNDS if row.name.islower()
}
#: ATC codes of fixed combinations that are one everyday medicine, with all their ingredients.
#: Other combinations bring their classes by `class_codes`, and their ingredients by name.
COMBINATION_CODES: Final[dict[str, tuple[str, ...]]] = {
    row.name: row.ingredients for row in _COMPOUNDS if not row.name.islower()
}

#: Phrases that hold the name of an ingredient without being it.
NOT_AN_INGREDIENT: Final[tuple[str, ...]] = (
    "digoxin immune fab",
    "digoxin specific antibody",
    "digoxin specific antibodies",
    "digoxin-specific fab",
    "insulin degludec antibody",
    "insulin-like growth factor",
    "insulin needle",
    "insulin needles",
    "insulin pen needle",
    "insulin pen needles",
    "insulin pump",
    "insulin safety syringe",
    "insulin syringe",
    "insulin syringes",
    "aspirin free",
    "codeine free",
)


def _checked(rows: tuple[Ingredient, ...]) -> dict[str, Ingredient]:
    """Refuse a table that contradicts itself."""
    table = {row.name: row for row in rows}
    if len(table) != len(rows):
        raise ValueError("An ingredient is listed twice.")
    for kind, codes in (
        ("name", [name for row in rows for name in (row.name, *row.synonyms)]),
        ("RxNorm concept", [code for row in rows for code in row.rxcui]),
        ("SNOMED CT concept", [code for row in rows for code in row.snomed]),
    ):
        if twice := sorted(code for code, count in Counter(codes).items() if count > 1):
            raise ValueError(f"More than one ingredient has the {kind} {twice}.")
    for row in rows:
        if not row.classes:
            raise ValueError(f"{row.name} has no class.")
        if row.atc and frozenset(row.classes) != frozenset().union(*map(classes_of, row.atc)):
            raise ValueError(f"{row.name}: its classes are not those of its ATC codes.")
        if not all(code.isdecimal() for code in row.rxcui + row.snomed):
            raise ValueError(f"{row.name}: a concept identifier is not a number.")
    for compound, parts in (COMPOUND_NAMES | COMBINATION_CODES).items():
        if not table.keys() >= set(parts):
            raise ValueError(f"{compound} holds an ingredient that is not listed.")
    return table


#: Every ingredient by its international name.
BY_NAME: Final[Mapping[str, Ingredient]] = _checked(INGREDIENTS)
