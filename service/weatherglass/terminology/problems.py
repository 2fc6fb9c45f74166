"""Which diagnosis codes and words mean which condition.

The codes stand in `knowledge/problem-codes.csv`, the words in `knowledge/problem-words.toml`.

ICD-10 is matched by prefix of the code without its dot, the longest prefix first, so
that an exception can stand beside its group. Where WHO's ICD-10 and the American
ICD-10-CM give one code two meanings, each has a table of its own.

Every ICD-10 row was compared with the printed titles of WHO's 2019 edition and of
ICD-10-CM, except the fifth characters of J96 in WHO's edition, which are from memory.
SNOMED CT codes are from memory, except where a row says what confirmed them. A
code that is not listed means nothing here; its text is read instead.

Left out, with reasons:
    Dementia as long-standing confusion: new confusion must still count in dementia.
    Obesity hypoventilation as hypercapnic failure: it takes a blood gas to say so.
    I95 (hypotension) as a person's usual pressure: the chapter mixes acute and chronic.
    N25.1 (nephrogenic diabetes insipidus): desmopressin does not treat it.
    I51.3 (intracardiac thrombosis): it does not say which chamber.
"""

import re

from weatherglass.knowledge.data_files import Columns, csv_table, named
from weatherglass.model.record.problems import ConditionKind as Kind
from weatherglass.terminology.kind_tables import Codes, read_codes, read_words

ICD_10 = "http://hl7.org/fhir/sid/icd-10"
ICD_10_CM = "http://hl7.org/fhir/sid/icd-10-cm"

#: Spellings of the two systems seen in feeds; national editions follow WHO's.
ICD_10_SPELLINGS: dict[str, str] = {
    ICD_10: ICD_10,
    "https://hl7.org/fhir/sid/icd-10": ICD_10,
    "http://hl7.org/fhir/sid/icd-10-uk": ICD_10,
    "http://hl7.org/fhir/sid/icd-10-am": ICD_10,
    "http://fhir.de/CodeSystem/bfarm/icd-10-gm": ICD_10,
    "http://fhir.de/CodeSystem/dimdi/icd-10-gm": ICD_10,
    "http://jpfhir.jp/fhir/core/mhlw/CodeSystem/ICD10-2013-full": ICD_10,
    "urn:oid:2.16.840.1.113883.6.3": ICD_10,
    "ICD-10": ICD_10,
    ICD_10_CM: ICD_10_CM,
    "https://hl7.org/fhir/sid/icd-10-cm": ICD_10_CM,
    "urn:oid:2.16.840.1.113883.6.90": ICD_10_CM,
    "ICD-10-CM": ICD_10_CM,
}

_ICD_10_SHAPE = re.compile(r"[A-Z]\d", re.ASCII)


Kinds = frozenset[Kind]


def read_table() -> tuple[Codes[Kind], ...]:
    """Read the codes by system: ICD-10, what WHO's and the American edition have alone, SNOMED CT."""
    systems = ("ICD-10", "ICD-10 by WHO", "ICD-10-CM", "SNOMED CT")
    return read_codes("problem-codes.csv", Kind, systems)


#: WHO only: the fifth character of J96 says which type, R65.1 is severe sepsis.
ICD_10_PREFIXES, ICD_10_WHO_PREFIXES, ICD_10_CM_PREFIXES, SNOMED_KINDS = read_table()

#: Hypotension by code or words; with "long-standing" beside it, that pressure is usual.
#: SNOMED CT 45007003 is confirmed by public value sets; the others are ICD-10.
LOW_PRESSURE_CODES = frozenset({"45007003", "I95", "I950", "I958", "I959", "I9589"})


class _Passing(Columns, frozen=True):
    kind: str


#: Kinds that stay with a person when the words say "history of": all but those of `passing-problems.csv`.
LASTING: frozenset[Kind] = frozenset(Kind) - frozenset(
    csv_table("passing-problems.csv", _Passing, lambda row: named(Kind, row.kind))
)


#: Plain words, matched in casefolded text after negated stretches are cut out.
WORDS = read_words("problem-words.toml", Kind)


def icd_10_edition(system: str) -> str | None:
    """Return which of the two classifications a system is, or None."""
    known = ICD_10_SPELLINGS.get(system)
    if known is None and system.startswith(ICD_10):
        return ICD_10_CM if system.startswith(ICD_10_CM) else ICD_10
    return known


def kinds_of_icd_10(code: str, system: str) -> frozenset[Kind] | None:
    """Return what an ICD-10 code means; `system` is one of the two addresses above.

    None is a code that no row covers; an empty set is one that means none of our kinds
    although its words might suggest one.

    Examples:
        >>> sorted(kinds_of_icd_10("J96.01", ICD_10))
        [<ConditionKind.HYPERCAPNIA: 'hypercapnic respiratory failure'>]
        >>> kinds_of_icd_10("J96.01", ICD_10_CM) is None
        True
    """
    bare = code.replace(".", "").upper().rstrip("+*!")
    if not _ICD_10_SHAPE.match(bare):
        return None
    own = ICD_10_CM_PREFIXES if system == ICD_10_CM else ICD_10_WHO_PREFIXES
    for length in range(len(bare), 0, -1):
        prefix = bare[:length]
        found = own.get(prefix)
        if found is None:
            found = ICD_10_PREFIXES.get(prefix)
        if found is not None:
            return found
    return None
