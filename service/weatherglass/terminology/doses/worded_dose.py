"""A dose that an order says in words alone: how much, and how often in a day.

Read only where the words hold one amount and one frequency; what is doubled, conditional or for once is
not read, so that no dose is made up.
"""

import re
from datetime import time
from decimal import Decimal
from typing import Final

from weatherglass.knowledge.medicines.limits.dose_units import MILLIGRAMS, UNITS, unit_of, words_of
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.plain import Plain
from weatherglass.model.words.patterns import when_asked
from weatherglass.terminology.doses.german_charts import PlainWords, plainly  # noqa: F401 (in examples)


class WordedDose(Plain, frozen=True):
    """What the words of a dosage say.

    Attributes:
        amount: One dose; the larger of a range.
        unit: Its unit: "mg", "g", "microgram", "unit", or what is counted: "tablet".
        a_day: Doses a day, a part of one for weekly ones.
        at_most: The most of a day, in `unit`, where the words end with one; None without.
    """

    amount: Decimal
    unit: str
    a_day: Decimal
    at_most: Decimal | None = None


_COUNTS: Final = {
    "half": "0.5",
    "one": "1",
    "two": "2",
    "three": "3",
    "four": "4",
    "five": "5",
    "six": "6",
    "seven": "7",
    "eight": "8",
    "nine": "9",
    "ten": "10",
}
#: A comma parts thousands and nothing else: "2,5 mg" is not read, for it may be either.
_NUMBER: Final = rf"(\d{{1,3}}(?:,\d{{3}})+|\d+(?:\.\d+)?|{'|'.join(_COUNTS)})"
_TIMES: Final = {"once": 1, "one time": 1, "twice": 2, "two times": 2, "three times": 3, "four times": 4,
                 "five times": 5, "six times": 6}  # fmt: skip
_SHORT: Final = {"od": 1, "bd": 2, "bid": 2, "tds": 3, "tid": 3, "qds": 4, "qid": 4}
_WORDS: Final = word_patterns(
    "dose-patterns.toml",
    number=_NUMBER,
    unit=f"({words_of(*UNITS.values())})",
    weight=words_of(*MILLIGRAMS, "unit"),
    counts="|".join(_COUNTS),
    times="|".join(_TIMES),
    short="|".join(_SHORT),
)
_AMOUNT: Final = _WORDS["amount"]
_PIECES: Final = _WORDS["pieces"]
_A_NUMBER: Final = _WORDS["a-number"]
_MOST: Final = _WORDS["most"]
_AS_NEEDED: Final = _WORDS["as-needed"]
_COUNTED: Final = _WORDS["counted"]
_IN_DIGITS: Final = _WORDS["in-digits"]
_DOTTED: Final = _WORDS["dotted"]
_SHORTENED: Final = _WORDS["shortened"]
_HOURS: Final = _WORDS["hours"]
_DAYS: Final = _WORDS["days"]
_SHORT_DAYS: Final = _WORDS["short-days"]
_WEEKLY: Final = _WORDS["weekly"]
_DAILY: Final = _WORDS["daily"]
#: Times of a day: each that is named is a dose.
_PARTS: Final = (
    r"\bmornings?\b|\bmane\b",
    r"\bnoon\b|\bmidday\b|\blunch(?:time)?\b",
    r"\btea ?time\b|\bevenings?\b",
    r"\bnights?\b|\bnocte\b|\bnightly\b|\bbedtime\b",
)
_PARTS_OF_A_DAY: Final = tuple(map(when_asked, _PARTS))
_NOT_READ: Final = _WORDS["not-read"]
_WEEK: Final = Decimal(7)
_PART_OF_ONE: Final = {
    "\u00bd": Decimal("0.5"),
    "1/2": Decimal("0.5"),
    "\u00bc": Decimal("0.25"),
    "1/4": Decimal("0.25"),
}
_SCHEME: Final = _WORDS["scheme"]
#: Of more nobody knows that they are tablets.
_TABLETS_AT_ONCE: Final = Decimal(4)


