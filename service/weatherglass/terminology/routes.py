"""How a medicine gets in, from SNOMED CT route codes or the route's own words.

Topical, inhaled and eye, ear or nose preparations are not systemic; the medicine
rules leave them out, so a route that is not recognised stays "not recorded". Whole
words are compared: "pectoral" is not "oral", and "percutaneous" is not "cutaneous".
"""

from collections.abc import Iterable

from weatherglass.model.patterns import when_asked
from weatherglass.model.record.medicines import Route
from weatherglass.model.remembered import remembered

#: SNOMED CT route-of-administration codes; from memory except where a word says the same.
_BY_CODE: dict[str, Route] = {
    "26643006": Route.ORAL,
    "47625008": Route.INTRAVENOUS,
    "34206005": Route.SUBCUTANEOUS,
    "78421000": Route.INTRAMUSCULAR,
    "45890007": Route.TRANSDERMAL,
    "404820008": Route.EPIDURAL,
    "72607000": Route.INTRATHECAL,
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
#: Words of routes, in the order in which they decide: a route as recorded and the name of a product
#: are read by the same ones.
ROUTE_WORDS: tuple[tuple[Route, str], ...] = (
    (
        Route.OPHTHALMIC,
        "ophthalmic eye eyes ocular intraocular intravitreal intracameral conjunctival augentropfen",
    ),
    (Route.OTIC, "otic aural ear ears ohrentropfen"),
    (Route.VAGINAL, "vaginal vaginally intravaginal"),
    (Route.NASAL, "nasal nasally intranasal nose nostril nostrils nasenspray nasentropfen"),
    (
        Route.INHALED,
        "inhalation inhalational inhaled inhaler inhalant inh nebulised nebulized nebuliser dosieraerosol",
    ),
    (Route.INHALED, "nebulizer nebulisation nebulization nebules neb nebs"),
    (Route.INTRATHECAL, "intrathecal intrathecally"),
    (Route.OTHER, "flush lock"),
    (Route.EPIDURAL, "epidural"),
    (Route.TRANSDERMAL, "transdermal transdermally patch patches pflaster"),
    (Route.ENTERAL, "nasogastric gastrostomy nasojejunal jejunostomy jejunal intestinal enteral"),
    (Route.TOPICAL, "topical topically cutaneous scalp"),
    (Route.RECTAL, "rectal rectally rectum"),
    (Route.SUBLINGUAL, "sublingual sublingually buccal buccally oromucosal sl"),
    (Route.INTRAVENOUS, "intravenous intravenously iv ivi"),
    (Route.SUBCUTANEOUS, "subcutaneous subcutaneously subcut sc csci subkutan"),
    (Route.INTRAMUSCULAR, "intramuscular intramuscularly im"),
    (Route.INTRAVENOUS, "infusion infusions"),
    (Route.ORAL, "oral orally po"),
)
#: Words that tell a route only where nothing but a route is written: in a name they are units,
#: medicines or parts of other words.
_ALONE: tuple[tuple[Route, str], ...] = (
    (Route.ENTERAL, "ng nj peg"),
    (Route.INTRAVENOUS, "vein"),
    (Route.SUBCUTANEOUS, "sq"),
    (Route.TOPICAL, "skin"),
    (Route.ORAL, "mouth"),
)
_WORDS = (*ROUTE_WORDS[:-1], *_ALONE[:-1], ROUTE_WORDS[-1], _ALONE[-1])
_RANK = {word: rank for rank, (_, words) in enumerate(_WORDS) for word in words.split()}
#: "Infusion" is into a vein where no other route is named.
_INFUSED = _RANK["infusion"]
_INTO_THE_BODY = frozenset(
    {
        Route.ORAL,
        Route.INTRAVENOUS,
        Route.SUBCUTANEOUS,
        Route.INTRAMUSCULAR,
        Route.EPIDURAL,
        Route.ENTERAL,
        Route.RECTAL,
        Route.SUBLINGUAL,
        Route.TRANSDERMAL,
    }
)
#: Phrases that mean another route than their words.
_PHRASES = (("under the skin", "subcutaneous"), ("under the tongue", "sublingual"))
_DOTTED = when_asked(r"\b([isp])[./]([vmclor])\b\.?")
#: Short forms that are words of their own only when nothing else is said.
_SHORT = {"pr": Route.RECTAL, "pv": Route.VAGINAL, "top": Route.TOPICAL, "td": Route.TRANSDERMAL}
_WORD = when_asked(r"[a-z]+")


def route_named(codes: Iterable[str], texts: Iterable[str | None]) -> Route:
    """Return the route that a code or else some words name, "not recorded" where none that we know."""
    for code in codes:
        found = _BY_CODE.get(code) or (_in_words(code) if code.isalpha() else None)
        if found:
            return found
    for text in texts:
        found = _in_words(text) if text else None
        if found is not None:
            return found
    return Route.UNKNOWN


@remembered(1024)
def route_in_dosage(text: str) -> Route:
    """Return the one route into the whole body that the words of a dosage name, else "not recorded".

    Words of a route that acts where it is put, or of two routes, leave it open: what is given into the
    body must not look as if it were not.

    Examples:
        >>> route_in_dosage("5 mg oral twice daily").value, route_in_dosage("1 g/h IV infusion").value
        ('oral', 'intravenous')
        >>> route_in_dosage("oral or IV").value, route_in_dosage("by mouth, not into the eyes").value
        ('not recorded', 'not recorded')
    """
    ranks = _ranks_in(_spelled_out(text))
    found = {_WORDS[rank][0] for rank in ranks if rank != _INFUSED}
    if ranks and not found:
        return Route.INTRAVENOUS
    (only,) = found if len(found) == 1 else (Route.UNKNOWN,)
    return only if only in _INTO_THE_BODY else Route.UNKNOWN


def short_forms(said: str) -> str:
    """Write short forms of a route without their dots and strokes.

    Examples:
        >>> short_forms("morphine 10 mg s/c or i.v. 5 mg/l")
        'morphine 10 mg sc or iv 5 mg/l'
    """
    return _DOTTED.sub(r"\1\2", said)


@remembered(1024)
def _in_words(text: str) -> Route | None:
    """Read a route in plain words.

    Examples:
        >>> _in_words("Oral use").value, _in_words("Pectoral region"), _in_words("IV infusion").value
        ('oral', None, 'intravenous')
    """
    said = _spelled_out(text)
    if said in _SHORT:
        return _SHORT[said]
    ranks = _ranks_in(said)
    return _WORDS[min(ranks)][0] if ranks else None


def _spelled_out(text: str) -> str:
    said = short_forms(text.casefold().strip())
    for phrase, word in _PHRASES:
        said = said.replace(phrase, word)
    return said


def _ranks_in(said: str) -> list[int]:
    return [rank for rank in map(_RANK.get, _WORD.findall(said)) if rank is not None]
