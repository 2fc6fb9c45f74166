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

from weatherglass.knowledge.data_files import Columns, csv_rows, publication
from weatherglass.knowledge.medicines.class_codes import ATC_INDEX, classes_of
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.once import cached_property
from weatherglass.model.sources import Mark, Source

# One ingredient: its international name, its classes, and the codes that mean it.
#
# A code that was not confirmed is absent, never guessed. Which source confirmed which
# kind of code stands in the sources below; `Ingredient.sources` names those in use.

PUBLIC_KEY: Final = "medicine-names"
_RXNORM: Final = publication("rxnorm")
_SNOMED: Final = publication("ehealth-suisse-ingredients-2023")

ATC_SOURCE: Final = ATC_INDEX.at("the code of each ingredient")
RXNORM_SOURCE: Final = _RXNORM.at("prescribable content, concept of each ingredient")
RXNORM_SECONDARY: Final = _RXNORM.at(
    "concept of each ingredient, read in open research code lists", Mark.SECONDARY
)
SNOMED_SOURCE: Final = _SNOMED.at("SNOMED CT substance concept of each ingredient")
NAME_ONLY: Final = Source(
    key="from-memory",
    citation="Class membership from memory, no code confirmed",
    locator="the ingredient's name",
    mark=Mark.FROM_MEMORY,
)


class Ingredient(Columns, frozen=True, dict=True):
    """One active ingredient.

    Attributes:
        name: International non-proprietary name, lower case.
        classes: The classes it belongs to.
        atc: ATC codes of products that hold this ingredient alone.
        rxnorm: RxNorm concept identifiers, ingredient level.
        rxnorm_secondary: Those that were read in open research code lists.
        snomed: SNOMED CT substance concepts.
        synonyms: Other spellings and names of the substance; no trade names.
        remark: For whoever reviews the file; never shown.
    """

    name: str
    classes: tuple[MedicineClass, ...]
    atc: tuple[str, ...] = ()
    rxnorm: tuple[str, ...] = ()
    rxnorm_secondary: tuple[str, ...] = ()
    snomed: tuple[str, ...] = ()
    synonyms: tuple[str, ...] = ()
    remark: str = ""

    @cached_property
    def rxcui(self) -> tuple[str, ...]:
        """Every RxNorm concept identifier."""
        return self.rxnorm + self.rxnorm_secondary

    @property
    def sources(self) -> tuple[Source, ...]:
        """What confirmed the codes."""
        confirmed = (
            (self.atc, ATC_SOURCE),
            (self.rxnorm, RXNORM_SOURCE),
            (self.rxnorm_secondary, RXNORM_SECONDARY),
            (self.snomed, SNOMED_SOURCE),
        )
        return tuple(source for codes, source in confirmed if codes) or (NAME_ONLY,)


def ingredients() -> tuple[Ingredient, ...]:
    """Return the rows of `ingredients.csv`."""
    return tuple(csv_rows("medicines/ingredients.csv", Ingredient))


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
