"""Lists, names and first letters in a sentence."""

import re
from collections.abc import Iterable, Sequence


def listed(names: Sequence[str]) -> str:
    """Write names as a list in a sentence.

    Examples:
        >>> listed(["pulse", "temperature", "pressure"])
        'pulse, temperature and pressure'
    """
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def span(low: object, high: object) -> str:
    """Write from what to what: '3 to 5', and '3' where both are the same."""
    return f"{low}" if low == high else f"{low} to {high}"


def capital(text: str) -> str:
    """Write words with a capital first, as they begin a sentence; the rest stays as it is.

    Examples:
        >>> capital("oxygen by mask"), capital("")
        ('Oxygen by mask', '')
    """
    return f"{text[:1].upper()}{text[1:]}"


def small(text: str) -> str:
    """Write the words of a sentence so that they can stand behind a colon."""
    return f"{text[:1].lower()}{text[1:]}"


_WORD = re.compile(r"\w+")
#: Of more texts than this none is held against each other one.
_MOST_COMPARED = 8


def said_once(texts: Iterable[str]) -> list[str]:
    """Leave out of some texts what another says word for word and more; the order stays.

    Examples:
        >>> said_once(["STEMI", "Chest pain, anterior STEMI", "Shock", "shock", "Fall", "Fallopian tube"])
        ['Chest pain, anterior STEMI', 'Shock', 'Fall', 'Fallopian tube']
    """
    by_words: dict[str, str] = {}
    for text in texts:
        by_words.setdefault(f" {' '.join(_WORD.findall(text.casefold()))} ", text)
    if len(by_words) > _MOST_COMPARED:
        return list(by_words.values())
    said = by_words.items()
    return [text for words, text in said if not any(words in other for other in by_words if other != words)]


#: Of persons and of germs, as problems begin with them.
_NAMES = frozenset(
    "Addison Alzheimer Clostridioides Clostridium Cushing Escherichia Guillain Kawasaki Klebsiella Marfan "
    "Parkinson Pneumocystis Pseudomonas Salmonella Stevens Wernicke".split()
)


def inside_a_sentence(text: str) -> str:
    """Write what a record says so that it can stand in the middle of a sentence: a name keeps its capital.

    Examples:
        >>> inside_a_sentence("Acute asthma"), inside_a_sentence("COPD")
        ('acute asthma', 'COPD')
        >>> inside_a_sentence("Addison's disease"), inside_a_sentence("Staphylococcus aureus bacteraemia")
        ("Addison's disease", 'Staphylococcus aureus bacteraemia')
    """
    word = text.split(" ", 1)[0]
    is_a_name = word[1:] != word[1:].lower() or word.endswith(("'s", "\u2019s", "coccus")) or word in _NAMES
    return text if is_a_name else small(text)