def _by_scheme(parts: "re.Match[str]", said: str) -> WordedDose | None:
    """Read morning, noon, evening and night: "1-0-1", "0-0-0-24 units"; the largest is the dose.

    Without a unit the numbers count tablets, four of them at the most; an amount beside them is that of one.
    """
    doses = [_PART_OF_ONE.get(part) or Decimal(part.replace(",", ".")) for part in parts.groups()[:4] if part]
    most, total = max(doses), sum(doses, Decimal(0))
    unit = UNITS.get(parts[5] or "", "tablet")
    amounts = _AMOUNT.findall(said[: parts.start()] + " " + said[parts.end() :])
    if not most or len(amounts) > 1 or (unit == "tablet" and most > _TABLETS_AT_ONCE):
        return None
    if amounts and unit == "tablet" and not amounts[0][2]:
        return WordedDose(_number(amounts[0][0]) * most, UNITS[amounts[0][3]], total / most)
    return None if amounts else WordedDose(most, unit, total / most)


def worded_dose(words: PlainWords) -> WordedDose | None:
    """Read an amount and a frequency from plain words; None where either is missing or not plain.

    Examples:
        >>> dose = worded_dose(plainly("1 g four times daily"))
        >>> str(dose.amount), dose.unit, str(dose.a_day)
        ('1', 'g', '4')
        >>> worded_dose(plainly("1-2 tablets every 4 to 6 hours (max 8 tablets in 24 hours)")).at_most
        Decimal('8')
        >>> worded_dose(plainly("5 mL three times daily")).unit
        'mL'
        >>> dose = worded_dose(plainly("8-6-8-0 IE"))
        >>> str(dose.amount), dose.unit, str(dose.amount * dose.a_day)
        ('8', 'unit', '22.00')
        >>> worded_dose(plainly("15 mg once a week on Mondays")).a_day < 1, worded_dose(plainly("as per INR"))
        (True, None)
    """
    ends = _MOST.search(words)
    said = words[: ends.start()] if ends is not None else words
    if (parts := _SCHEME.search(said)) is not None:
        return _by_scheme(parts, said)
    amounts = _AMOUNT.findall(said)
    a_day = None if _NOT_READ.search(said) else _a_day(said)
    if not amounts and (pieces := _pieces(said)):
        amounts = [pieces]
    if len(amounts) != 1 or a_day is None:
        return None
    first, other_unit, last, unit = amounts[0]
    if other_unit and not last:
        return None
    amount, meant = _larger(first, other_unit or unit, last, unit)
    return WordedDose(amount, meant, a_day, _most(ends, amount, meant))


def _pieces(said: str) -> tuple[str, str, str, str] | None:
    """Return a number of tablets that stands for a dose; None where another number is left."""
    found = _PIECES.search(said)
    if found is None:
        return None
    left = said[found.end() :]
    for often in (_COUNTED, _IN_DIGITS, _HOURS, _CLOCK):
        left = often.sub(" ", left)
    return None if _A_NUMBER.search(left) else (found[1], "", found[2] or "", "tablet")


def worded_most(words: PlainWords) -> WordedDose | None:
    """Read an amount and the most of a day from words that say no frequency; None where either is missing.

    Examples:
        >>> found = worded_most(plainly("1 mg when needed, max 2 mg in 24 hours"))
        >>> str(found.amount), str(found.a_day)
        ('1', '2')
        >>> worded_most(plainly("1 mg when needed")) is None
        True
    """
    ends = _MOST.search(words)
    amounts = _AMOUNT.findall(words[: ends.start()]) if ends is not None else []
    if len(amounts) != 1 or amounts[0][2]:
        return None
    amount, meant = _number(amounts[0][0]), UNITS[amounts[0][3]]
    most = _most(ends, amount, meant)
    return WordedDose(amount, meant, most / amount, most) if most is not None and amount else None


_FOR_ONCE: Final = _WORDS["for-once"]
_GOES_ON: Final = _WORDS["goes-on"]


