"""Does the brain show what a far-off sodium does to it: a seizure, coma, a falling coma scale, confusion?"""

from datetime import datetime, timedelta
from typing import NamedTuple

from weatherglass.facts.bedside import Bedside
from weatherglass.knowledge.limits import critical_results as limits
from weatherglass.knowledge.limits import single_signs, trend_limits
from weatherglass.model.quantities import plain
from weatherglass.model.record import Measurement
from weatherglass.model.signals import Consciousness
from weatherglass.model.sources import Origin, Source

#: Ours: how long before a sample a sign may have been seen for which that sample is the reason.
_BEFORE = timedelta(hours=4)
_COMA = frozenset({Consciousness.PAIN, Consciousness.UNRESPONSIVE})
_STATES = {
    Consciousness.NEW_CONFUSION: "has new confusion",
    Consciousness.VOICE: "responds only to voice",
    Consciousness.PAIN: "responds only to pain",
    Consciousness.UNRESPONSIVE: "is unresponsive",
}


class BrainSign(NamedTuple):
    """What the brain shows beside a sodium.

    Attributes:
        words: What goes behind the name of the result.
        at: When it was seen.
        is_severe: Whether it is a seizure or coma.
    """

    words: str
    at: datetime
    is_severe: bool
    origins: tuple[Origin, ...]


def emergency_of_sodium(bedside: Bedside, sodium: Measurement) -> tuple[BrainSign, Source] | None:
    """Return the sign that makes a sodium an emergency, with what says so; None where none does."""
    sign = brain_sign(bedside, sodium)
    if sign is None:
        return None
    value = sodium.value
    if limits.SODIUM_PROFOUND.is_met_by(value) and sign.is_severe:
        return sign, limits.SODIUM_PROFOUND.source
    if limits.SODIUM_VERY_LOW.is_met_by(value):
        return sign, limits.SODIUM_NOT_ALERT.source
    if limits.SODIUM_VERY_HIGH.is_met_by(value):
        return sign, limits.SODIUM_VERY_HIGH.source
    return None


def brain_sign(bedside: Bedside, sodium: Measurement) -> BrainSign | None:
    """Return what the brain shows; under sedation on purpose only a seizure."""
    fits = sorted(bedside.seizures, key=lambda one: (one.at, one.origin))
    if fits:
        words = f"with a seizure {bedside.clock.at(fits[-1].at)}"
        return BrainSign(words, fits[0].at, True, tuple(one.origin for one in fits))
    shown = bedside.alertness[-1] if bedside.alertness and not bedside.is_sedated else None
    if shown is None or not sodium.at - _BEFORE <= shown.one.end:
        return None
    if bedside.as_of - shown.one.end > bedside.choices.look_back:
        return None
    scale = shown.scale
    is_coma = scale is not None and single_signs.COMA.is_met_by(scale.value)
    if shown.value is not Consciousness.ALERT:
        words = f"which may be why the patient {_STATES.get(shown.value, 'is less awake')}"
        return BrainSign(words, shown.one.end, is_coma or shown.value in _COMA, shown.origins)
    if scale is not None and trend_limits.GCS_FALL.is_met_by(shown.fall):
        words = f"with a coma scale down {plain(shown.fall)} to {plain(scale.value)}"
        return BrainSign(words, shown.one.end, is_coma, shown.origins)
    return None
