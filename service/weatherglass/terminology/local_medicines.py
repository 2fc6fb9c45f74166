"""A site's own names of medicines: codes or words of its chart, and the ingredients that they mean.

They are added to what a chart's resource says itself and take nothing away: an ingredient that the code or
the words name besides is kept.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache

from weatherglass.knowledge.medicines.ingredient_tables.without_a_rule import KNOWN_WITHOUT_A_RULE
from weatherglass.knowledge.medicines.ingredients import INGREDIENTS
from weatherglass.knowledge.medicines.named_medicines import NAMED_IN_A_ROW
from weatherglass.model.local_choices import LocalMedicine
from weatherglass.model.plain import Plain
from weatherglass.model.words.patterns import when_asked
from weatherglass.terminology.observations import Meaning, Vocabulary

_WORD = when_asked(r"[a-z0-9]+")
_Words = tuple[str, ...]


class OwnMedicines(Plain, frozen=True):
    """What a site's own codes and words mean, by system and code, and by the first of the words."""

    by_code: Mapping[tuple[str, str], tuple[str, ...]]
    by_words: Mapping[str, tuple[tuple[_Words, tuple[str, ...]], ...]]

    def named(self, codes: Iterable[tuple[str, str]], texts: Sequence[str]) -> tuple[str, ...]:
        """Return the ingredients that they mean, each once; in time proportional to the words.

        Args:
            codes: Pairs of code system and code.
            texts: Display names and free text of the same medicine.
        """
        found = dict.fromkeys(name for code in codes for name in self.by_code.get(code, ()))
        for text in texts if self.by_words else ():
            found.update(dict.fromkeys(self._in(_WORD.findall(text.casefold()))))
        return tuple(found)

    def _in(self, words: Sequence[str]) -> Iterator[str]:
        for place, word in enumerate(words):
            for own, ingredients in self.by_words.get(word, ()):
                if tuple(words[place : place + len(own)]) == own:
                    yield from ingredients


NO_MEDICINES = OwnMedicines({}, {})


class SiteVocabulary(dict[str, Mapping[str, Meaning]]):
    """What codes mean at a site, with the medicines it has names of its own for."""

    def __init__(self, known: Vocabulary, medicines: Iterable[LocalMedicine]) -> None:
        """Take the meanings of codes, and the site's own medicines."""
        super().__init__(known)
        self.medicines = own_medicines(medicines)


def own_medicines(rows: Iterable[LocalMedicine]) -> OwnMedicines:
    """Lay a site's own medicines out by code and by word."""
    by_code: dict[tuple[str, str], tuple[str, ...]] = {}
    by_words: dict[str, tuple[tuple[_Words, tuple[str, ...]], ...]] = {}
    for row in rows:
        if row.code:
            by_code[row.system, row.code] = row.ingredients
        words = tuple(_WORD.findall(row.words.casefold()))
        if words:
            by_words[words[0]] = (*by_words.get(words[0], ()), (words, row.ingredients))
    return OwnMedicines(by_code, by_words)


def medicines_of(vocabulary: Vocabulary) -> OwnMedicines:
    """Return a site's own medicines; none where it has none."""
    return vocabulary.medicines if isinstance(vocabulary, SiteVocabulary) else NO_MEDICINES


def is_known(ingredient: str) -> bool:
    """Tell whether the name of one ingredient is known here, with a rule or without one.

    Examples:
        >>> is_known("ramipril"), is_known("Paracetamol"), is_known("ramapril"), is_known("")
        (True, True, False, False)
    """
    return ingredient.casefold() in _known()


@cache
def _known() -> frozenset[str]:
    return KNOWN_WITHOUT_A_RULE.union(NAMED_IN_A_ROW, *((row.name, *row.synonyms) for row in INGREDIENTS))