def says_once(words: PlainWords) -> bool:
    """Tell whether the words of a dosage mean one dose and no other.

    Examples:
        >>> [says_once(plainly(each)) for each in ("400 mg IV stat", "1.2 mg oral once", "40 mg once daily")]
        [True, True, False]
        >>> [says_once(plainly(each)) for each in ("5 mg stat then 2.5 mg daily", "40 mg once at night")]
        [False, False]
    """
    return _FOR_ONCE.search(words) is not None and _GOES_ON.search(words) is None


_OF_A_PIECE: Final = _WORDS["of-a-piece"]


def without_strength(said: str) -> str:
    """Leave out what one piece of a medicine holds, and is not yet a dose: "500 mg tablets"."""
    return _OF_A_PIECE.sub("", said)


_NOT_ALONE: Final = _WORDS["not-alone"]
_DISSOLVED: Final = _WORDS["dissolved"]


def only_amount(words: PlainWords) -> tuple[Decimal, str] | None:
    """Return the one amount that words name, and that is surely a dose; None where it may be anything else.

    Examples:
        >>> only_amount(plainly("10 units at night"))
        (Decimal('10'), 'unit')
        >>> [only_amount(plainly(each)) for each in ("2 x 500 mg", "5 mg to 10 mg", "1 tablet (5 mg)")]
        [None, None, None]
        >>> only_amount(plainly("50 units IV stat in glucose 50% 50 mL"))
        (Decimal('50'), 'unit')
    """
    said = _DISSOLVED.sub("", words)
    found = _AMOUNT.findall(said)
    if len(found) != 1 or _NOT_ALONE.search(said):
        return None
    return _number(found[0][0]), UNITS[found[0][3]]


#: FHIR R4 value set timing-abbreviation, where its letters are no words of a dose.
_ABBREVIATED: Final = {"qd": "1", "qod": "0.5", "am": "1", "pm": "1", "bed": "1"}
_EVERY_HOURS: Final = _WORDS["every-hours"]


def times_a_day(words: PlainWords) -> Decimal | None:
    """Read how often a day from a code or words that say nothing else; None where they do not.

    Examples:
        >>> [str(times_a_day(plainly(each))) for each in ("QID", "Q6H", "QD", "twice a day", "at once")]
        ['4', '4', '1', '2', 'None']
        >>> times_a_day(plainly("WK")) == times_a_day(plainly("weekly")) == Decimal(1) / 7
        True
    """
    hours = _EVERY_HOURS.fullmatch(words)
    if hours is not None:
        return 24 / Decimal(hours[1]) if int(hours[1]) else None
    if words in _ABBREVIATED:
        return Decimal(_ABBREVIATED[words])
    if words == "wk":
        return 1 / _WEEK
    return None if _NOT_READ.search(words) else _a_day(words)


_HALF_DAY: Final = _WORDS["half-day"]
_CLOCK: Final = _WORDS["clock"]
_NO_DAILY_TIME: Final = _WORDS["no-daily-time"]


def _on_the_clock(words: str) -> str:
    """Write times of half a day as those of a whole one: "8am and 12 noon", "at 08:00 and at 12:00"."""

    def whole(found: "re.Match[str]") -> str:
        hour = int(found[1]) % 12 + (0 if found[3] == "am" else 12)
        return f"at {hour:02}:{found[2] or '00'}"

    return _HALF_DAY.sub(whole, words)


def clock_times(words: PlainWords) -> tuple[time, ...]:
    """Read the times of a day at which doses are due; none where a time may mean anything else.

    Examples:
        >>> [each.hour for each in clock_times(plainly("25/100 at 07:00, 10:00 and 13:00"))]
        [7, 10, 13]
        >>> [each.hour for each in clock_times(plainly("8am, 12 noon and 6 pm"))]
        [8, 12, 18]
        >>> [clock_times(plainly(each)) for each in ("first dose at 18:00, then daily", "0.25 mg daily")]
        [(), ()]
    """
    said = _on_the_clock(words)
    if " at " not in f" {said}" or _NO_DAILY_TIME.search(said) or _NOT_READ.search(said):
        return ()
    return tuple(sorted({time(int(hour), int(minute)) for hour, minute in _CLOCK.findall(said)}))


