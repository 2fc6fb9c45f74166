"""Every class, ingredient and name that a medicine is recognised by, laid out to be read line by line."""

from collections.abc import Iterable, Sequence

from weatherglass.knowledge.medicines.class_codes import CLASSES
from weatherglass.knowledge.medicines.groups import GROUPS
from weatherglass.knowledge.medicines.groups import SOURCE as GROUPS_SOURCE
from weatherglass.knowledge.medicines.ingredient_tables.abbreviations import EITHER, MEANT
from weatherglass.knowledge.medicines.ingredient_tables.abbreviations import SOURCE as SHORT_FORMS_SOURCE
from weatherglass.knowledge.medicines.ingredient_tables.trade_names import ROUTES, TRADE_NAMES
from weatherglass.knowledge.medicines.ingredient_tables.trade_names import SOURCE as TRADE_NAMES_SOURCE
from weatherglass.knowledge.medicines.ingredient_tables.without_a_rule import KNOWN_WITHOUT_A_RULE
from weatherglass.knowledge.medicines.ingredients import COMPOUND_NAMES, INGREDIENTS
from weatherglass.knowledge.medicines.medicine_classes import (
    LOCAL_BY_SYSTEMIC_ROUTE,
    LOCAL_ROUTES,
    LOCAL_ROUTES_SOURCE,
    SYSTEMIC_BY_LOCAL_ROUTE,
    MedicineClass,
)
from weatherglass.medicines.printed import NONE, PrintedTable, labels, marks, places, publications
from weatherglass.model.record.medicines import Route


def name_tables() -> tuple[PrintedTable, ...]:
    """Return every class, ingredient and name that a medicine is recognised by."""
    sources = (*(row.source for row in CLASSES.values()), *(s for row in INGREDIENTS for s in row.sources))
    return (
        _classes(),
        _ingredients(),
        _compounds(),
        _trade_names(),
        _short_forms(),
        _groups(),
        _routes(),
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
    rows = tuple(
        (name, ", ".join(parts), ROUTES[name].value if name in ROUTES else NONE)
        for name, parts in sorted(TRADE_NAMES.items())
    )
    return PrintedTable("Trade names", ("name", "ingredients that are known here", "route"), rows)


def _short_forms() -> PrintedTable:
    said = {**MEANT, **{short: f"not guessed: {remark}" for short, remark in EITHER.items()}}
    rows = tuple(
        (short, means, SHORT_FORMS_SOURCE.locator, SHORT_FORMS_SOURCE.mark.value)
        for short, means in sorted(said.items())
    )
    return PrintedTable("Short forms", ("short form", "stands for", "source", "mark"), rows)


def _groups() -> PrintedTable:
    rows = tuple(
        (
            name,
            ", ".join((*_labels_of(each.classes), *sorted(each.names | each.anywhere | each.forms))),
            ", ".join(sorted(each.but_not)) or NONE,
            ", ".join(sorted(each.needs)) or NONE,
            GROUPS_SOURCE.locator,
            GROUPS_SOURCE.mark.value,
        )
        for name, each in sorted(GROUPS.items())
    )
    columns = ("group", "medicines", "but not", "only as", "source", "mark")
    return PrintedTable("Groups that rows name together", columns, rows)


def _routes() -> PrintedTable:
    """Lay out by which routes a medicine acts only where it is put, and for which classes it is otherwise."""
    source, mark = LOCAL_ROUTES_SOURCE.locator, LOCAL_ROUTES_SOURCE.mark.value
    rows = tuple(
        (route.value, "no" if route in LOCAL_ROUTES else "yes", _otherwise(route), source, mark)
        for route in Route
        if route is not Route.UNKNOWN
    )
    columns = ("route", "rules of the whole body speak", "otherwise for", "source", "mark")
    return PrintedTable("Routes", columns, rows)


def _otherwise(route: Route) -> str:
    otherwise = SYSTEMIC_BY_LOCAL_ROUTE if route in LOCAL_ROUTES else LOCAL_BY_SYSTEMIC_ROUTE
    return labels(key for key, routes in otherwise.items() if route in routes) or NONE


def _labels_of(classes: Iterable[str]) -> list[str]:
    return sorted(CLASSES[MedicineClass(key)].label for key in classes)


def _without_a_rule() -> PrintedTable:
    rows = tuple((name,) for name in sorted(KNOWN_WITHOUT_A_RULE))
    return PrintedTable("Known medicines that no rule speaks of", ("name",), rows)
