"""What is over: a kidney injury or a high potassium that may have been why a medicine was held."""

from collections.abc import Iterator
from datetime import datetime

from weatherglass.assessments.telling.kidneys.kidney_words import cut, tenths
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.facts.series.limits_met import Met, meets
from weatherglass.knowledge.medicines.rules import timing
from weatherglass.knowledge.medicines.rules.rule import Trigger
from weatherglass.medicines.judging.situation import Situation
from weatherglass.medicines.triggers.met import limit_of, since_beyond, words_of
from weatherglass.model.findings import Measure, newest_at
from weatherglass.model.plain import Plain
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import POTASSIUM_OF_EITHER, Signal
from weatherglass.model.sources import Origin
from weatherglass.model.tables.bands import Cutoff


class Recovered(Plain, frozen=True):
    """A trigger that was met and no longer is.

    Attributes:
        began: When it was first met.
        over_since: The first value that showed that it had passed.
        said: What it was and what it is now.
    """

    trigger: Trigger
    began: datetime
    over_since: datetime
    said: str
    measures: tuple[Measure, ...]
    origins: tuple[Origin, ...]

    @property
    def at(self) -> datetime | None:
        """When its newest number was measured."""
        return newest_at(self.measures)


def recovered(bedside: Bedside, situation: Situation) -> tuple[Recovered, ...]:
    """Return what is over and is still worth remembering."""
    return tuple(
        one
        for one in (*_kidneys(bedside, situation), *_potassium(bedside, situation))
        if bedside.as_of - one.over_since <= timing.REMEMBERED_FOR.length
    )


def _kidneys(bedside: Bedside, situation: Situation) -> Iterator[Recovered]:
    episode = bedside.kidneys.episode
    if episode is None or episode.is_present or Trigger.AKI in situation.met:
        return
    if episode.disease_stage:
        return  # It lasts: that its newest result is old makes it no better.
    peak, newest = episode.peak, episode.newest
    clock = bedside.clock
    word = "is over" if episode.confirmed else "is recovering"
    reference = episode.reference
    yield Recovered(
        trigger=Trigger.AKI,
        began=episode.began,
        over_since=episode.recovering_since or newest.at,
        said=(
            f"acute kidney injury stage {episode.highest_stage} {word} (creatinine {tenths(peak.value)} "
            f"\u00b5mol/L {clock.at(peak.at)}, now {tenths(newest.value)}, {cut(episode.ratio)} times "
            f"{tenths(reference.value)})"
        ),
        measures=(
            measure_of(Signal.CREATININE, newest),
            measure_of(Signal.CREATININE, peak, key="highest-creatinine", label="highest creatinine"),
        ),
        origins=tuple(dict.fromkeys((*(r.origin for r in reference.results), peak.origin, newest.origin))),
    )


def _potassium(bedside: Bedside, situation: Situation) -> Iterator[Recovered]:
    if Trigger.HYPERKALAEMIA in situation.met:
        return
    for signal in POTASSIUM_OF_EITHER:
        items = bedside.record.series(signal).items
        limit = limit_of(bedside, signal, "high", "prompt")
        place = len(items) - 1
        while limit is not None and place >= 0 and meets(limit, items[place]) is not Met.YES:
            place -= 1
        if limit is not None and 0 <= place < len(items) - 1:
            yield _was_high(bedside, signal, items, place, limit)
            return


def _was_high(
    bedside: Bedside, signal: Signal, items: tuple[Measurement, ...], place: int, limit: Cutoff
) -> Recovered:
    """Describe the run of high values that ended at a place."""
    began = since_beyond(items[: place + 1], limit) or items[place].at
    highest = max((one for one in items[: place + 1] if one.at >= began), key=lambda one: (one.value, one.at))
    newest = items[-1]
    when = bedside.clock.at(highest.at)
    return Recovered(
        trigger=Trigger.HYPERKALAEMIA,
        began=began,
        over_since=items[place + 1].at,
        said=f"{words_of(signal, newest)} now, and {highest.value.normalize():f} {when}",
        measures=(measure_of(signal, newest), measure_of(signal, highest)),
        origins=(highest.origin, newest.origin),
    )