def says_as_needed(words: PlainWords) -> bool:
    """Tell whether words say that a dose is given only when needed.

    Examples:
        >>> says_as_needed(plainly("10 mg PRN")), says_as_needed(plainly("10 mg at night"))
        (True, False)
    """
    return _AS_NEEDED.search(words) is not None


def _larger(first: str, first_unit: str, last: str, unit: str) -> tuple[Decimal, str]:
    """Return the larger end of a range, "500 mg to 1 g", in its unit."""
    if not last:
        return _number(first), UNITS[unit]
    if UNITS[first_unit] != UNITS[unit]:
        return _number(last), UNITS[unit]
    return max(_number(first), _number(last)), UNITS[unit]


def _number(word: str) -> Decimal:
    return Decimal(_COUNTS.get(word, word).replace(",", ""))


def _a_day(words: str) -> Decimal | None:
    """Return how often a day; None where the words do not say it, or say two things."""
    words = _on_the_clock(_DOTTED.sub(lambda found: re.sub(r"[^a-z]", "", found[0]), words))
    short_days = set(_SHORT_DAYS.findall(words))
    days = len(set(_DAYS.findall(words))) or (len(short_days) if len(short_days) > 1 else 0)
    counted = _counted(words)
    if counted is not None:
        times, of = counted
        if of.startswith("week") or _WEEKLY.search(words):
            return times / _WEEK if _is_once(words) else None
        return times * days / _WEEK if days else times
    short = _SHORTENED.search(words)
    if days or _WEEKLY.search(words):
        times = Decimal(_SHORT[short[1]] if short is not None and days else 1)
        return None if _DAILY.search(words) and not days else times * (days or 1) / _WEEK
    hours = _HOURS.search(words)
    if hours is not None:
        every = Decimal(hours[1] or hours[2] or hours[3])
        return 24 / every if every > 0 else None
    if short is not None:
        return Decimal(_SHORT[short[1]])
    parts = sum(bool(part.search(words)) for part in _PARTS_OF_A_DAY)
    parts = parts or len(clock_times(PlainWords(words)))
    return Decimal(parts or 1) if parts or _DAILY.search(words) else None


def _counted(words: str) -> tuple[Decimal, str] | None:
    """Return how many times, and of what: "four times a day", "4x/day"."""
    found = _COUNTED.search(words)
    if found is not None:
        return Decimal(_TIMES[found[1]]), found[2]
    digits = _IN_DIGITS.search(words)
    return (Decimal(digits["times"] or digits["after"]), digits["of"]) if digits is not None else None


def _is_once(words: str) -> bool:
    """Tell whether nothing says a day as well as a week."""
    return not _DAILY.search(_DAYS.sub("", words))


def _most(ends: "re.Match[str] | None", amount: Decimal, unit: str) -> Decimal | None:
    """Return the most of a day that the words end with, in the unit of the dose."""
    if ends is None:
        return None
    found = _AMOUNT.search(ends[1])
    if found is not None:
        return converted(_number(found[1]), found[4], unit)
    doses = re.search(rf"\b{_NUMBER} doses?\b", ends[1])
    return _number(doses[1]) * amount if doses is not None else None


def converted(amount: Decimal, unit: str, into: str) -> Decimal | None:
    """Return an amount in another unit of the same kind, however the two are spelt; None where they are not.

    Examples:
        >>> str(converted(Decimal(4), "g", "mg")), str(converted(Decimal(10), "[IU]", "units"))
        ('4000', '10')
        >>> converted(Decimal(10), "mg", "unit")
    """
    if unit == into:
        return amount
    one, other = map(unit_of, (unit, into))
    if one == other:
        return amount if one else None
    factors = MILLIGRAMS.get(one), MILLIGRAMS.get(other)
    return amount * factors[0] / factors[1] if factors[0] and factors[1] else None
