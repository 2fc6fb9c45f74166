"""Values as their sender wrote them: not read, not usable, or flagged by the sender itself.

They are shown and never scored. Only words of codes, numbers, coded answers and short
strings are taken, in one short line: no names of people, no notes.
"""

from collections.abc import Iterable, Iterator
from decimal import Decimal, DecimalException
from typing import Final

import msgspec
from msgspec import Raw

from weatherglass.facts.rounds.timeline import BEDSIDE_SIGNALS
from weatherglass.fhir.datatypes import CodeableConcept, Quantity
from weatherglass.fhir.decoding import UNREADABLE
from weatherglass.fhir.r4 import Component, Observation, ReferenceRange
from weatherglass.fhir.reading.observations.codes_shown import shown as shown_code
from weatherglass.fhir.reading.observations.worded.danger_words import (
    danger_in_a_remark,
    doubt_in_a_remark,
    is_a_remark,
    may_be_danger,
)
from weatherglass.fhir.safe_text import one_line
from weatherglass.fhir.times import When
from weatherglass.model.numbers.quantities import Unit, unit_words
from weatherglass.model.record.values import Flag, SentValue
from weatherglass.model.signals import CodedSignal, Signal, label_of
from weatherglass.model.sources import Origin
from weatherglass.model.words.patterns import when_asked
from weatherglass.terminology.observations import answer_in_words

Holder = Observation | Component

#: Longest name and longest value that are shown.
LONGEST = 60
#: How LOINC says a property, the usual sample and the method: nothing of it is missed in a list.
_HOW_MEASURED: Final = when_asked(
    r" \[[A-Z][\w ]*/[\w ]+\](?: in (?:Serum or Plasma|Blood|Serum|Plasma)(?: by .*)?$)?"
)
#: Of a remark or a note as much is looked through, and as much is shown of what may be danger.
_LONGEST_REMARK, _LONGEST_WORRY = 4000, 120
_LONGEST_NUMBER = 20
_LONGEST_WORDS = 120
_MOST_PARTS = 6
#: HL7 v3 ObservationInterpretation.
_CRITICAL = frozenset({"HH", "LL", "AA"})
_ABNORMAL = frozenset({"H", "L", "A", "HU", "LU", "HX", "LX", "H>", "L<", ">", "<"})
#: Words for the same, of senders without the codes.
_CRITICAL_WORDS = ("critical", "panic")
#: What a meter shows instead of a number that is beyond its scale: our choice to call it critical.
_BEYOND_THE_SCALE = frozenset({"hi", "high", "lo", "low", "h", "l"})
_ON_A_METER = frozenset({Signal.GLUCOSE, Signal.KETONES})
_BEDSIDE = frozenset({*BEDSIDE_SIGNALS, Signal.MEAN_PRESSURE})
_VITAL = frozenset({"vital-signs", "vital-sign", "vitals"})
_LABORATORY = frozenset({"laboratory", "lab"})
#: Categories of HL7 whose Observations are no signs and no results.
_NEITHER = frozenset({"social-history", "imaging", "procedure", "survey", "exam", "therapy", "activity"})
#: Measurements that a review has no use for: shape of the body, blood groups, and pain, no sign of organs.
#: Our choice; without it no chart with a body mass index would ever be called wholly read.
NOT_FOR_A_REVIEW = frozenset(
    """39156-5 59576-9 59574-4 77606-2 8277-6 3140-1 8287-5 9843-4 8289-1 56086-2 8280-0 3137-7 8308-9
    3141-9 8335-2 72514-3 38208-5 38221-8 60621009 882-1 883-9 10331-7""".split()
)

_SAID = {unit.value: unit_words(unit) for unit in Unit}
_MORE = "\u2026"
#: What stands for a value that did not come with its flag.
_NO_VALUE = "without a value"

_concepts = msgspec.json.Decoder(tuple[CodeableConcept, ...]).decode


