"""How a medicine gets in, from SNOMED CT route codes or the route's own words.

Topical, inhaled and eye, ear or nose preparations are not systemic; the medicine
rules leave them out, so a route that is not recognised stays "not recorded". Whole
words are compared: "pectoral" is not "oral", and "percutaneous" is not "cutaneous".
"""

import re
from functools import lru_cache

from weatherglass.clinical.record import Route
from weatherglass.fhir.r4 import CodeableConcept

#: SNOMED CT route-of-administration codes; from memory except where a word says the same.
_BY_CODE: dict[str, Route] = {
    "26643006": Route.ORAL,
    "47625008": Route.INTRAVENOUS,
    "34206005": Route.SUBCUTANEOUS,
    "78421000": Route.INTRAMUSCULAR,
    "45890007": Route.TRANSDERMAL,
    "404820008": Route.EPIDURAL,
    "37161004": Route.RECTAL,
    "37839007": Route.SUBLINGUAL,
    "6064005": Route.TOPICAL,
    "18679011000001101": Route.INHALED,
    "447694001": Route.INHALED,
    "54485002": Route.OPHTHALMIC,
    "10547007": Route.OTIC,
    "46713006": Route.NASAL,
    "16857009": Route.VAGINAL,
    "127492001": Route.ENTERAL,
    "127491008": Route.ENTERAL,
}
#: Words, most specific first; of those that a route's text holds, the first of this list decides.
_WORDS: tuple[tuple[Route, str], ...] = (
    (Route.TRANSDERMAL, "transdermal transdermally patch patches"),
    (Route.EPIDURAL, "epidural"),
    (Route.OTHER, "intrathecal flush lock"),
    (Route.INTRAVENOUS, "intravenous intravenously iv vein"),
    (Route.SUBCUTANEOUS, "subcutaneous subcutaneously subcut sc sq"),
    (Route.INTRAMUSCULAR, "intramuscular intramuscularly im"),
    (Route.ENTERAL, "nasogastric gastrostomy nasojejunal jejunostomy jejunal enteral ng nj peg"),
    (Route.SUBLINGUAL, "sublingual sublingually buccal buccally oromucosal sl"),
    (Route.RECTAL, "rectal rectally rectum"),
    (Route.VAGINAL, "vaginal vaginally"),
    (Route.OPHTHALMIC, "ophthalmic eye eyes ocular intraocular intravitreal conjunctival"),
    (Route.OTIC, "otic aural ear ears"),
    (Route.NASAL, "nasal nasally intranasal nose nostril nostrils"),
    (Route.INHALED, "inhalation inhalational inhaled inhaler nebulised nebulized nebuliser nebulizer"),
    (Route.INHALED, "nebulisation nebulization neb inh"),
    (Route.TOPICAL, "topical topically cutaneous skin scalp"),
    (Route.ORAL, "oral orally mouth po"),
)
_RANK = {word: rank for rank, (_, words) in enumerate(_WORDS) for word in words.split()}
#: Phrases that mean another route than their words.
_PHRASES = (("under the skin", "subcutaneous"), ("under the tongue", "sublingual"))
#: Short forms that are words of their own only when nothing else is said.
_SHORT = {"pr": Route.RECTAL, "pv": Route.VAGINAL, "top": Route.TOPICAL, "td": Route.TRANSDERMAL}
_WORD = re.compile(r"[a-z]+")


def route_of(concept: CodeableConcept | None) -> Route:
    """Return the route a concept names, "not recorded" when it names none we know."""
    if concept is None:
        return Route.UNKNOWN
    for coding in concept.coding:
        code = coding.code or ""
        found = _BY_CODE.get(code) or (_in_words(code) if code.isalpha() else None)
        if found:
            return found
    for text in (concept.text, *(coding.display for coding in concept.coding)):
        found = _in_words(text) if text else None
        if found is not None:
            return found
    return Route.UNKNOWN


@lru_cache(maxsize=1024)
def _in_words(text: str) -> Route | None:
    """Read a route in plain words.

    Examples:
        >>> _in_words("Oral use").value, _in_words("Pectoral region"), _in_words("IV infusion").value
        ('oral', None, 'intravenous')
    """
    said = text.casefold().strip()
    for phrase, word in _PHRASES:
        said = said.replace(phrase, word)
    if said in _SHORT:
        return _SHORT[said]
    ranks = [rank for rank in map(_RANK.get, _WORD.findall(said)) if rank is not None]
    return _WORDS[min(ranks)][0] if ranks else None
