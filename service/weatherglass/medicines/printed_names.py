"""Every class, ingredient and name that a medicine is recognised by, laid out to be read line by line."""

from collections.abc import Sequence

from weatherglass.knowledge.medicines.class_codes import CLASSES
from weatherglass.knowledge.medicines.ingredient_tables.trade_names import SOURCE as TRADE_NAMES_SOURCE
from weatherglass.knowledge.medicines.ingredient_tables.trade_names import TRADE_NAMES
from weatherglass.knowledge.medicines.ingredient_tables.without_a_rule import KNOWN_WITHOUT_A_RULE
from weatherglass.knowledge.medicines.ingredients import COMPOUND_NAMES, INGREDIENTS
from weatherglass.medicines.printed import (
    NONE,
    PrintedTable,
    labels,
    marks,
    places,
    publications,
)


def name_tables() -> tuple[PrintedTable, ...]:
    """Return every class, ingredient and name that a medicine is recognised by."""
    sources = (*(row.source for row in CLASSES.values()), *(s for row in INGREDIENTS for s in row.sources))
    return (
        _classes(),
        _ingredients(),
        _compounds(),
        _trade_names(),
        _without_a_rule(),
        publications((*sources, TRADE_NAMES_SOURCE)),
    )


def _classes() -> PrintedTable:
    rows = tuple(
        (
            row.label,
            " ".join(row.atc_prefixes),
            " ".join(row.atc_excluded) or NONE,
            places((row.source,)),
            row.source.mark.value,
        )
        for row in CLASSES.values()
    )
    return PrintedTable(
        "Classes by ATC code", ("class", "codes beginning with", "but not", "source", "mark"), rows
    )


def _ingredients() -> PrintedTable:
    rows = tuple(
        (
            row.name,
            labels(row.classes),
            _codes(row.atc),
            _codes(row.rxcui),
            _codes(row.snomed),
            ", ".join(row.synonyms) or NONE,
            places(row.sources),
            marks(row.sources),
        )
        for row in INGREDIENTS
    )
    columns = ("ingredient", "classes", "ATC", "RxNorm", "SNOMED CT", "other names", "source", "mark")
    return PrintedTable("Ingredients", columns, rows)


def _codes(codes: Sequence[str]) -> str:
    return " ".join(codes) or NONE


def _compounds() -> PrintedTable:
    rows = tuple((name, ", ".join(parts)) for name, parts in sorted(COMPOUND_NAMES.items()))
    return PrintedTable("Names of fixed combinations", ("name", "ingredients a rule may speak of"), rows)


def _trade_names() -> PrintedTable:
    rows = tuple((name, ", ".join(parts)) for name, parts in sorted(TRADE_NAMES.items()))
    return PrintedTable("Trade names", ("name", "ingredients that are known here"), rows)


def _without_a_rule() -> PrintedTable:
    rows = tuple((name,) for name in sorted(KNOWN_WITHOUT_A_RULE))
    return PrintedTable("Known medicines that no rule speaks of", ("name",), rows)