def sent_value(
    obs: Observation,
    holder: Holder,
    when: When,
    origin: Origin,
    read_as: Signal | CodedSignal | None = None,
    *,
    suspected: Signal | CodedSignal | None = None,
    used: bool = False,
) -> SentValue | None:
    """Return a value as it was sent where that is worth saying; None where it is not.

    Args:
        obs: The Observation.
        holder: The Observation itself or the part that has the value.
        when: Its time.
        origin: The Observation's address.
        read_as: The signal that its code is read as, if any.
        suspected: The sign that the words of a code name that is not read.
        used: Whether the value was taken in; then only what the sender flagged is said.
    """
    if used and not (holder.interpretation and _flag(holder, read_as, "")) and not _is_outside(holder):
        return None
    shown = shown_value(holder) or _parts_of(holder)
    if not shown and _flag(holder, None, "") is Flag.CRITICAL:
        shown = _NO_VALUE  # What is called critical is said, whatever is missing of it.
    if not shown:
        return None
    meant = read_as or suspected
    flag = _flag(holder, meant, shown if not used else "")
    outside = _is_outside(holder)
    is_words = not used and _is_plain_words(obs, holder)
    worry = danger_in_a_remark((holder.valueString or "")[:_LONGEST_REMARK]) if is_words else ""
    if worry and shown.endswith(_MORE):
        shown = _cut(one_line(worry), _LONGEST_WORRY)  # Of a long remark what is to be read.
    danger = bool(worry) or (meant is None and not used and _names_danger(holder, shown))
    is_aside = not (danger or _is_worth_saying(obs, holder, meant, flag, outside, used=used))
    if is_aside and not is_words:
        return None
    return SentValue(
        name=name_of(holder.code, read_as),
        shown=shown,
        at=when.at,
        origin=origin,
        signal=read_as.value if read_as is not None else "",
        suspected=suspected.value if suspected is not None else "",
        vital=_is_vital(obs, meant),
        flag=flag,
        outside=outside,
        reference=_reference(holder),
        aside=is_aside,
        danger=danger,
        remark=is_words and is_a_remark(words_of(holder.code)),
    )


def note_value(
    obs: Observation, notes: Iterable[str], when: When, origin: Origin, read_as: Signal | CodedSignal | None
) -> SentValue | None:
    """Return what somebody wrote beside a value, where it names danger or doubts it; None elsewhere.

    A short note is shown whole: "drowsy earlier, now bright" is not "drowsy earlier".
    """
    notes = [note[:_LONGEST_REMARK] for note in notes]
    worries = ((note, says(note)) for says in (danger_in_a_remark, doubt_in_a_remark) for note in notes)
    note, worry = next((each for each in worries if each[1]), ("", ""))
    if not worry:
        return None
    worry = note if len(note) <= _LONGEST_WORRY else worry
    name = f"Note on {name_of(obs.code, read_as)}"
    return SentValue(name, _cut(one_line(worry), _LONGEST_WORRY), when.at, origin, danger=True, remark=True)


def has_a_value(holder: Holder) -> bool:
    """Tell whether there is a value of any type."""
    return bool(shown_value(holder))


def _is_worth_saying(
    obs: Observation,
    holder: Holder,
    meant: Signal | CodedSignal | None,
    flag: Flag,
    outside: bool | None,
    *,
    used: bool,
) -> bool:
    if flag or outside:
        return True
    if used:
        return False
    if meant is not None:
        return True
    if _is_for_no_review(holder):
        return False
    categories = _categories(obs)
    if categories & (_VITAL | _LABORATORY):
        return True
    return not categories & _NEITHER and holder.valueQuantity is not None


def _is_for_no_review(holder: Holder) -> bool:
    return any(coding.code in NOT_FOR_A_REVIEW for coding in holder.code.coding)


def _names_danger(holder: Holder, shown: str) -> bool:
    if holder.valueQuantity is not None or _is_for_no_review(holder):
        return False
    return may_be_danger(words_of(holder.code), shown)


