"""Has the head been hit, is the coma scale falling, and does an anticoagulant make either worse?

One finding: the injury, the coma scale, what thins the blood and its INR are one question. A
falling coma scale on an anticoagulant asks it without an injury too.
"""

from collections.abc import Iterator
from datetime import datetime

from weatherglass.assessments.telling.basis import About, Input, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.doses import is_preventive
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.facts.series.runs import present_run
from weatherglass.facts.series.windows import SlidingExtreme
from weatherglass.knowledge.brain import head_injury as nice
from weatherglass.knowledge.limits import context_choices as ours
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.signs import trend_limits
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.findings import Finding, Kind, Measure, Urgency
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.plain import Plain
from weatherglass.model.record.medicines import Administration, MatchMethod, MedicineOrder
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import Origin, Source
from weatherglass.model.words.lists import capital

_WORDS = word_patterns("asked-patterns.toml")
_HEAD = _WORDS["head"]
_FALL = _WORDS["fall"]
_VOMITS = _WORDS["vomits"]
_DENIED = _WORDS["denied-vomiting"]


class _Injury(Plain, frozen=True):
    """What happened, as it is written; `is_head` is False for a fall alone."""

    text: str
    at: datetime | None
    origin: Origin
    is_head: bool


class _Coma(Plain, frozen=True):
    """The newest coma scale of a day, what it fell from, and since when it is as low or falling."""

    newest: Measurement
    before: Measurement | None
    low_since: datetime
    fell_since: datetime


class _Dull(Plain, frozen=True):
    """Less than full consciousness, in words: by the coma scale or by what was answered."""

    words: str
    since: datetime
    at: datetime
    at_once: bool
    seen: Input


#: An order on the chart, or a dose of thrombolysis that was given.
_Thins = MedicineOrder | Administration


def assess_head_injury(bedside: Bedside) -> Iterator[Finding]:
    """Bring injury, coma scale and anticoagulants together."""
    injury = _injury(bedside)
    coma = _coma(bedside)
    thins = _thins(bedside, injury, coma)
    falls = coma is not None and coma.before is not None
    if injury is None and not (falls and thins):
        return
    low = None if coma is not None and _is_as_usual(bedside, coma) else coma
    dull = _dull(bedside, low) if injury is not None else None
    urgency, since, sources = _urgency(bedside, injury, low, dull, thins)
    if urgency is None or since is None:
        return
    inr = bedside.inr_now
    head = _head(injury, coma, dull, thins, inr)
    yield tell(
        About(Kind.HEAD_INJURY, "head-injury", Letter.DISABILITY),
        urgency,
        rests_on(
            bedside,
            since,
            *_inputs(injury, coma, dull, thins, inr),
            at=coma.newest.at if coma is not None else (injury.at if injury is not None else None) or since,
        ),
        brief=_brief(injury, head),
        sentence=f"{head}: {_asks(bedside, injury, urgency, thins)}.",
        measures=_measures(coma, thins, inr),
        sources=sources,
        cautions=(nice.OTHER_REASONS.text,) if injury is not None and injury.is_head else (),
        decided_by=_rule(injury, low, dull, thins),
    )


# What happened


def _injury(bedside: Bedside) -> _Injury | None:
    """Return the newest injury of the head, else the newest fall; a head injury without a date counts."""
    found = [
        _Injury(one.text, one.began, one.origin, ConditionKind.HEAD_INJURY in one.kinds)
        for one in bedside.record.conditions_of(ConditionKind.HEAD_INJURY, ConditionKind.FALL)
    ]
    for stay in bedside.record.stays:
        words = stay.reason.casefold()
        if stay.ends is not None and stay.ends < bedside.as_of:
            continue
        if _HEAD.search(words) or _FALL.search(words):
            found.append(_Injury(stay.reason, stay.starts, stay.origin, bool(_HEAD.search(words))))
    recent = [one for one in found if _is_recent(bedside, one)]
    recent.sort(key=lambda one: (one.is_head, one.at is not None, one.at or bedside.as_of, one.origin))
    return recent[-1] if recent else None


def _is_recent(bedside: Bedside, injury: _Injury) -> bool:
    if injury.at is None:
        return injury.is_head
    return bedside.as_of - injury.at <= nice.INJURY_COUNTS_FOR.length


