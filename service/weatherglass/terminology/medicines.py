"""Decide what a medicine is, from its codes and its words.

The order is fixed: ATC, then RxNorm ingredient, then SNOMED CT substance, then the name.
The first that says anything gives the method. A product code that is not an ingredient
(an RxNorm clinical drug, a UK dm+d product) says nothing here, and the display name that
comes with it does the work.

A full ATC code outside every class is an answer too: the classes are found by the start
of a code, so no rule speaks of that medicine. A code of another system that is not
listed says nothing. Last come the names of common medicines without a rule.

Code and name may disagree. An ingredient that is named but not coded is added rather
than lost, and listed in `also_named`, so that a reader sees that two sources spoke.
"""

from collections.abc import Sequence
from functools import cache

from weatherglass.knowledge.medicines.class_codes import (
    LOCAL_ATC_PREFIXES,
    SYSTEMIC_DESPITE_LOCAL_ATC,
    classes_of,
)
from weatherglass.knowledge.medicines.ingredient_tables.abbreviations import class_in_words
from weatherglass.knowledge.medicines.ingredients import BY_NAME, COMBINATION_CODES, INGREDIENTS
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.medicines import MatchMethod, Route
from weatherglass.model.remembered import remembered
from weatherglass.model.words.patterns import when_asked
from weatherglass.terminology.medicine_names import ingredients_named

ATC = "http://www.whocc.no/atc"
RXNORM = "http://www.nlm.nih.gov/research/umls/rxnorm"
SNOMED = "http://snomed.info/sct"

_METHOD_BY_SYSTEM = {
    ATC: MatchMethod.ATC,
    "http://www.whocc.no/atc/": MatchMethod.ATC,
    "https://www.whocc.no/atc": MatchMethod.ATC,
    "http://whocc.no/atc": MatchMethod.ATC,
    "https://atcddd.fhi.no": MatchMethod.ATC,
    "urn:oid:2.16.840.1.113883.6.73": MatchMethod.ATC,
    "http://fhir.de/CodeSystem/bfarm/atc": MatchMethod.ATC,
    "http://fhir.de/CodeSystem/dimdi/atc": MatchMethod.ATC,
    RXNORM: MatchMethod.RXNORM,
    "http://www.nlm.nih.gov/research/umls/rxnorm/": MatchMethod.RXNORM,
    "https://www.nlm.nih.gov/research/umls/rxnorm": MatchMethod.RXNORM,
    "urn:oid:2.16.840.1.113883.6.88": MatchMethod.RXNORM,
    SNOMED: MatchMethod.SNOMED_CT,
    "http://snomed.info/sct/": MatchMethod.SNOMED_CT,
    "https://snomed.info/sct": MatchMethod.SNOMED_CT,
    "urn:oid:2.16.840.1.113883.6.96": MatchMethod.SNOMED_CT,
}
#: A code of one substance; a shorter one names a group that may hold several classes.
_WHOLE_ATC = when_asked(r"[ABCDGHJLMNPRSV][0-9]{2}[A-Z]{2}[0-9]{2}")
_ORDER = (MatchMethod.ATC, MatchMethod.RXNORM, MatchMethod.SNOMED_CT)

#: ARB rules reach sacubitril with valsartan through its own class, so that a code and a
#: name for the same product give the same classes.
_COVERED_BY_ARNI = frozenset({MedicineClass.ARB})


def is_atc(system: str) -> bool:
    """Tell whether a code system is the ATC classification, however it is written."""
    return _METHOD_BY_SYSTEM.get(system) is MatchMethod.ATC


class Identity(Plain, frozen=True):
    """What a medicine is, as far as the review knows.

    Attributes:
        ingredients: International names, in the order found.
        classes: Every class that acts in it.
        method: What said so; `NONE` when nothing was recognised.
        route_hint: The route that the code or the form implies, `UNKNOWN` when neither says.
        also_named: Ingredients that the name mentions and the code does not cover, with a rule or without.
    """

    ingredients: tuple[str, ...]
    classes: frozenset[MedicineClass]
    method: MatchMethod
    route_hint: Route
    also_named: tuple[str, ...] = ()


def identify(codes: Sequence[tuple[str, str]], texts: Sequence[str]) -> Identity:
    """Decide what a medicine is.

    Args:
        codes: Pairs of code system and code, in any order.
        texts: Display names and free text for the same medicine.

    Returns:
        The identity; with `MatchMethod.NONE` when nothing matched, and no classes unless words name one.

    Examples:
        >>> found = identify([(ATC, "A10BD20")], ["Metformin 850 mg / empagliflozin 5 mg tablets"])
        >>> found.ingredients, found.method.value
        (('metformin', 'empagliflozin'), 'ATC code')
        >>> identify([(RXNORM, "314077")], ["Lisinopril 20 MG Oral Tablet"]).method.value
        'name'
    """
    return _identified(tuple(codes), tuple(texts))