def _is_plain_words(obs: Observation, holder: Holder) -> bool:
    """Tell whether it is an answer in words, of no kind that says what it is of."""
    if _is_for_no_review(holder):
        return False
    return bool(holder.valueString) and not _categories(obs) & (_NEITHER - {"exam"})


# What is said


def words_of(concept: CodeableConcept) -> str:
    """Return the words of a code: its text and the displays of its codings."""
    # Sorted, so that the order of codings says nothing.
    displays = sorted(coding.display for coding in concept.coding if coding.display)
    return " / ".join(words[:_LONGEST_WORDS] for words in (concept.text or "", *displays[:3]) if words)


def name_of(concept: CodeableConcept, read_as: Signal | CodedSignal | None = None) -> str:
    """Return what something is called, in one short line of its sender's words."""
    displays = [coding.display for coding in concept.coding if coding.display]
    words = one_line((concept.text or min(displays, default=""))[: LONGEST * 4])
    words = _HOW_MEASURED.sub("", words)
    if not words and read_as is not None:
        words = label_of(read_as)
    if not words:
        codes = [shown_code(coding.code or "") for coding in concept.coding]
        words = min(filter(None, codes), default="")
        words = f"code {words}" if words else "not named"
    return _cut(words)


def _cut(text: str, longest: int = LONGEST) -> str:
    if len(text) <= longest:
        return text
    return f"{text[: longest - 1].rstrip(' .,;:')}{_MORE}"


def shown_value(holder: Holder) -> str:
    """Return a value as it was sent, in one short line; empty when there is none."""
    for said in _values(holder):
        if said:
            return _cut(said)
    return ""


def _parts_of(holder: Holder) -> str:
    """Return the values of a panel that its sender flagged as a whole."""
    if not isinstance(holder, Observation) or not holder.interpretation:
        return ""
    return _cut(", ".join(filter(None, (shown_value(part) for part in holder.component[:_MOST_PARTS]))))


def _values(holder: Holder) -> Iterator[str]:
    if holder.valueQuantity is not None:
        yield _quantity(holder.valueQuantity)
    yield _number(holder.valueInteger)
    if holder.valueCodeableConcept is not None:
        yield _answer(holder.valueCodeableConcept)
    yield shortened(holder.valueString or "").rstrip(".")
    if holder.valueBoolean is not None:
        yield "yes" if holder.valueBoolean else "no"
    if holder.valueRange is not None:
        ends = (holder.valueRange.low, holder.valueRange.high)
        yield " to ".join(_quantity(end) for end in ends if end is not None and end.value)
    other = (
        holder.valueRatio,
        holder.valueSampledData,
        holder.valueTime,
        holder.valueDateTime,
        holder.valuePeriod,
    )
    yield "a value of another type" if any(other) else ""


def _quantity(quantity: Quantity) -> str:
    number = _number(quantity.value)
    unit = _unit(quantity)
    return f"{quantity.comparator or ''}{number} {unit}".strip() if number else ""


def _unit(quantity: Quantity) -> str:
    """Return the unit as people say it where it is one of ours in its code, else as it was sent."""
    sent = one_line((quantity.unit or quantity.code or "")[:LONGEST])
    return _SAID.get(sent, sent)


def _number(raw: Raw) -> str:
    if not raw:
        return ""
    text = bytes(raw)[: _LONGEST_NUMBER + 4].decode("utf-8", "replace")
    written = one_line(text).strip('"')
    # A number that was wrongly sent as a string is a number to a reader.
    return written[:_LONGEST_NUMBER] if written[:1] in set("-0123456789") else ""


def _answer(concept: CodeableConcept) -> str:
    displays = [coding.display for coding in concept.coding if coding.display]
    codes = [coding.code or "" for coding in concept.coding]
    meant = min(filter(None, map(answer_in_words, codes)), default="")
    shown = min(filter(None, (shown_code(code) or _letters(code) for code in codes)), default="")
    return shortened(concept.text or min(displays, default="") or meant or shown)


