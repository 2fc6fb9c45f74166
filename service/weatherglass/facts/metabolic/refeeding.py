"""Is this patient at high risk of refeeding problems, and do phosphate, potassium or magnesium fall?"""

from collections.abc import Iterator
from datetime import datetime
from decimal import Decimal
from functools import partial

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.series.limits_met import beyond, exact, reaches
from weatherglass.knowledge.metabolic import refeeding as criteria
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.numbers.quantities import plain, round_half_up
from weatherglass.model.plain import Plain
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin
from weatherglass.model.words.lists import inside_a_sentence
from weatherglass.model.words.value_words import named_value

_WORDS = word_patterns("record-patterns.toml")
_FED = _WORDS["fed"]
_ALCOHOL = _WORDS["alcohol"]


class Sign(Plain, frozen=True):
    """One thing that speaks for it, in words, with where it comes from."""

    words: str
    origin: Origin
    at: datetime | None = None


class LowOne(Plain, frozen=True):
    """An electrolyte below its limit: the newest, since when so, and what it fell from in five days.

    Attributes:
        grave_since: Since when it has been so low that it harms by itself; None where it is not.
    """

    signal: Signal
    newest: Measurement
    since: datetime
    before: Measurement | None
    grave_since: datetime | None

    @property
    def share(self) -> Decimal:
        """By which share it fell; 0 where it did not."""
        return 1 - self.newest.value / self.before.value if self.before is not None else Decimal(0)

    @property
    def words(self) -> str:
        """As it is said: 'phosphate 0.4 mmol/L (from 0.9)'."""
        down = f" (from {plain(self.before.value)})" if self.before is not None else ""
        return f"{named_value(self.signal, self.newest)}{down}"


class RefeedingRisk(Plain, frozen=True):
    """What is known.

    Attributes:
        enough: Criteria of which one is enough.
        half: Criteria of which two are needed.
        fed: What feeds, and since when; None where nothing on record does.
        context: Malnutrition or little intake on record.
    """

    enough: tuple[Sign, ...]
    half: tuple[Sign, ...]
    low: tuple[LowOne, ...]
    fed: Sign | None
    context: tuple[Sign, ...]

    @property
    def is_high(self) -> bool:
        """Whether the criteria of a high risk are met by what is known; a low value is one that is enough."""
        is_low_before = bool(self.low) and self.fed is None
        return bool(self.enough) or len(self.half) > 1 or is_low_before

    @property
    def falling(self) -> tuple[LowOne, ...]:
        """What has fallen to below its limit since feeding began, or may have begun."""
        fell = tuple(one for one in self.low if one.before is not None)
        if self.fed is None:
            # Meals are on no chart: in the malnourished two that fall, or one by much, speak for them.
            is_much = any(one.share > criteria.FALL_ALONE.value for one in fell)
            return fell if self.context and (len(fell) > 1 or is_much) else ()
        return tuple(one for one in fell if self.fed.at is None or one.newest.at > self.fed.at)


def refeeding_risk(bedside: Bedside) -> RefeedingRisk | None:
    """Return what is known where malnutrition, little intake or feeding is on record; None elsewhere."""
    context = tuple(
        Sign(inside_a_sentence(one.text), one.origin, one.at)
        for one in bedside.record.told_of(ConditionKind.MALNUTRITION)
    )
    fed = _fed(bedside)
    if fed is not None and fed.at is not None and bedside.as_of - fed.at > criteria.FED_FOR.length:
        return None
    if not context and fed is None:
        return None
    found = tuple(_by_weight(bedside))
    return RefeedingRisk(
        tuple(sign for sign, enough in found if enough),
        (*(sign for sign, enough in found if not enough), *_by_chart(bedside)),
        tuple(_low(bedside)),
        fed,
        context,
    )


def _fed(bedside: Bedside) -> Sign | None:
    for line in bedside.drug_chart.exposed:
        if _FED.search(line.medicine.text.casefold()):
            return Sign(line.medicine.text, line.order, line.since)
    return None


def _by_weight(bedside: Bedside) -> Iterator[tuple[Sign, bool]]:
    """Yield what weight and height say, each with whether it is enough by itself."""
    weights = bedside.exact(Signal.WEIGHT, criteria.WEIGHT_COUNTS_FOR.length)
    if not weights:
        return
    weight, height = weights[-1], bedside.record.series(Signal.HEIGHT).latest
    if height is not None and height.is_exact and height.value > 0:
        index = weight.value / (height.value / 100) ** 2
        if index < criteria.LEAN.value:
            words = f"BMI {plain(round_half_up(index, Decimal('0.1')))}"
            yield Sign(words, weight.origin, weight.at), index < criteria.THIN.value
    start, end = bedside.as_of - criteria.LOSS_FROM.length, bedside.as_of - criteria.LOSS_UNTIL.length
    earlier = max((w for w in weights if start <= w.at <= end), key=lambda w: w.value, default=None)
    if earlier is not None and earlier.value > 0:
        share = 1 - weight.value / earlier.value
        if share > criteria.LESSER_LOSS.value:
            words = f"weight {plain(weight.value)} kg from {plain(earlier.value)}"
            yield Sign(words, weight.origin, weight.at), share > criteria.LOSS.value


def _by_chart(bedside: Bedside) -> Iterator[Sign]:
    """Yield alcohol or a medicine that counts; together they are one criterion."""
    for one in bedside.record.conditions:
        if one.active and one.confirmed and _ALCOHOL.search(one.text.casefold()):
            yield Sign(inside_a_sentence(one.text), one.origin, one.began)
            return
    for order in bedside.on_chart(criteria.MEDICINES):
        yield Sign(order.medicine.text, order.origin)
        return


def _low(bedside: Bedside) -> Iterator[LowOne]:
    for signal in criteria.LOW:
        items = exact(bedside.record.series(signal).items)
        found = beyond(items, partial(_is_low, signal), bedside.as_of, criteria.COUNTS_FOR.length)
        if found is None:
            continue
        newest = found.newest
        within = [one for one in items if newest.at - one.at <= criteria.WITHIN.length]
        highest = max(within, key=lambda one: one.value)
        has_fallen = newest.value <= highest.value * (1 - criteria.FALL.value)
        grave = beyond(
            items, reaches(criteria.GRAVELY_LOW[signal]), bedside.as_of, criteria.COUNTS_FOR.length
        )
        yield LowOne(
            signal,
            newest,
            found.since,
            highest if has_fallen else None,
            grave.since if grave is not None else None,
        )


def _is_low(signal: Signal, one: Measurement) -> bool:
    own = one.reference_low
    return one.value < own if own is not None else criteria.LOW[signal].is_met_by(one.value)
