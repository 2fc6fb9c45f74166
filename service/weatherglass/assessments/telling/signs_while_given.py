"""Signs that are there while a medicine is given which may be why: in words, since when, and where from."""

from collections.abc import Iterable
from datetime import datetime, timedelta

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.series.limits_met import reaches
from weatherglass.model.findings import Measure
from weatherglass.model.numbers.quantities import plain, unit_words
from weatherglass.model.plain import Plain
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin
from weatherglass.model.tables.bands import Cutoff


class SignWhileGiven(Plain, frozen=True):
    """One sign, since when, and whether it asks by itself for more than a look."""

    key: str
    words: str
    at: datetime
    since: datetime
    origins: tuple[Origin, ...]
    is_urgent: bool = True


def sign_of(
    bedside: Bedside, signal: Signal, cutoff: Cutoff, counts_for: timedelta, *, with_unit: bool = False
) -> SignWhileGiven | None:
    """Return the newest exact value of a signal as a sign, where it still counts and meets the limit."""
    found = bedside.newest_beyond(signal, reaches(cutoff), counts_for)
    if found is None:
        return None
    unit = unit_words(cutoff.limit.unit) if with_unit else ""
    words = f"{signal.label} {plain(found.newest.value)} {unit}".rstrip()
    return SignWhileGiven(signal.value, words, found.newest.at, found.since, (found.newest.origin,))


def altered_mind(bedside: Bedside, counts_for: timedelta) -> SignWhileGiven | None:
    """Return an altered mind as a sign, where it was seen no longer ago than this."""
    mind = bedside.altered_mind_within(counts_for)
    if mind is None or mind.since is None:
        return None
    return SignWhileGiven("consciousness", mind.words, mind.at or mind.since, mind.since, mind.origins)


def sign_measures(signs: Iterable[SignWhileGiven]) -> tuple[Measure, ...]:
    """Spell the signs out."""
    return tuple(Measure(one.key, one.key.replace("-", " "), one.words, at=one.at) for one in signs)