def _letters(code: str) -> str:
    return code if len(code) <= 4 and code.isalpha() else ""


def shortened(text: str) -> str:
    """Return words as one short line."""
    return _cut(one_line(text[: LONGEST * 4]))


# What the sender said of it


def _flag(holder: Holder, meant: Signal | CodedSignal | None, unread: str) -> Flag:
    codes: set[str] = set()
    words = ""
    for interpretation in holder.interpretation:
        codes |= {(coding.code or "").upper() for coding in interpretation.coding}
        words += f" {interpretation.text or ''}"
        words += "".join(f" {coding.display or ''}" for coding in interpretation.coding)
    said = words[:200].casefold()
    if codes & _CRITICAL or any(word in said for word in _CRITICAL_WORDS):
        return Flag.CRITICAL
    if meant in _ON_A_METER and unread.casefold() in _BEYOND_THE_SCALE:
        return Flag.CRITICAL
    if codes & _ABNORMAL or "abnormal" in said.replace("not abnormal", ""):
        return Flag.ABNORMAL
    return Flag.NONE


def _range_of(holder: Holder) -> ReferenceRange | None:
    """Return the first range that is of what is normal."""
    for one in holder.referenceRange:
        kinds = {coding.code for coding in one.type.coding} if one.type is not None else set()
        if not kinds or "normal" in kinds:
            return one
    return None


def _is_outside(holder: Holder) -> bool | None:
    """Tell whether a number lies outside the range sent with it; None where that is not certain."""
    normal, sent = _range_of(holder), holder.valueQuantity
    value = _decimal(sent.value) if sent is not None else None
    if normal is None or sent is None or value is None:
        return None
    low, high = _limit(normal.low, sent), _limit(normal.high, sent)
    if low is None and high is None:
        return None
    if sent.comparator:
        below = sent.comparator in ("<", "<=") and low is not None and value <= low
        above = sent.comparator in (">", ">=") and high is not None and value >= high
        return True if below or above else None
    return (low is not None and value < low) or (high is not None and value > high)


def _limit(limit: Quantity | None, of: Quantity) -> Decimal | None:
    if limit is None:
        return None
    unit, own = limit.code or limit.unit, of.code or of.unit
    same = not unit or unit in (own, of.unit) or (limit.unit or "") in (own, of.unit)
    return _decimal(limit.value) if same else None


def _decimal(raw: Raw) -> Decimal | None:
    text = _number(raw)
    try:
        value = Decimal(text) if text else None
    except DecimalException:
        return None
    return value if value is not None and value.is_finite() else None


def _reference(holder: Holder) -> str:
    normal = _range_of(holder)
    if normal is None:
        return ""
    low, high = (_number(end.value) if end is not None else "" for end in (normal.low, normal.high))
    with_unit = normal.high or normal.low
    unit = _unit(with_unit) if with_unit is not None else ""
    if low and high:
        return _cut(f"{low}-{high} {unit}".strip())
    if low or high:
        return _cut(f"{'from' if low else 'up to'} {low or high} {unit}".strip())
    return ""


# What kind of thing it is


def _categories(obs: Observation) -> set[str]:
    if not obs.category:
        return set()
    try:
        concepts = _concepts(obs.category)
    except UNREADABLE:
        return set()
    codes = {(coding.code or "").casefold() for concept in concepts for coding in concept.coding}
    return codes | {(concept.text or "").casefold().replace(" ", "-") for concept in concepts}


def _is_vital(obs: Observation, meant: Signal | CodedSignal | None) -> bool:
    categories = _categories(obs)
    if categories & (_VITAL | _LABORATORY):
        return bool(categories & _VITAL)
    return meant in _BEDSIDE or isinstance(meant, CodedSignal)
