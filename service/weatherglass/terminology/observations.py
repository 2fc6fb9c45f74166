"""Which codes mean which signal, and which coded answers mean which word.

The codes are a table, `knowledge/observations.csv`, and the answers another,
`knowledge/observation-answers.csv`; a mistyped row is refused with its line.
LOINC codes carry the LOINC notice in NOTICE; SNOMED CT codes are facts shipped without the
terminology. Systems are matched by their official address and by the misspellings that real
feeds send. A site adds its own codes in its policy file.
"""

import re
from collections.abc import Iterable, Mapping
from enum import Enum
from typing import Literal

from weatherglass.knowledge.data_files import Columns, csv_table, named
from weatherglass.model.plain import Plain
from weatherglass.model.signals import (
    BaselineConfusion,
    Bleeding,
    CodedSignal,
    Concern,
    Consciousness,
    OxygenDelivery,
    PregnancyStatus,
    RespiratoryEffort,
    Sample,
    Signal,
    Skin,
)
from weatherglass.terminology.units import ACCEPTED, UREA_NITROGEN_MASS, Units

#: Identifier system of what a review writes back.
OWN_RESULTS = "urn:weatherglass:finding"
#: What such a result is called where codes that are not used are counted.
OWN_EARLIER_RESULT = "own-earlier-result"
LOINC = "http://loinc.org"
SNOMED = "http://snomed.info/sct"

#: Spellings seen in real feeds, each with the system it stands for.
SYSTEM_SPELLINGS: dict[str, str] = {
    LOINC: LOINC,
    "http://loinc.org/": LOINC,
    "https://loinc.org": LOINC,
    "http://loinc": LOINC,
    "LOINC": LOINC,
    "urn:oid:2.16.840.1.113883.6.1": LOINC,
    SNOMED: SNOMED,
    "http://snomed.info/sct/": SNOMED,
    "https://snomed.info/sct": SNOMED,
    "SNOMED": SNOMED,
    "SNOMED-CT": SNOMED,
    "urn:oid:2.16.840.1.113883.6.96": SNOMED,
}


#: The same without scheme, "www", a mark at the end and case; HL7 v2 table 0396 has LN and SCT.
_PLAIN_SYSTEMS = {
    **dict.fromkeys(("loinc.org", "loinc", "ln", "2.16.840.1.113883.6.1"), LOINC),
    **dict.fromkeys(
        ("snomed.info/sct", "snomed", "snomed-ct", "snomed ct", "sct", "2.16.840.1.113883.6.96"), SNOMED
    ),
}
_AROUND_A_SYSTEM = re.compile(r"^(?:https?://|urn:oid:)?(?:www\.)?|[/#]+$")
#: An edition of SNOMED CT, which stands in the version and not in the system.
_EDITION = re.compile(r"^(snomed\.info/sct)/\d{6,18}(?:/version/\d{8})?$")
_LONGEST_SYSTEM = 100


def system_meant(system: str) -> str:
    """Return the official address of a code system that a sender names; empty when it is neither of the two.

    Examples:
        >>> system_meant("HTTPS://www.loinc.org/"), system_meant("LN"), system_meant("urn:made-up")
        ('http://loinc.org', 'http://loinc.org', '')
    """
    known = SYSTEM_SPELLINGS.get(system)
    if known is not None or len(system) > _LONGEST_SYSTEM:
        return known or ""
    return _PLAIN_SYSTEMS.get(_EDITION.sub(r"\1", _AROUND_A_SYSTEM.sub("", system.strip().casefold())), "")


class Numeric(Plain, frozen=True):
    """A code whose value is a number.

    Attributes:
        sample: What the code itself says of the sample, its hour or the way of measuring.
        by_unit: What the value is instead where its unit makes it another quantity.
        breathed: What its codes say was breathed meanwhile, air or oxygen.
    """

    signal: Signal
    units: Units
    method: str
    sample: Sample = Sample.NOT_STATED
    by_unit: Mapping[str, "Numeric"] = {}
    breathed: tuple[OxygenDelivery, ...] = ()


class Coded(Plain, frozen=True):
    """A code whose value is a word of a known set; `fixed` when the code itself answers."""

    signal: CodedSignal
    answers: Mapping[str, Enum]
    fixed: Enum | None = None


class Panel(Plain, frozen=True):
    """A code that only groups components."""

    name: str


class ReportedPart(Plain, frozen=True):
    """A sub-score that somebody else reported; kept for comparison only."""

    key: str