def _coma(bedside: Bedside) -> _Coma | None:
    items = bedside.exact(Signal.GCS_TOTAL, bedside.choices.look_back)
    if not items:
        return None
    highest = SlidingExtreme(trend_limits.GCS_WINDOW.length, highest=True)
    befores: list[Measurement | None] = []
    for place, one in enumerate(items):
        top = highest.before(one.at)
        before = items[top] if top is not None else None
        is_fall = before is not None and trend_limits.GCS_FALL.is_met_by(before.value - one.value)
        befores.append(before if is_fall else None)
        highest.add(one.at, one.value, place)
    times = [one.at for one in items]
    low = present_run(times, [nice.COMA_LATER.is_met_by(one.value) for one in items])
    fell = present_run(times, [before is not None for before in befores])
    newest = items[-1]
    return _Coma(
        newest,
        befores[-1],
        low.since if low is not None else newest.at,
        fell.since if fell is not None else newest.at,
    )


def _dull(bedside: Bedside, coma: _Coma | None) -> _Dull | None:
    """Return consciousness that is less than full, by the coma scale, else by what was answered."""
    if coma is not None and nice.COMA_LATER.is_met_by(coma.newest.value):
        at_once = nice.COMA_AT_ONCE.is_met_by(coma.newest.value)
        return _Dull(
            f"coma scale {plain(coma.newest.value)}", coma.low_since, coma.newest.at, at_once, coma.newest
        )
    mind = bedside.altered_mind
    if mind is None or mind.since is None:
        return None
    return _Dull(mind.words, mind.since, mind.at or mind.since, mind.is_deep, mind)


def _is_as_usual(bedside: Bedside, coma: _Coma) -> bool:
    """Tell whether a coma scale just short of 15 is that of long-standing confusion, and was never better."""
    of_a_day = bedside.exact(Signal.GCS_TOTAL, bedside.choices.look_back)
    was_better = any(one.value > coma.newest.value for one in of_a_day)
    return bedside.confusion_is_usual and nice.AS_CONFUSED.is_met_by(coma.newest.value) and not was_better


def _thins(bedside: Bedside, injury: _Injury | None, coma: _Coma | None) -> tuple[_Thins, ...]:
    """Return anticoagulants and thrombolysis, and antiplatelets other than aspirin alone."""
    falls = coma is not None and coma.before is not None
    # What prevents clots in hospital since a fall was not there when the head may have been hit.
    since = _prevents_since(bedside, injury) if not falls else frozenset()
    charted = [order for order in bedside.on_chart(ours.ANTICOAGULANTS) if order.origin not in since]
    strong: tuple[_Thins, ...] = (*_thrombolysis(bedside), *charted)
    # NICE leaves aspirin alone out.
    if strong or falls:
        return strong
    platelets = bedside.on_chart(ours.ANTIPLATELETS)
    is_more = any(MedicineClass.ASPIRIN not in one.medicine.classes for one in platelets)
    return platelets if is_more else ()


def _prevents_since(bedside: Bedside, injury: _Injury | None) -> frozenset[Origin]:
    """Return the orders that only prevent clots, and were begun after a fall without a blow to the head."""
    at = injury.at if injury is not None and not injury.is_head else None
    if at is None:
        return frozenset()
    return frozenset(
        line.order
        for line in bedside.drug_chart.lines
        if line.since is not None and line.since > at and is_preventive(bedside.named(line))
    )


def _thrombolysis(bedside: Bedside) -> tuple[Administration, ...]:
    """Return the newest dose of each medicine that dissolves clots, of the last day."""
    doses = {
        dose.medicine.text: dose
        for dose in bedside.record.administrations
        if MedicineClass.THROMBOLYTIC in dose.medicine.classes
        and bedside.as_of - dose.until <= nice.THROMBOLYSIS_COUNTS_FOR.length
    }
    return tuple(doses.values())


# How urgent


def _urgency(
    bedside: Bedside,
    injury: _Injury | None,
    coma: _Coma | None,
    dull: _Dull | None,
    thins: tuple[_Thins, ...],
) -> tuple[Urgency | None, datetime | None, tuple[Source, ...]]:
    """Return how soon, since when that holds, and what says so."""
    if coma is not None and thins and coma.before is not None:
        return Urgency.EMERGENCY, coma.fell_since, (nice.FALLING_COMA.source, trend_limits.GCS_FALL.source)
    if injury is None:
        return None, None, ()
    began = injury.at or bedside.admitted_at or bedside.as_of
    if dull is not None:
        since = max(dull.since, injury.at or dull.since)
        sources = (nice.COMA_AT_ONCE.source, *((nice.ANTICOAGULANT.source,) if thins else ()))
        if injury.is_head and (dull.at_once or thins):
            return Urgency.EMERGENCY, since, sources
        if thins:  # Nobody has said that the head was hit, nor that it was not.
            return Urgency.URGENT, since, (nice.FALL_AND_DULL.source, *sources[1:])
        if injury.is_head and (injury.at is None or dull.at - injury.at >= nice.TWO_HOURS.length):
            return Urgency.URGENT, since, (nice.COMA_LATER.source,)
    if injury.is_head and _has_vomited(injury):
        return Urgency.URGENT, began, (nice.OTHER_REASONS.source,)
    if thins:
        return Urgency.PROMPT, began, (nice.ANTICOAGULANT.source,)
    return None, None, ()


