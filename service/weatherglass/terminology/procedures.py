"""Which procedure codes and words mean which kind of procedure.

The codes stand in `knowledge/procedure-codes.csv`, from memory except where a row says what confirmed
them, the words in `knowledge/procedure-words.toml`. Words catch what local order catalogues send; a scan
counts as contrast imaging only where contrast is named or the procedure cannot be done without it,
because a wrong "contrast" starts a false kidney warning and a missed one hides a true one: what is not
sure stays unmarked and keeps its text.

Left out: contrast media that are swallowed, and gadolinium (the rules are about iodinated contrast in
the blood).
"""

from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.record.care import ProcedureKind as Kind
from weatherglass.terminology.in_english import in_english
from weatherglass.terminology.kind_tables import kinds_named, read_codes, read_words

ICD_10_PCS = "http://www.cms.gov/Medicare/Coding/ICD10"
SNOMED_KINDS, PCS_PREFIXES = read_codes("procedure-codes.csv", Kind, ("SNOMED CT", "ICD-10-PCS"))
WORDS = read_words("procedure-words.toml", Kind)

_WORDS = word_patterns("procedure-patterns.toml")
_WITH_AND_WITHOUT = _WORDS["with-and-without"]
_WITHOUT = _WORDS["without"]


def kinds_in_words(text: str) -> frozenset[Kind]:
    """Read a procedure in plain words.

    Examples:
        >>> kinds_in_words("CT head without contrast")
        frozenset()
        >>> [kind.name for kind in kinds_in_words("CT abdomen with contrast")]
        ['CONTRAST_IMAGING']
    """
    said = _WITHOUT.sub(" ", _WITH_AND_WITHOUT.sub("with", in_english(text)))
    return kinds_named(WORDS, said)


_BECAUSE_OF_ONE = _WORDS["because-of-one"]
_PLANNED = _WORDS["planned"]


def is_because_of_one(text: str) -> bool:
    """Tell whether these words ask for something because of an operation, and not for one.

    Examples:
        >>> is_because_of_one("Laparoscopic hemicolectomy"), is_because_of_one("Physiotherapy after laparotomy")
        (False, True)
    """
    return bool(_BECAUSE_OF_ONE.search(text.casefold()))


_SMALL = _WORDS["small"]


def is_small_operation(text: str) -> bool:
    """Tell whether these words name an operation that pauses no anticoagulant and asks for no fast as a rule.

    Examples:
        >>> is_small_operation("Cataract surgery, left"), is_small_operation("Laparotomy")
        (True, False)
    """
    return bool(_SMALL.search(text.casefold()))


def plans_operation(text: str) -> bool:
    """Tell whether these words, as the reason of a stay, say that an operation is still to come.

    Examples:
        >>> plans_operation("Elective hemicolectomy"), plans_operation("Laparotomy")
        (True, False)
    """
    said = text.casefold()
    is_one = Kind.SURGERY in kinds_in_words(text) and not is_because_of_one(text)
    return is_one and bool(_PLANNED.search(said))


def kinds_of_code(system: str, code: str, snomed: bool) -> frozenset[Kind] | None:
    """Return what a procedure code means; None when it is not listed."""
    if snomed:
        return SNOMED_KINDS.get(code)
    if system == ICD_10_PCS:
        return next((kinds for prefix, kinds in PCS_PREFIXES.items() if code.startswith(prefix)), None)
    return None