@remembered(16384)
def _identified(codes: tuple[tuple[str, str], ...], texts: tuple[str, ...]) -> Identity:
    named, route, others = _read_names(texts)
    for method in _ORDER:
        of_system = [code.strip() for system, code in codes if _METHOD_BY_SYSTEM.get(system) is method]
        ingredients, classes = _read_codes(method, of_system)
        if method is MatchMethod.ATC:
            route = _route_by_atc(of_system, route)
        if classes:
            found = _joined(method, ingredients, classes, named, route)
            # The words name another medicine, and not what the code says.
            contradicts = ingredients and not named and not set(others) & set(ingredients)
            return replace(found, also_named=others) if contradicts else found
    if named:
        return Identity(named, _classes_by_name(named), MatchMethod.NAME, route)
    of_no_class = any(
        _METHOD_BY_SYSTEM.get(system) is MatchMethod.ATC and _WHOLE_ATC.fullmatch(code.strip().upper())
        for system, code in codes
    )
    if of_no_class or others:
        return Identity(others, frozenset(), MatchMethod.ATC if of_no_class else MatchMethod.NAME, route)
    # Of what is only called a class its rules hold, and which medicine it is stays a question.
    of_class = frozenset(key for text in texts for key in class_in_words(text))
    return Identity((), of_class, MatchMethod.NONE, route)


def _read_names(texts: tuple[str, ...]) -> tuple[tuple[str, ...], Route, tuple[str, ...]]:
    """Return the ingredients named, the route, and known medicines that no rule speaks of."""
    found: dict[str, None] = {}
    others: dict[str, None] = {}
    route = Route.UNKNOWN
    for text in texts:
        match = ingredients_named(text)
        found.update(dict.fromkeys(match.ingredients))
        others.update(dict.fromkeys(match.others))
        if route is Route.UNKNOWN:
            route = match.route
    return tuple(found), route, tuple(others)


def _read_codes(method: MatchMethod, codes: list[str]) -> tuple[tuple[str, ...], frozenset[MedicineClass]]:
    """Return what the codes of one system mean, together."""
    ingredients: dict[str, None] = {}
    classes: frozenset[MedicineClass] = frozenset()
    known = _names_by_code()[method]
    for code in codes:
        spelled = code.upper() if method is MatchMethod.ATC else code
        names = known.get(spelled, ())
        ingredients.update(dict.fromkeys(names))
        classes |= classes_of(spelled) if method is MatchMethod.ATC else _classes_by_name(names)
    return tuple(ingredients), _without_overlap(classes)


@cache
def _names_by_code() -> dict[MatchMethod, dict[str, tuple[str, ...]]]:
    """Lay out the codes of the ingredient table once, at first use."""
    table: dict[MatchMethod, dict[str, tuple[str, ...]]] = {method: {} for method in _ORDER}
    for row in INGREDIENTS:
        for method, codes in (
            (MatchMethod.ATC, row.atc),
            (MatchMethod.RXNORM, row.rxcui),
            (MatchMethod.SNOMED_CT, row.snomed),
        ):
            for code in codes:
                table[method][code] = (*table[method].get(code, ()), row.name)
    table[MatchMethod.ATC].update(COMBINATION_CODES)
    return table


def _classes_by_name(names: tuple[str, ...]) -> frozenset[MedicineClass]:
    return _without_overlap(frozenset(key for name in names for key in BY_NAME[name].classes))


def _without_overlap(classes: frozenset[MedicineClass]) -> frozenset[MedicineClass]:
    return classes - _COVERED_BY_ARNI if MedicineClass.ARNI in classes else classes


def _joined(
    method: MatchMethod,
    ingredients: tuple[str, ...],
    classes: frozenset[MedicineClass],
    named: tuple[str, ...],
    route: Route,
) -> Identity:
    """Put the code's answer and the name's together; the code goes first."""
    covered = tuple(n for n in named if n in ingredients or classes.issuperset(_single(n, classes)))
    besides = tuple(name for name in named if name not in covered)
    together = tuple(dict.fromkeys((*ingredients, *(() if ingredients else covered), *besides)))
    every = _without_overlap(classes.union(*(BY_NAME[name].classes for name in besides)))
    return Identity(together, every, method, route, besides)


def _single(name: str, classes: frozenset[MedicineClass]) -> frozenset[MedicineClass]:
    """The classes of one named ingredient, less what the code's own classes stand for."""
    own = frozenset(BY_NAME[name].classes)
    return own - _COVERED_BY_ARNI if MedicineClass.ARNI in classes else own


def _route_by_atc(codes: list[str], by_form: Route) -> Route:
    """Take the route that an ATC group for local use implies, unless the form says otherwise."""
    for code in codes:
        if code.upper().startswith(SYSTEMIC_DESPITE_LOCAL_ATC):
            continue
        for prefix, route in LOCAL_ATC_PREFIXES:
            if code.upper().startswith(prefix):
                return by_form if by_form is not Route.UNKNOWN and route is not Route.ENTERAL else route
    return by_form