def _has_vomited(injury: _Injury) -> bool:
    """Tell whether the words of the injury say more than one vomit."""
    words = injury.text.casefold()
    return bool(_VOMITS.search(words)) and not _DENIED.search(words)


def _rule(injury: _Injury | None, coma: _Coma | None, dull: _Dull | None, thins: tuple[_Thins, ...]) -> str:
    parts = []
    if injury is not None:
        parts.append("a head injury" if injury.is_head else "a fall")
    if coma is not None and coma.before is not None:
        parts.append("a coma scale that falls by 2 or more")
    elif dull is not None:
        parts.append("less than full consciousness")
    elif injury is not None and injury.is_head and _has_vomited(injury):
        parts.append("more than one vomit")
    if thins:
        parts.append("a medicine against clotting")
    return " with ".join(parts)


# In words


def _head(
    injury: _Injury | None,
    coma: _Coma | None,
    dull: _Dull | None,
    thins: tuple[_Thins, ...],
    inr: Measurement | None,
) -> str:
    parts = [injury.text.rstrip(".")] if injury is not None else []
    if coma is not None and coma.before is not None:
        fall = coma.before.value - coma.newest.value
        parts.append(
            f"coma scale {plain(coma.newest.value)}, down {plain(fall)} from {plain(coma.before.value)}"
        )
    elif dull is not None:
        parts.append(dull.words)
    elif coma is not None and injury is not None:
        parts.append(f"coma scale {plain(coma.newest.value)}")
    if thins:
        shown = f" (INR {plain(inr.value)})" if inr is not None else ""
        given = [one.medicine.text for one in thins if isinstance(one, Administration)]
        on = dict.fromkeys(_named(one) for one in thins if one.medicine.text not in given)
        if given:
            parts.append(f"after {', '.join(given)}{'' if on else shown}")
        if on:
            parts.append(f"on {', '.join(on)}{shown}")
    return capital(", ".join(parts))


def _named(one: _Thins) -> str:
    is_known = one.medicine.method is not MatchMethod.NONE
    return one.medicine.text if is_known else f"{one.medicine.text} (find out which)"


def _brief(injury: _Injury | None, head: str) -> str:
    """Return the few words; where no injury is the reason, what is feared."""
    return head if injury is not None else f"Bleeding into the head? {head}"


def _asks(bedside: Bedside, injury: _Injury | None, urgency: Urgency, thins: tuple[_Thins, ...]) -> str:
    reversal = ", reversal to be discussed" if thins else ""
    if any(isinstance(one, Administration) for one in thins):
        reversal += "; stop the thrombolysis if it still runs"
    if injury is None:
        return f"bleeding inside the skull has to be excluded: CT of the head and glucose now{reversal}"
    if urgency >= Urgency.URGENT:
        if not injury.is_head:
            reversal = f" and before the next dose{reversal}"
        unless = "" if injury.is_head else "unless the head was surely not hit, "
        return f"{unless}CT of the head within 1 hour{reversal}; glucose and pupils now"
    is_over = injury.at is not None and bedside.as_of - injury.at > nice.EIGHT_HOURS.length
    when = "is to be considered now" if is_over else "within 8 hours of it is to be considered"
    return f"CT of the head {when}" if injury.is_head else f"was the head hit? If so, CT {when}"


# The inputs


def _measures(coma: _Coma | None, thins: tuple[_Thins, ...], inr: Measurement | None) -> Iterator[Measure]:
    if coma is not None:
        yield measure_of(Signal.GCS_TOTAL, coma.newest)
        if coma.before is not None:
            yield measure_of(
                Signal.GCS_TOTAL, coma.before, key="from", label="highest coma scale of 24 hours"
            )
    if inr is not None and thins:
        yield measure_of(Signal.INR, inr)
    for order in thins:
        yield Measure("antithrombotic", "on the chart", order.medicine.text, origin=order.origin)


def _inputs(
    injury: _Injury | None,
    coma: _Coma | None,
    dull: _Dull | None,
    thins: tuple[_Thins, ...],
    inr: Measurement | None,
) -> Iterator[Input]:
    yield injury.origin if injury is not None else None
    yield from (coma.before, coma.newest) if coma is not None else ()
    yield dull.seen if dull is not None else None
    yield inr if thins else None
    yield from (order.origin for order in thins)
