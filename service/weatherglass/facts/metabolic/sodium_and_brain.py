"""Does the brain show what a far-off sodium does to it: a seizure, coma, a falling coma scale, confusion?"""

from collections.abc import Callable
from datetime import datetime, timedelta

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.rounds.alertness import Alertness, AlteredMind, state_words
from weatherglass.facts.seizures import Seizure
from weatherglass.facts.series.runs import present_run
from weatherglass.knowledge.limits import critical_results as limits
from weatherglass.knowledge.signs import single_signs, trend_limits
from weatherglass.model.findings import Urgency
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import SODIUM_OF_EITHER, Consciousness
from weatherglass.model.sources import Origin, Source

#: Ours: how long before a sample a sign may have been seen for which that sample is the reason.
_BEFORE = timedelta(hours=4)


class BrainSign(Plain, frozen=True):
    """What the brain shows beside a sodium.

    Attributes:
        words: What goes behind the name of the result.
        at: Since when it has been seen without a break; a repeat moves nothing.
        is_severe: Whether it is a seizure or coma.
        severe_at: Since when that.
    """

    words: str
    at: datetime
    is_severe: bool
    origins: tuple[Origin, ...]
    severe_at: datetime | None = None


class ShownSodium(Plain, frozen=True):
    """A sodium that the brain shows: by which sign, how soon, and what says so."""

    sign: BrainSign
    urgency: Urgency
    source: Source


def shown_sodium(bedside: Bedside, sodium: Measurement) -> ShownSodium | None:
    """Return what the brain makes of a far-off sodium; None where it shows nothing."""
    sign = brain_sign(bedside, sodium)
    if sign is None or (not bedside.seizures and dulled_since_raised(bedside) is not None):
        return None  # Who was awake at a lower one is not dulled by this one.
    value = sodium.value
    if limits.SODIUM_VERY_LOW.is_met_by(value):
        return ShownSodium(sign, Urgency.EMERGENCY, limits.SODIUM_NOT_ALERT.source)
    if limits.SODIUM_VERY_HIGH.is_met_by(value):
        return ShownSodium(sign, Urgency.EMERGENCY, limits.SODIUM_VERY_HIGH.source)
    if not limits.SODIUM_PROFOUND.is_met_by(value):
        return None
    if sign.is_severe:
        severe = replace(sign, at=sign.severe_at or sign.at)
        return ShownSodium(severe, Urgency.EMERGENCY, limits.SODIUM_PROFOUND.source)
    if bedside.is_child:
        return ShownSodium(sign, Urgency.EMERGENCY, limits.SODIUM_OF_A_CHILD)
    return ShownSodium(sign, Urgency.URGENT, limits.SODIUM_MAY_DULL)


def dulled_since_raised(bedside: Bedside) -> AlteredMind | None:
    """Return the mind that altered after a low sodium had risen too fast, in who was awake at a lower one."""
    mind = bedside.altered_mind
    if mind is None or mind.since is None:
        return None
    for change in bedside.sodium_changes.values():
        lowest_at = change.before.at - _BEFORE
        if change.is_corrected and not change.is_on_course and change.since < mind.since:
            awake = (one for one in bedside.alertness if one.value is Consciousness.ALERT)
            if any(lowest_at <= one.one.end < mind.since for one in awake):
                return mind
    return None


def brain_sign(bedside: Bedside, sodium: Measurement) -> BrainSign | None:
    """Return what the brain shows; under sedation on purpose only a seizure."""
    fits = sorted(bedside.seizures, key=lambda one: (one.at, one.origin))
    if fits and not _is_answered(bedside, sodium, fits[-1]):
        words = f"with a seizure {bedside.clock.at(fits[-1].at)}"
        return BrainSign(words, fits[0].at, True, tuple(one.origin for one in fits))
    shown = bedside.alertness[-1] if bedside.alertness and not bedside.is_sedated else None
    if shown is None or not sodium.at - _BEFORE <= shown.one.end:
        return None
    if bedside.as_of - shown.one.end > bedside.choices.look_back:
        return None
    if not _is_dull(shown):
        return None
    words = f"which may be why the patient {state_words(shown.value)}"
    if shown.value is Consciousness.ALERT and shown.scale is not None:
        words = f"with a coma scale down {plain(shown.fall)} to {plain(shown.scale.value)}"
    severe = _is_coma(shown)
    return BrainSign(
        words,
        _since(bedside, _is_dull),
        severe,
        shown.origins,
        _since(bedside, _is_coma) if severe else None,
    )


def _is_answered(bedside: Bedside, sodium: Measurement, fit: Seizure) -> bool:
    """Tell whether the patient is awake again and a low sodium has risen since: more salt now only harms."""
    shown = bedside.alertness[-1] if bedside.alertness else None
    if shown is None or shown.began <= fit.at or _is_dull(shown):
        return False
    earliest = sodium.at - trend_limits.SODIUM_WINDOW.length
    lowest = min(
        one.value
        for signal in SODIUM_OF_EITHER
        for one in (*bedside.record.series(signal).within(earliest, sodium.at), sodium)
    )
    return limits.SODIUM_ANSWERED.is_met_by(sodium.value - lowest)


def _is_dull(one: Alertness) -> bool:
    fell = one.scale is not None and trend_limits.GCS_FALL.is_met_by(one.fall)
    return one.value is not Consciousness.ALERT or fell


def _is_coma(one: Alertness) -> bool:
    is_low = one.scale is not None and single_signs.COMA.is_met_by(one.scale.value)
    return is_low or one.value.is_deep


def _since(bedside: Bedside, shows: Callable[[Alertness], bool]) -> datetime:
    """Return when the present run of rounds that show something began."""
    shown = bedside.alertness
    run = present_run([one.began for one in shown], [shows(one) for one in shown])
    return run.since if run is not None else shown[-1].began
