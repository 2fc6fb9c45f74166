"""Has the patient become ill during a transfusion, or shortly after one?"""

from collections.abc import Iterator, Sequence
from datetime import datetime

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.blood.transfusion import Transfusion, transfusions
from weatherglass.facts.series.limits_met import beyond, exact, reaches
from weatherglass.knowledge.blood import transfusion as limits
from weatherglass.model.findings import TRANSFUSION_REACTION, Finding, Kind, Urgency
from weatherglass.model.numbers.quantities import as_sent
from weatherglass.model.plain import Plain
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.words.lists import capital, inside_a_sentence, listed


class _Sign(Plain, frozen=True):
    """One sign that is new since it began, in its newest reading."""

    signal: Signal
    words: str
    now: Measurement
    since: datetime


def assess_transfusion_reaction(bedside: Bedside) -> Iterator[Finding]:
    """Compare temperature, pressure and saturation with those before the newest transfusion."""
    given = _transfusion(bedside)
    if given is None:
        return
    signs = tuple(_signs(bedside, given))
    if not signs:
        return
    since = min(sign.since for sign in signs)
    said = listed([sign.words for sign in signs])
    name = inside_a_sentence(given.text)
    when = f"during {name}" if given.ended is None else f"after {name}"
    head = f"Reaction to a transfusion? {capital(said)} {when}"
    first = limits.STOP if given.ended is None else limits.CHECK
    yield tell(
        About(Kind.SINGLE_SIGN, TRANSFUSION_REACTION, Letter.CIRCULATION),
        Urgency.EMERGENCY if len(signs) > 1 else Urgency.URGENT,
        rests_on(bedside, since, given.origin, *((sign.signal, sign.now) for sign in signs)),
        brief=head,
        asks=f"{first.text}, and {_then(bedside, given, signs)}",
        at_once=capital(first.text),
        sources=(limits.FEVER, first, limits.COUNTS_FOR, limits.GRADED),
        decided_by="a new sign during a transfusion or shortly after it",
    )


def _then(bedside: Bedside, given: Transfusion, signs: Sequence[_Sign]) -> str:
    """Say what is looked for: overload first where the pressure has risen with the breathlessness."""
    pressure = bedside.record.series(Signal.SYSTOLIC_PRESSURE)
    before, now = pressure.last_by(given.began), pressure.last_by(bedside.as_of)
    is_short_of_breath = any(one.signal is Signal.SPO2 for one in signs)
    if before is None or now is None or not is_short_of_breath:
        return limits.THEN.text
    if not limits.PRESSURE_RISE.is_met_by(now.value - before.value):
        return limits.THEN.text
    return f"{limits.OVERLOAD.text} (systolic {as_sent(now.value)} from {as_sent(before.value)})"


def _transfusion(bedside: Bedside) -> Transfusion | None:
    """Return the newest transfusion that runs or has ended a short while ago."""
    begun = [one for one in transfusions(bedside.record) if one.began <= bedside.as_of]
    newest = max(begun, key=lambda one: (one.began, one.origin), default=None)
    if newest is None or bedside.as_of - newest.until > limits.COUNTS_FOR.length:
        return None
    return newest


_SIGNS: tuple[tuple[Signal, str, Cutoff, Cutoff, bool], ...] = (
    (Signal.TEMPERATURE, "temperature", limits.FEVER, limits.FEVER_RISE, True),
    (Signal.SYSTOLIC_PRESSURE, "systolic", limits.LOW_PRESSURE, limits.PRESSURE_FALL, False),
    (Signal.SPO2, "saturation", limits.HYPOXIA, limits.SATURATION_FALL, False),
)


def _signs(bedside: Bedside, given: Transfusion) -> Iterator[_Sign]:
    """Yield what is beyond its limit now and was not, by its least change, before it began."""
    for signal, name, limit, change, is_rise in _SIGNS:
        series = bedside.record.series(signal)
        before = series.last_by(given.began)
        if before is not None and given.began - before.at > limits.READINGS_BEFORE.length:
            before = None
        items = [one for one in exact(series.within(given.began, bedside.as_of)) if one is not before]
        found = beyond(items, reaches(limit), bedside.as_of, bedside.as_of - given.began)
        if found is None:
            continue
        newest = found.newest
        moved = (newest.value - before.value) * (1 if is_rise else -1) if before is not None else None
        if moved is not None and not change.is_met_by(moved):
            continue
        was = f" from {as_sent(before.value)}" if before is not None else ""
        yield _Sign(signal, f"{name} {as_sent(newest.value)}{was}", newest, found.since)
