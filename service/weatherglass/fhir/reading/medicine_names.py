"""Recognise the ingredients in what a chart calls a medicine.

About a quarter of orders carry words only: "Lisinopril 10 MG Oral Tablet", "FUROSEMIDE
40mg tablets", "amoxicillin/clavulanate". Whole words are compared, the longest name
first, so that "insulin glargine" is not "insulin" and the potassium of "losartan
potassium" is not a supplement: only "potassium chloride" and its like are names.
Salts, strengths and forms are no names and fall away by themselves.

Trade names are not known here and match nothing; the order is then listed as not
reviewed. Spelling mistakes are not guessed at, for the same reason.
"""

import re
import unicodedata
from functools import cache, lru_cache
from typing import NamedTuple

from weatherglass.clinical.criteria.ingredient_tables.without_a_rule import KNOWN_WITHOUT_A_RULE
from weatherglass.clinical.criteria.ingredients import COMPOUND_NAMES, INGREDIENTS, NOT_AN_INGREDIENT
from weatherglass.clinical.record import Route


class NameMatch(NamedTuple):
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


_WORD = re.compile(r"[a-z]+")

#: Words for a form or a route, in the order in which they decide.
_ROUTE_WORDS: tuple[tuple[Route, str], ...] = (
    (Route.OPHTHALMIC, "eye eyes ophthalmic ocular intravitreal intracameral conjunctival"),
    (Route.OTIC, "ear ears otic aural"),
    (Route.VAGINAL, "vaginal intravaginal pessary pessaries"),
    (Route.NASAL, "nasal intranasal"),
    (Route.INHALED, "inhaler inhalation inhaled inhalant nebuliser nebulizer nebulised nebulized nebules"),
    (Route.OTHER, "flush lock intrathecal"),
    (Route.ENTERAL, "intestinal jejunal enteral nasogastric gastrostomy"),
    (Route.TOPICAL, "topical topically cutaneous cream ointment lotion liniment shampoo foam plaster"),
    (Route.TOPICAL, "scalp mouthwash gargle lozenge lozenges throat"),
    (Route.TRANSDERMAL, "patch patches transdermal"),
    (Route.RECTAL, "rectal rectally suppository suppositories enema"),
    (Route.SUBLINGUAL, "sublingual buccal oromucosal"),
    (Route.EPIDURAL, "epidural"),
    (Route.INTRAVENOUS, "intravenous iv infusion infusions"),
    (Route.SUBCUTANEOUS, "subcutaneous subcut"),
    (Route.INTRAMUSCULAR, "intramuscular im"),
    (
        Route.ORAL,
        "tablet tablets tab tabs capsule capsules cap caps caplet caplets oral syrup elixir linctus",
    ),
    # After the capsules, because of gel capsules.
    (Route.TOPICAL, "gel"),
)


#: Words of a product's name that are no name: forms, packs, salts, units, times.
_PLAIN_WORDS = frozenset(
    """
    a and as at by for in of or per plus the to use with w v
    g mg mcg microgram micrograms ug nanogram nanograms ng ml l litre litres unit units iu mmol meq
    percent gram grams milligram milligrams hour hours hr hrs h day days dose doses x
    tablet tablets tab tabs capsule capsules cap caps caplet caplets soft hard gelatin shell chewable
    dispersible effervescent soluble orodispersible melt melts film coated enteric gastro resistant
    modified release prolonged extended delayed sustained slow immediate mr sr xl xr er dr la cr ec
    oral liquid solution suspension syrup elixir mixture drops drop concentrate powder granules sachet
    sachets reconstitution injection injections injectable infusion intravenous iv subcutaneous
    intramuscular im vial vials ampoule ampoules prefilled pre filled syringe syringes pen pens cartridge
    bag bags bottle bottles pack sterile preservative free sugar
    inhaler inhalation inhaled nebuliser nebulizer nebules dry metered actuation actuations breath cfc
    respules respimat spacer
    spray nasal eye ear cream ointment gel lotion foam patch patches transdermal topical cutaneous
    suppository suppositories rectal enema enemas pessary pessaries vaginal mouthwash lozenge lozenges
    sodium potassium calcium magnesium hydrochloride hcl sulfate sulphate phosphate acetate citrate
    maleate fumarate tartrate bitartrate mesilate mesylate besilate besylate bromide chloride hydroxide
    carbonate gluconate succinate propionate furoate dipropionate nitrate xinafoate butylbromide
    dihydrate trihydrate monohydrate anhydrous hydrate acid base
    once twice three four five six times daily nightly weekly monthly od bd tds qds prn om on nocte mane
    morning night evening needed when required stat before after food meals mouth
    unt actuat min kg
    """.split()
)


def is_plain(word: str) -> bool:
    """Tell whether a word of a product's name is a form, a salt, a unit or a time, and no name."""
    return word in _PLAIN_WORDS


def _words(text: str) -> list[str]:
    """Split a name into lower-case words without accents, digits or punctuation."""
    folded = text.casefold()
    if not folded.isascii():
        decomposed = unicodedata.normalize("NFKD", folded)
        folded = "".join(letter for letter in decomposed if not unicodedata.combining(letter))
    return _WORD.findall(folded)


class _Index(NamedTuple):
    """Names by their first word, longest first; the rank of each route word; names without a rule."""

    names: dict[str, tuple[tuple[tuple[str, ...], tuple[str, ...]], ...]]
    routes: dict[str, int]
    others: dict[tuple[str, ...], str]


@cache
def _index() -> _Index:
    """Lay out the table once, at first use."""
    meanings: dict[tuple[str, ...], tuple[str, ...]] = {}
    without_a_rule = {tuple(_words(name)): name for name in KNOWN_WITHOUT_A_RULE}
    meanings.update(dict.fromkeys(without_a_rule, ()))
    for row in INGREDIENTS:
        for name in (row.name, *row.synonyms):
            meanings[tuple(_words(name))] = (row.name,)
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
    others = {words: name for words, name in without_a_rule.items() if not meanings[words]}
    return _Index({first: tuple(found) for first, found in names.items()}, routes, others)


@lru_cache(maxsize=16384)
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
    names, routes, without_a_rule = _index()
    found: dict[str, None] = {}
    others: dict[str, None] = {}
    rank = len(_ROUTE_WORDS)
    is_plain = True
    at = 0
    while at < len(words):
        word = words[at]
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
            is_plain = is_plain and (word in _PLAIN_WORDS or word in routes or len(word) == 1)
        at += step
    route = _ROUTE_WORDS[rank][0] if rank < len(_ROUTE_WORDS) else Route.UNKNOWN
    # One word that nobody knows may be the medicine that matters.
    return NameMatch(tuple(found), route, tuple(others) if is_plain else ())
