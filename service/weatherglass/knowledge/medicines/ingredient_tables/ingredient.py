"""One ingredient: its international name, its classes, and the codes that mean it.

A code that was not confirmed is absent, never guessed. Which source confirmed which
kind of code stands in the sources below; `Ingredient.sources` names those in use.
"""

from typing import Final

from weatherglass.knowledge.data_files import Columns, csv_table, publication
from weatherglass.knowledge.medicines.class_codes import ATC_INDEX
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.plain import Plain
from weatherglass.model.sources import Mark, Source

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


class Ingredient(Plain, frozen=True, kw_only=True):
    """One active ingredient.

    Attributes:
        name: International non-proprietary name, lower case.
        classes: The classes it belongs to.
        atc: ATC codes of products that hold this ingredient alone.
        rxcui: RxNorm concept identifiers, ingredient level.
        snomed: SNOMED CT substance concepts.
        synonyms: Other spellings and names of the substance; no trade names.
        sources: What confirmed the codes.
    """

    name: str
    classes: tuple[MedicineClass, ...]
    atc: tuple[str, ...]
    rxcui: tuple[str, ...]
    snomed: tuple[str, ...]
    synonyms: tuple[str, ...]
    sources: tuple[Source, ...]


class _Row(Columns, frozen=True):
    name: str
    classes: tuple[MedicineClass, ...]
    atc: tuple[str, ...] = ()
    rxcui: tuple[str, ...] = ()
    rxcui_secondary: tuple[str, ...] = ()
    snomed: tuple[str, ...] = ()
    also: tuple[str, ...] = ()
    remark: str = ""


def ingredients() -> tuple[Ingredient, ...]:
    """Return the rows of `ingredients.csv`.

    Raises:
        TableError: If a row does not fit; its line and column are named.
    """
    return csv_table("medicines/ingredients.csv", _Row, _ingredient)


def _ingredient(row: _Row) -> Ingredient:
    confirmed = (
        (row.atc, ATC_SOURCE),
        (row.rxcui, RXNORM_SOURCE),
        (row.rxcui_secondary, RXNORM_SECONDARY),
        (row.snomed, SNOMED_SOURCE),
    )
    return Ingredient(
        name=row.name,
        classes=row.classes,
        atc=row.atc,
        rxcui=row.rxcui + row.rxcui_secondary,
        snomed=row.snomed,
        synonyms=row.also,
        sources=tuple(source for codes, source in confirmed if codes) or (NAME_ONLY,),
    )
