"""How alert somebody was, round by round: what was said, the coma scale, and how far it has fallen.

Scores, the single signs and the drug chart all read it here, so that none of them takes an answer
or a coma scale for something else than the others do.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from enum import Enum
from typing import Final

from weatherglass.facts.rounds.consciousness import (
    ComaScale,
    answered_of,
    coma_scale_of,
    consciousness_of,
    unnamed_confusion,
)
from weatherglass.facts.rounds.timeline import ObservationSet, Resolved
from weatherglass.facts.series.windows import SlidingExtreme
from weatherglass.model.findings import Measure
from weatherglass.model.plain import Plain
from weatherglass.model.record.values import Remark
from weatherglass.model.signals import CodedSignal, Consciousness, Signal
from weatherglass.model.sources import Origin

_OBSERVED: tuple[Signal | CodedSignal, ...] = (
    CodedSignal.CONSCIOUSNESS,
    Signal.GCS_TOTAL,
    Signal.GCS_EYE,
)
_ALL = (*_OBSERVED, Signal.GCS_VERBAL, Signal.GCS_MOTOR)


class Alertness(Plain, frozen=True):
    """What one round shows of alertness.

    Attributes:
        answer: ACVPU, from the answers and the coma scale.
        said: ACVPU as it was answered in words, None without such an answer.
        top: The highest coma scale of the time before.
    """

    one: ObservationSet
    answer: Resolved
    said: Resolved | None
    scale: ComaScale | None
    top: ComaScale | None

    @property
    def value(self) -> Consciousness:
        """ACVPU."""
        value = self.answer.value
        return value if isinstance(value, Consciousness) else Consciousness.ALERT

    @property
    def began(self) -> datetime:
        """When the first of it was observed: what else the round holds makes it no later."""
        observed = self.one.observed
        return min((observed[name].at for name in _ALL if name in observed), default=self.one.end)

    @property
    def fall(self) -> Decimal:
        """How far the coma scale is below its highest of the time before."""
        if self.scale is None or self.top is None:
            return Decimal(0)
        return max(self.top.value - self.scale.value, Decimal(0))

    @property
    def is_provisional(self) -> bool:
        """Whether something of it is not final yet."""
        observed = self.one.observed
        return any(Remark.PROVISIONAL in observed[name].remarks for name in _ALL if name in observed)

    @property
    def origins(self) -> tuple[Origin, ...]:
        """What the answer and the scale rest on."""
        scaled = self.scale.origins if self.scale is not None else ()
        return tuple(dict.fromkeys((*self.answer.origins, *scaled)))


class AlteredMind(Plain, frozen=True):
    """How the mind is altered now; `is_deep` where nothing but pain, or nothing at all, rouses."""

    words: str
    since: datetime | None
    is_deep: bool
    origins: tuple[Origin, ...]
    at: datetime | None = None

    @property
    def measure(self) -> Measure:
        """It, as it is spelt out."""
        origin = next(iter(self.origins), None)
        return Measure("consciousness", "consciousness", self.words, at=self.since, origin=origin)


#: A mind that is not alert, as a sign beside others.
MINDS: Final[Mapping[Enum, str]] = {
    Consciousness.NEW_CONFUSION: "new confusion",
    Consciousness.VOICE: "response to voice only",
    Consciousness.PAIN: "response to pain only",
    Consciousness.UNRESPONSIVE: "no response",
}
_STATES = {
    Consciousness.NEW_CONFUSION: "has new confusion",
    Consciousness.VOICE: "responds only to voice",
    Consciousness.PAIN: "responds only to pain",
    Consciousness.UNRESPONSIVE: "is unresponsive",
}


def state_words(answer: Consciousness | None) -> str:
    """Say how somebody is who is less than alert, to stand behind 'the patient'."""
    return _STATES.get(answer or Consciousness.ALERT, "is less awake")


def altered_mind(course: Sequence[Alertness], since: datetime | None) -> AlteredMind | None:
    """Return how the mind is altered in the newest round.

    Args:
        course: Every round in which alertness was observed, oldest first.
        since: Since when every round has shown less than alert; None where the newest one does not.
    """
    if since is None:
        return None
    newest = course[-1]
    words = unnamed_confusion(newest.value, newest.said, newest.scale) or MINDS[newest.value]
    return AlteredMind(words, since, newest.value.is_deep, newest.origins, newest.one.end)


def alertness(
    rounds: Sequence[ObservationSet],
    *,
    confusion_is_usual: bool,
    before: timedelta,
    tube_since: datetime | None = None,
) -> Iterator[Alertness]:
    """Yield every round in which alertness was observed, oldest first.

    Args:
        rounds: The rounds of observations, oldest first.
        confusion_is_usual: Whether long-standing confusion is recorded.
        before: How far back the highest coma scale is looked for.
        tube_since: Since when a tube takes the speech away: what was scored before is no measure.
    """
    highest = SlidingExtreme(before, highest=True)
    scales: list[ComaScale] = []
    for one in rounds:
        if not any(name in one.observed for name in _OBSERVED):
            continue
        if tube_since is not None and one.end >= tube_since:
            highest, scales, tube_since = SlidingExtreme(before, highest=True), [], None
        scale, top = coma_scale_of(one), None
        if scale is not None:
            place = highest.before(scale.measured.at)
            top = scales[place] if place is not None else None
            highest.add(scale.measured.at, scale.value, len(scales))
            scales.append(scale)
        answer = consciousness_of(one, confusion_is_usual=confusion_is_usual)
        if answer is not None:
            said = answered_of(one, confusion_is_usual=confusion_is_usual)
            yield Alertness(one, answer, said, scale, top)
