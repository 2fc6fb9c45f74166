"""Has the brain of a child with ketoacidosis begun to swell since it began: cerebral oedema?

Who was drowsy from the first is ill with the acidosis as a rule, and has a caution there; who was awake
and no longer is, is treated before anything is scanned. Before that come a headache, a coma scale that
falls by a point, a pulse that is slow and a pressure that is high for the age: a child short of fluid has
neither.
"""

from collections.abc import Callable, Iterator, Sequence
from datetime import datetime
from decimal import Decimal
from functools import partial

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.rounds.alertness import AlteredMind
from weatherglass.facts.rounds.child_cells import pressure_above, pulse_below
from weatherglass.facts.series.runs import first_of_run
from weatherglass.knowledge.limits.context_choices import VITAL_SIGNS_COUNT_FOR
from weatherglass.knowledge.metabolic import metabolic as criteria
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.plain import Plain
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import Origin
from weatherglass.model.words.lists import capital, inside_a_sentence, listed
from weatherglass.model.words.value_words import named_value

_ABOUT = About(Kind.METABOLIC, "cerebral-oedema", Letter.DISABILITY)
_AT_ONCE = "Hypertonic saline or mannitol to the bedside, head up, glucose now"


class _Sign(Plain, frozen=True):
    """One of the four, since when, and whether it asks by itself."""

    words: str
    since: datetime
    origin: Origin
    calls: bool


def assess_cerebral_oedema(bedside: Bedside) -> Iterator[Finding]:
    """Ask for it in a child who changed after the criteria of ketoacidosis were met."""
    began = bedside.ketoacidosis.met_since if bedside.is_child else None
    if began is None or bedside.as_of - began > criteria.TREATED_FOR.length:
        return
    mind = bedside.altered_mind
    if mind is not None and mind.since is not None and mind.since > began:
        yield _of_the_mind(bedside, began, mind, mind.since)
        return
    signs = sorted(_signs(bedside, began), key=lambda one: one.since)
    if len(signs) > 1 or any(one.calls for one in signs):
        yield _of_signs(bedside, began, signs)


def _of_the_mind(bedside: Bedside, began: datetime, mind: AlteredMind, since: datetime) -> Finding:
    head = f"Cerebral oedema? {capital(mind.words)} in a child with ketoacidosis"
    return tell(
        _ABOUT,
        Urgency.EMERGENCY,
        rests_on(bedside, since, *mind.origins, at=since),
        brief=head,
        sentence=f"{head} of {bedside.clock.full(began)}: {criteria.OEDEMA_ASKS.text}.",
        measures=(mind.measure,),
        at_once=_AT_ONCE,
        sources=(criteria.OEDEMA_ASKS, criteria.CHILD_NOT_AWAKE),
        decided_by="alertness that is lost during ketoacidosis in a child",
    )


def _of_signs(bedside: Bedside, began: datetime, signs: Sequence[_Sign]) -> Finding:
    """Tell signs in the order in which they came; the second makes it an emergency."""
    several = len(signs) > 1
    head = f"Cerebral oedema? {capital(listed([one.words for one in signs]))} in a child with ketoacidosis"
    return tell(
        _ABOUT,
        Urgency.EMERGENCY if several else Urgency.URGENT,
        rests_on(
            bedside,
            signs[0].since,
            *(one.origin for one in signs),
            at=signs[-1].since,
            asked_since=signs[1].since if several else None,
        ),
        brief=head,
        sentence=f"{head} of {bedside.clock.full(began)}: {criteria.OEDEMA_SIGNS.text}.",
        at_once=_AT_ONCE if several else "",
        sources=(criteria.OEDEMA_SIGNS, criteria.OEDEMA_SIGNS_CALL),
        decided_by="signs of cerebral oedema during ketoacidosis in a child",
    )


def _signs(bedside: Bedside, began: datetime) -> Iterator[_Sign]:
    """Yield what has begun since the ketoacidosis did."""
    kinds = (ConditionKind.HEADACHE, ConditionKind.SEVERE_HEADACHE)
    for one in bedside.record.told_of(*kinds)[:1]:
        if one.at is not None and one.at > began:
            yield _Sign(inside_a_sentence(one.text), one.at, one.origin, calls=True)
    yield from _of_the_coma_scale(bedside, began)
    months = bedside.age_in_months or 0
    for signal, cell in ((Signal.PULSE, pulse_below), (Signal.SYSTOLIC_PRESSURE, pressure_above)):
        values = bedside.exact(signal, VITAL_SIGNS_COUNT_FOR.length)
        first = first_of_run(values, partial(_is_beyond, cell, months))
        if first is not None and first.at > began:
            yield _Sign(named_value(signal, values[-1]), first.at, values[-1].origin, calls=False)


def _is_beyond(cell: Callable[[Decimal, int], Decimal], months: int, one: Measurement) -> bool:
    return cell(one.value, months) > 0


def _of_the_coma_scale(bedside: Bedside, began: datetime) -> Iterator[_Sign]:
    totals: Sequence[Measurement] = bedside.exact(Signal.GCS_TOTAL, VITAL_SIGNS_COUNT_FOR.length)
    highest = max((one.value for one in totals), default=None)
    first = first_of_run(totals, lambda one: highest is not None and one.value < highest)
    if first is not None and highest is not None and first.at > began:
        words = f"coma scale {plain(totals[-1].value)} from {plain(highest)}"
        yield _Sign(words, first.at, totals[-1].origin, calls=True)
