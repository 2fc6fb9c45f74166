"""How a medicine gets in, from SNOMED CT route codes or the route's own words.

Topical, inhaled and eye, ear or nose preparations are not systemic; the medicine
rules leave them out, so a route that is not recognised stays "not recorded".
"""

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
#: Words, most specific first; the first one found in the route's text decides.
_BY_WORD: tuple[tuple[str, Route], ...] = (
    ("transdermal", Route.TRANSDERMAL),
    ("patch", Route.TRANSDERMAL),
    ("epidural", Route.EPIDURAL),
    ("intravenous", Route.INTRAVENOUS),
    ("subcutaneous", Route.SUBCUTANEOUS),
    ("intramuscular", Route.INTRAMUSCULAR),
    ("nasogastric", Route.ENTERAL),
    ("gastrostomy", Route.ENTERAL),
    ("enteral", Route.ENTERAL),
    ("sublingual", Route.SUBLINGUAL),
    ("buccal", Route.SUBLINGUAL),
    ("rectal", Route.RECTAL),
    ("vaginal", Route.VAGINAL),
    ("ophthalmic", Route.OPHTHALMIC),
    ("eye", Route.OPHTHALMIC),
    ("ocular", Route.OPHTHALMIC),
    ("otic", Route.OTIC),
    ("ear", Route.OTIC),
    ("nasal", Route.NASAL),
    ("inhal", Route.INHALED),
    ("nebul", Route.INHALED),
    ("topical", Route.TOPICAL),
    ("cutaneous", Route.TOPICAL),
    ("skin", Route.TOPICAL),
    ("oral", Route.ORAL),
    ("by mouth", Route.ORAL),
)
_SHORT = {
    "po": Route.ORAL,
    "iv": Route.INTRAVENOUS,
    "sc": Route.SUBCUTANEOUS,
    "im": Route.INTRAMUSCULAR,
    "pr": Route.RECTAL,
    "sl": Route.SUBLINGUAL,
    "ng": Route.ENTERAL,
    "inh": Route.INHALED,
    "neb": Route.INHALED,
    "top": Route.TOPICAL,
    "td": Route.TRANSDERMAL,
}


def route_of(concept: CodeableConcept | None) -> Route:
    """Return the route a concept names, "not recorded" when it names none we know."""
    if concept is None:
        return Route.UNKNOWN
    for coding in concept.coding:
        found = _BY_CODE.get(coding.code or "") or _SHORT.get((coding.code or "").casefold())
        if found is not None:
            return found
    texts = [concept.text or "", *(coding.display or "" for coding in concept.coding)]
    for text in texts:
        words = text.casefold().strip()
        if words in _SHORT:
            return _SHORT[words]
        for word, route in _BY_WORD:
            if word in words:
                return route
    return Route.UNKNOWN
