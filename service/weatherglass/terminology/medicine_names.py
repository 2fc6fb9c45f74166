"""Recognise the ingredients in what a chart calls a medicine.

About a quarter of orders carry words only: "Lisinopril 10 MG Oral Tablet", "FUROSEMIDE
40mg tablets", "amoxicillin/clavulanate". Whole words are compared, the longest name
first, so that "insulin glargine" is not "insulin" and the potassium of "losartan
potassium" is not a supplement: "potassium chloride" and its like are names, and so is
potassium with an amount of its own ("with potassium 40 mmol"). Other salts, strengths and
forms are no names and fall away by themselves.

Trade names are known as far as `trade_names` lists them; any other matches nothing, and the
order is then listed as not reviewed. Spelling mistakes are not guessed at, for the same reason.
"""

import unicodedata
from collections.abc import Iterable
from functools import cache
from typing import NamedTuple

from weatherglass.knowledge.medicines.ingredient_tables.abbreviations import written_out
from weatherglass.knowledge.medicines.ingredient_tables.trade_names import ROUTES, TRADE_NAMES
from weatherglass.knowledge.medicines.ingredient_tables.without_a_rule import KNOWN_WITHOUT_A_RULE
from weatherglass.knowledge.medicines.ingredients import BY_NAME, COMPOUND_NAMES, INGREDIENTS
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.name_words import NOT_AN_INGREDIENT, PLAIN
from weatherglass.knowledge.medicines.named_medicines import NAMED_IN_A_ROW
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.plain import Plain
from weatherglass.model.record.medicines import Route
from weatherglass.model.remembered import remembered
from weatherglass.model.words.patterns import when_asked
from weatherglass.terminology.doses import german_charts
from weatherglass.terminology.routes import ranked, short_forms


class NameMatch(Plain, frozen=True):
    """What a name says.

    Attributes:
        ingredients: Ingredients that a rule may speak of, in the order named.
        route: The route that the form implies.
        others: Known medicines that no rule speaks of; empty when the name holds any word that
            is neither a known name nor a form, a salt, a unit or a time of day.
    """

    ingredients: tuple[str, ...]
    route: Route
    others: tuple[str, ...] = ()


_WORD = when_asked(r"[a-z]+")

#: Words for a form, after those for a route, in the order in which they decide.
_ROUTE_WORDS = ranked("name")


def is_plain(word: str) -> bool:
    """Tell whether a word of a product's name is a form, a salt, a unit or a time, and no name."""
    return word in PLAIN


def _words(text: str) -> list[str]:
    """Split a name into lower-case words without accents, digits or punctuation."""
    folded = written_out(short_forms(text.casefold()))
    if not folded.isascii():
        decomposed = unicodedata.normalize("NFKD", folded)
        folded = "".join(letter for letter in decomposed if not unicodedata.combining(letter))
    return _WORD.findall(folded)


_WORDS = word_patterns("chart-patterns.toml")
_ONE_STRENGTH = _WORDS["one-strength"]
_JOINS = _WORDS["joins"]


def _naming(text: str) -> str:
    """Return what names a medicine: directions behind its one strength do not, where nothing joins another.

    Examples:
        >>> _naming("Paracetamol 1 g when needed for pain or fever")
        'paracetamol 1 g'
        >>> _naming("Paracetamol 500 mg something 10 mg"), _naming("Paracetamol 1 g with something")
        ('paracetamol 500 mg something 10 mg', 'paracetamol 1 g with something')
    """
    said = text.casefold()
    strengths = list(_ONE_STRENGTH.finditer(said))
    is_one = len(strengths) == 1 and not _JOINS.search(said, strengths[0].end())
    return said[: strengths[0].end()] if is_one else said


_ADDED = _WORDS["added"]
_SUPPLEMENTS = {
    "potassium": "potassium chloride",
    "k+": "potassium chloride",
    "magnesium": "magnesium sulfate",
}
_TRACE = _WORDS["trace"]


def _is_trace(said: str) -> bool:
    return _TRACE.search(said) is not None


_ZERO = _WORDS["none-of-it"]
_FLUIDS = frozenset({"sodium chloride", "glucose", "dextrose", "parenteral nutrition"})
_ELECTROLYTE = _WORDS["electrolyte"]


def _is_in_a_fluid(said: str, others: Iterable[str]) -> bool:
    """Tell whether a fluid is named with an electrolyte whose amount nobody can read."""
    if _ZERO.search(said):
        return False
    return bool(others) and _FLUIDS.issuperset(others) and _ELECTROLYTE.search(said) is not None


def _added(said: str) -> tuple[list[str], bool]:
    """Return the electrolytes that are added in an amount of their own, and whether any has no class here.

    Examples:
        >>> _added("sodium chloride 0.9% with potassium 40 mmol per litre")
        (['potassium chloride'], False)
        >>> _added("losartan potassium 50 mg"), _added("glucose 5% with calcium 10 mmol")
        (([], False), ([], True))
    """
    found: list[str] = []
    unknown = False
    for match in _ADDED.finditer(said):
        ion = next(filter(None, match.group("ion", "ion_after", "percent", "without_amount")))
        amount = match["amount"] or match["amount_before"] or match["share"] or "1"
        if float(amount.replace(",", ".")) > 0:
            unknown = unknown or ion not in _SUPPLEMENTS
            found += [_SUPPLEMENTS[ion]] if ion in _SUPPLEMENTS else []
    return found, unknown


