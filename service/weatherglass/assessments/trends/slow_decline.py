"""Is this patient getting worse slowly, several signs together, before any of them scores?

Own normal follows signs that move over days, and no sign of its own may cost a point: what tells is
that more than one goes the harmful way, and far.
"""

from collections.abc import Iterator

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.facts.series.slow_decline import Declined
from weatherglass.knowledge.signs import slow_decline as limits
from weatherglass.model.findings import SLOW_DECLINE, Finding, Kind, Measure
from weatherglass.model.numbers.quantities import as_sent
from weatherglass.model.numbers.statistics import MANN_KENDALL_SOURCE
from weatherglass.model.signals import Letter
from weatherglass.model.sources import Cited
from weatherglass.model.words.clock_words import lasting


def assess_slow_decline(bedside: Bedside) -> Iterator[Finding]:
    """Say which signs have declined together over days."""
    found = bedside.slow_decline
    if found is None or bedside.as_of - found.signs[0].last.at > bedside.choices.look_back:
        return
    longest = max(one.last.at - one.first.at for one in found.signs)
    said = ", ".join(_course(one) for one in found.signs)
    yield tell(
        About(Kind.VITAL_SIGN_TREND, SLOW_DECLINE, Letter.OVERALL),
        bedside.steady_urgency,
        rests_on(bedside, found.since, *(one for each in found.signs for one in (each.first, each.last))),
        brief=f"Getting worse slowly over {lasting(longest)}: {said}",
        sentence=f"Getting worse slowly over {lasting(longest)}: {said}. Look for a cause.",
        measures=_measures(found.signs),
        sources=_sources(found.signs),
        decided_by="two or more vital signs that decline over a day or more",
    )


def _course(one: Declined) -> str:
    return f"{one.sign.label} {as_sent(one.first.value)} to {as_sent(one.last.value)}"


def _measures(signs: tuple[Declined, ...]) -> Iterator[Measure]:
    for one in signs:
        yield measure_of(one.sign.signal, one.last)
        yield measure_of(
            one.sign.signal,
            one.first,
            key=f"{one.sign.signal.value}-from",
            label=f"{one.sign.label} at the beginning",
        )


def _sources(signs: tuple[Declined, ...]) -> Iterator[Cited]:
    yield MANN_KENDALL_SOURCE
    yield limits.TOGETHER
    yield from dict.fromkeys(one.sign for one in signs)
    yield limits.PROMPT