class Decision(Plain, frozen=True):
    """A recorded decision about treatment; read with the directives."""

    name: str


class Contested(Plain, frozen=True):
    """Codings of one concept that mean different things; one of them is chosen, whatever their order."""

    chosen: Numeric | Coded


Meaning = Numeric | Coded | Panel | ReportedPart | Decision


#: A rate of urine in the unit of a volume is the volume of its period, and of body weight a rate of its own.
_URINE_BY_UNIT = {
    **dict.fromkeys(
        ACCEPTED[Signal.URINE_VOLUME],
        Numeric(Signal.URINE_VOLUME, ACCEPTED[Signal.URINE_VOLUME], "9192-6 volume"),
    ),
    **dict.fromkeys(
        ACCEPTED[Signal.URINE_RATE_FOR_WEIGHT],
        Numeric(Signal.URINE_RATE_FOR_WEIGHT, ACCEPTED[Signal.URINE_RATE_FOR_WEIGHT], "9192-6 for weight"),
    ),
}


#: Our own observation codes, for what no open code system names. Sites may map theirs to these.
LOCAL_SYSTEM = "urn:weatherglass:codes:observation"


class _Row(Columns, frozen=True):
    """One code of `knowledge/observations.csv`.

    Attributes:
        kind: A lookalike is never read; of exertion it is not even where another coding says rest.
        means: The key of the signal, also of one that it only looks like; else a name.
        method: The code whose method it shares; empty when it has one of its own. Codes of one method
            are the same quantity on the same kind of specimen.
        breathed: What the code itself says was breathed.
        units: The units where they are not those of the signal.
        answers: The set of answers.
        says: What else the code says: site, method or specimen; of a lookalike, what it is instead.
        seen: Where its meaning was read: in two public code lists or more when empty, in "one list",
            from "memory", or "ours".
    """

    system: Literal["LOINC", "SNOMED CT", "own"]
    code: str
    kind: Literal["number", "answer", "panel", "part", "decision", "lookalike", "exertion"]
    means: str
    method: str = ""
    sample: Sample = Sample.NOT_STATED
    breathed: Literal["air", "oxygen", "ventilator", ""] = ""
    units: Literal["urea nitrogen", "urine by unit", ""] = ""
    answers: str = ""
    says: str = ""
    seen: Literal["one list", "memory", "ours", ""] = ""


_NEVER_READ = ("lookalike", "exertion")
_SYSTEMS = {"LOINC": LOINC, "SNOMED CT": SNOMED, "own": LOCAL_SYSTEM}
_BREATHED = {
    "air": OxygenDelivery.AIR,
    "oxygen": OxygenDelivery.OXYGEN,
    "ventilator": OxygenDelivery.VENTILATOR,
}
_KINDS: Mapping[str, type[Enum]] = {
    "pregnancy": PregnancyStatus,
    "consciousness": Consciousness,
    "concern": Concern,
    "carer": Concern,
    "oxygen-device": OxygenDelivery,
    "effort": RespiratoryEffort,
    "bleeding": Bleeding,
    "skin": Skin,
    "usual-confusion": BaselineConfusion,
}


class _AnswerRow(Columns, frozen=True):
    """One answer of `knowledge/observation-answers.csv`: a code or a plain word, and what it means."""

    answers: str
    word: str
    means: str
    remark: str = ""


def read_answers() -> Mapping[str, Mapping[str, Enum]]:
    """Read the answers of each set."""
    found: dict[str, dict[str, Enum]] = {name: {} for name in _KINDS}

    def take(row: _AnswerRow) -> None:
        if row.answers not in found:
            raise ValueError(f"{row.answers!r} is no set of answers; one of {', '.join(found)}.")
        if row.word in found[row.answers]:
            raise ValueError(f"{row.word!r} stands twice in {row.answers!r}.")
        found[row.answers][row.word] = named(_KINDS[row.answers], row.means)

    csv_table("observation-answers.csv", _AnswerRow, take)
    return found


_ANSWERS = read_answers()
OXYGEN_DEVICE_WORDS = _ANSWERS["oxygen-device"]
EFFORT_WORDS = _ANSWERS["effort"]


def answer_in_words(code: str) -> str:
    """Return what a coded answer means, in words; empty where it is no answer that is read.

    Examples:
        >>> answer_in_words("248234008"), answer_in_words("LA9342-2"), answer_in_words("1234")
        ('alert', 'pain', '')
    """
    means = next((answers[code] for answers in _ANSWERS.values() if code in answers), None)
    return means.name.lower().replace("_", " ") if means is not None else ""