@cache
def _potassium() -> frozenset[str]:
    """Return the names of the supplements of potassium."""
    return frozenset(row.name for row in INGREDIENTS if MedicineClass.POTASSIUM_SUPPLEMENT in row.classes)


class _Index(NamedTuple):
    """Names by their first word, longest first; the rank of each route word; names without a rule."""

    names: dict[str, tuple[tuple[tuple[str, ...], tuple[str, ...]], ...]]
    routes: dict[str, int]
    others: dict[tuple[str, ...], str]


@cache
def _index() -> _Index:
    """Lay out the table once, at first use."""
    meanings: dict[tuple[str, ...], tuple[str, ...]] = {}
    without_a_rule = {tuple(_words(name)): name for name in KNOWN_WITHOUT_A_RULE | NAMED_IN_A_ROW}
    meanings.update(dict.fromkeys(without_a_rule, ()))
    for row in INGREDIENTS:
        for name in (row.name, *row.synonyms):
            meanings[tuple(_words(name))] = (row.name,)
    for words in list(meanings):
        german = german_charts.spelled(words)
        if german not in meanings:
            meanings[german] = meanings[words]
            if words in without_a_rule:
                without_a_rule[german] = without_a_rule[words]
    for trade_name, parts in TRADE_NAMES.items():
        words = tuple(_words(trade_name))
        known = tuple(part for part in parts if part in BY_NAME)
        meanings[words] = known
        if not known:
            without_a_rule[words] = next((each for each in parts if each in NAMED_IN_A_ROW), parts[0])
    for compound, parts in COMPOUND_NAMES.items():
        meanings[tuple(_words(compound))] = parts
        meanings[(compound.replace("-", ""),)] = parts
    for phrase in NOT_AN_INGREDIENT:
        meanings[tuple(_words(phrase))] = ()
    names: dict[str, list[tuple[tuple[str, ...], tuple[str, ...]]]] = {}
    for words in sorted(meanings, key=len, reverse=True):
        names.setdefault(words[0], []).append((words, meanings[words]))
    routes: dict[str, int] = {}
    for rank, (_, spelled) in enumerate(_ROUTE_WORDS):
        for word in spelled.split():
            routes.setdefault(word, rank)
    ranks = {each: rank for rank, (each, _) in reversed(list(enumerate(_ROUTE_WORDS)))}
    routes.update({name: ranks[each] for name, each in ROUTES.items()})
    others = {words: name for words, name in without_a_rule.items() if not meanings[words]}
    return _Index({first: tuple(found) for first, found in names.items()}, routes, others)


@remembered(16384)
def ingredients_named(text: str) -> NameMatch:
    """Return the ingredients a chart's name for a medicine mentions.

    Args:
        text: Any display name or free text for one medicine.

    Returns:
        The international names in the order they are mentioned, each once, and the
        route that the form implies (`UNKNOWN` when the words do not say).

    Examples:
        >>> ingredients_named("Sacubitril 24 MG / valsartan 26 MG Oral Tablet")
        NameMatch(ingredients=('sacubitril', 'valsartan'), route=<Route.ORAL: 'oral'>, others=())
        >>> ingredients_named("Losartan potassium 50 mg").ingredients
        ('losartan',)
        >>> ingredients_named("Ibuprofen 5% gel").route.name
        'TOPICAL'
        >>> ingredients_named("Paracetamol 500 mg tablets").others
        ('paracetamol',)
        >>> ingredients_named("Something new with sodium chloride 0.9%").others
        ()
    """
    words = _words(text)
    of_the_name = len(_words(_naming(text)))
    names, routes, without_a_rule = _index()
    found: dict[str, None] = {}
    others: dict[str, None] = {}
    rank = len(_ROUTE_WORDS)
    is_plain = True
    at = 0
    while at < len(words):
        word = words[at]
        if word not in names and word not in PLAIN and (parts := german_charts.parted(word, names)):
            word, form = parts
            words[at] = word
            rank = min(rank, routes.get(form, rank))
        rank = min(rank, routes.get(word, rank))
        step = 1
        for spelled, meaning in names.get(word, ()):
            if tuple(words[at : at + len(spelled)]) == spelled:
                found.update(dict.fromkeys(meaning))
                if spelled in without_a_rule:
                    others[without_a_rule[spelled]] = None
                step = len(spelled)
                break
        else:
            is_known = word in PLAIN or word in routes or len(word) == 1
            is_plain = is_plain and (is_known or at >= of_the_name)
        at += step
    said = text.casefold()
    added, is_unknown = _added(said)
    found.update(dict.fromkeys(added))
    is_plain = is_plain and not is_unknown and not (not found and _is_in_a_fluid(said, others))
    if _is_trace(said):
        found = {name: None for name in found if name not in _potassium()}
    route = _ROUTE_WORDS[rank][0] if rank < len(_ROUTE_WORDS) else Route.UNKNOWN
    # One word that nobody knows may be the medicine that matters.
    return NameMatch(tuple(found), route, tuple(others) if is_plain else ())
