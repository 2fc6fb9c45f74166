"""How a medicine gets in, from SNOMED CT route codes or the route's own words, of `route-words.csv`.

Topical, inhaled and eye, ear or nose preparations are not systemic; the medicine
rules leave them out, so a route that is not recognised stays "not recorded". Whole
words are compared: "pectoral" is not "oral", and "percutaneous" is not "cutaneous".
"""

from collections.abc import Iterable
from typing import Final, Literal

from weatherglass.knowledge.data_files import Columns, csv_rows
from weatherglass.model.record.medicines import Route
from weatherglass.model.remembered import remembered
from weatherglass.model.words.patterns import when_asked


class _Row(Columns, frozen=True):
    """Words of a route, those that decide first above.

    Attributes:
        where: Words of a route and of the name of a product alike; `alone`: only where nothing but a route is
            written, for in a name they are units, medicines or parts of other words; `name`: only in a name,
            where they are forms; `whole`: short forms that count only where nothing else is said.
        snomed: SNOMED CT route-of-administration codes; from memory except where a word says the same.
    """

    route: Route
    words: str
    where: Literal["", "alone", "name", "whole"] = ""
    snomed: tuple[str, ...] = ()


_ROWS: Final = csv_rows("route-words.csv", _Row)
_BY_CODE: Final = {code: row.route for row in _ROWS for code in row.snomed}


def ranked(where: str) -> tuple[tuple[Route, str], ...]:
    """Return the words of routes with those of one other place, in the order in which they decide."""
    return tuple((row.route, row.words) for row in _ROWS if row.where in ("", where))


_WORDS = ranked("alone")
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
_SHORT: Final = {row.words: row.route for row in _ROWS if row.where == "whole"}
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