_NAMED: Mapping[str, type[Panel] | type[ReportedPart] | type[Decision]] = {
    "panel": Panel,
    "part": ReportedPart,
    "decision": Decision,
}


def _meaning(row: _Row) -> Meaning:
    if row.kind == "number":
        return _number(row)
    if row.kind == "answer":
        signal = CodedSignal(row.means)
        if row.breathed:
            return Coded(signal, {}, _BREATHED[row.breathed])
        if row.answers not in _ANSWERS:
            raise ValueError(f"{row.answers!r} is no set of answers; one of {', '.join(_ANSWERS)}.")
        return Coded(signal, _ANSWERS[row.answers])
    return _NAMED[row.kind](row.means)


def _number(row: _Row) -> Numeric:
    signal = Signal(row.means)
    units = UREA_NITROGEN_MASS if row.units == "urea nitrogen" else ACCEPTED[signal]
    return Numeric(
        signal,
        units,
        row.method or row.code,
        row.sample,
        _URINE_BY_UNIT if row.units == "urine by unit" else {},
        (_BREATHED[row.breathed],) if row.breathed else (),
    )


class Table(Plain, frozen=True):
    """What the rows say: what is read, what is never read, and what of that is of exertion."""

    meanings: dict[str, dict[str, Meaning]]
    lookalikes: dict[str, str]
    on_exertion: frozenset[str]


def read_table() -> Table:
    """Read the table of codes."""
    found: dict[str, dict[str, Meaning]] = {system: {} for system in _SYSTEMS.values()}
    lookalikes: dict[str, str] = {}
    exertion: set[str] = set()

    def take(row: _Row) -> None:
        table = found[_SYSTEMS[row.system]]
        if row.code in table or row.code in lookalikes:
            raise ValueError(f"{row.system} {row.code} stands twice.")
        if row.kind in _NEVER_READ:
            lookalikes[row.code] = f"{row.system} {row.code} is {row.says}"
            exertion.update({row.code} if row.kind == "exertion" else ())
        else:
            table[row.code] = _meaning(row)

    csv_table("observations.csv", _Row, take)
    return Table(found, lookalikes, frozenset(exertion))


_TABLE = read_table()
MEANINGS: dict[str, dict[str, Meaning]] = _TABLE.meanings
#: Codes that look right and are not, with their terminology and what they are (never mapped).
LOOKALIKES: dict[str, str] = _TABLE.lookalikes
#: No vital sign at rest: whatever else the Observation is coded as, it is not used.
ON_EXERTION: frozenset[str] = _TABLE.on_exertion
LOINC_MEANINGS, SNOMED_MEANINGS, LOCAL_MEANINGS = (MEANINGS[system] for system in _SYSTEMS.values())

#: A site that maps its own code to one of these has said the vessel.
_VESSELS = {
    **dict.fromkeys((Signal.PH_ARTERIAL, Signal.PCO2_ARTERIAL, Signal.PO2_ARTERIAL), Sample.ARTERIAL),
    **dict.fromkeys((Signal.PH_VENOUS, Signal.PCO2_VENOUS), Sample.VENOUS),
}
#: What a site's own codes may be mapped to, by the key of the signal.
MEANING_BY_SIGNAL: dict[str, Meaning] = {
    **{
        s.value: Numeric(s, units, s.value, _VESSELS.get(s, Sample.NOT_STATED))
        for s, units in ACCEPTED.items()
    },
    **{
        meaning.signal.value: meaning
        for meaning in (*LOCAL_MEANINGS.values(), LOINC_MEANINGS["80288-4"])
        if isinstance(meaning, Coded)
    },
}
#: Code systems by address, each with what its codes mean.
Vocabulary = Mapping[str, Mapping[str, Meaning]]


def vocabulary_with(extra: Iterable[tuple[str, str, str]]) -> Vocabulary:
    """Return the known codes and a site's own: system, code, and the key of the signal.

    Raises:
        KeyError: A code is mapped to something the review does not know.
    """
    known: dict[str, dict[str, Meaning]] = {system: dict(table) for system, table in MEANINGS.items()}
    for system, code, means in extra:
        known.setdefault(system, {})[code] = MEANING_BY_SIGNAL[means]
    return known
