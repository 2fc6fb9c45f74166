"""Investigations worth having against the record: missing, to repeat and by when, or done.

What they came to stands among the results.
What the record cannot show, an ECG or an image, is worth having until somebody looks: only results
are read here.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from weatherglass.facts.bedside import Bedside
from weatherglass.knowledge.investigations import (
    DONE_BEFORE,
    DONE_FOR,
    INVESTIGATIONS,
    TREATED_WITHIN,
    Investigation,
)
from weatherglass.model.findings import Finding, State, Urgency
from weatherglass.model.plain import Plain
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal


class WorthHaving(Plain, frozen=True):
    """What is worth having now or by a time, and what of it was done already, each in a few words."""

    wanted: tuple[str, ...] = ()
    done: tuple[str, ...] = ()


class _Asked(Plain, frozen=True):
    """One investigation and since when the newest of its reasons has asked for it."""

    one: Investigation
    since: datetime


#: Named so where it is asked for at the bedside.
_AT_BEDSIDE = {"capillary glucose": "glucose"}


def worth_having(bedside: Bedside, findings: Sequence[Finding], at_bedside: str = "") -> WorthHaving:
    """Compare what the findings ask for with what the record holds.

    What is to be done at the bedside until somebody comes is not asked for once more.
    """
    asked_there = at_bedside.casefold()
    wanted: list[str] = []
    done: list[str] = []
    for name, asked in _by_name(bedside, findings).items():
        sample = _sample(bedside, asked)
        if sample is None:
            if _AT_BEDSIDE.get(name, name.casefold()) in asked_there:
                continue
            wanted.append(f"{name}{_last(bedside, asked)}")
            continue
        due = _due(bedside, asked, sample)
        if due is None:
            done.append(f"{name} ({bedside.clock.spoken(_taken(sample))})")
        else:
            wanted.append(f"{name} {_again(bedside, due)}")
    return WorthHaving(tuple(wanted), tuple(done))


def _again(bedside: Bedside, due: datetime) -> str:
    when = bedside.clock.spoken(due)
    return f"again now (due {when})" if due < bedside.as_of else f"again by {when}"


def _by_name(bedside: Bedside, findings: Sequence[Finding]) -> dict[str, list[_Asked]]:
    pressing = [f for f in findings if f.urgency >= Urgency.PROMPT and f.state is not State.SETTLING]
    kinds = frozenset(f.kind for f in pressing)
    found: dict[str, list[_Asked]] = {}
    for one in INVESTIGATIONS:
        if one.kinds.isdisjoint(kinds) or _waits(bedside, one, pressing):
            continue
        reasons = [f for f in pressing if one.is_worth_having_for(f)]
        if reasons:
            since = max(f.asked_since or f.since or f.at or bedside.as_of for f in reasons)
            found.setdefault(_name(bedside, one), []).append(_Asked(one, since))
    return found


def _waits(bedside: Bedside, one: Investigation, pressing: Sequence[Finding]) -> bool:
    """Tell whether something else comes first, or it is not for a child."""
    if one.whose == "adults" and bedside.is_child:
        return True
    return any(f.key.startswith(one.waits_for) for f in pressing)


def _name(bedside: Bedside, one: Investigation) -> str:
    doses = bedside.antibacterial_doses if bedside.infection is not None else ()
    treated = bool(doses) and bedside.as_of - doses[-1].at <= TREATED_WITHIN.length
    return one.once_treated if treated and one.once_treated else one.name


#: The newest result of each group, oldest sample first.
_Sample = tuple[tuple[Signal, Measurement], ...]


def _newest(bedside: Bedside, one: Investigation) -> _Sample | None:
    """Return the newest result of every group, None where a group has none."""
    found = []
    for group in one.results:
        of_group = [(s, r) for s in group if (r := bedside.record.series(s).last_by(bedside.as_of))]
        if not of_group:
            return None
        found.append(max(of_group, key=lambda pair: pair[1].at))
    return tuple(found) or None


def _sample(bedside: Bedside, asked: Sequence[_Asked]) -> _Sample | None:
    """Return what shows that it was done for its newest reason and within the day."""
    newest = _newest(bedside, asked[0].one)
    if newest is None:
        return None
    taken = _taken(newest)
    since = max(each.since for each in asked)
    is_for_it = taken >= since - DONE_BEFORE.length
    return newest if is_for_it and bedside.as_of - taken <= _longest(asked) else None


def _taken(sample: _Sample) -> datetime:
    return min(one.at for _, one in sample)


def _longest(asked: Sequence[_Asked]) -> timedelta:
    return max(DONE_FOR.length, *(each.one.again_after or DONE_FOR.length for each in asked))


def _due(bedside: Bedside, asked: Sequence[_Asked], sample: _Sample) -> datetime | None:
    """Return by when it is worth having again, None where it is not."""
    again = [each.one.again_after for each in asked if each.one.again_after and not _is_enough(bedside, each)]
    return _taken(sample) + min(again) if again else None


def _is_enough(bedside: Bedside, asked: _Asked) -> bool:
    if asked.one.times is None:
        return False
    start = asked.since - DONE_BEFORE.length
    signals = (signal for group in asked.one.results for signal in group)
    return sum(len(bedside.record.series(s).within(start, bedside.as_of)) for s in signals) >= asked.one.times


def _last(bedside: Bedside, asked: Sequence[_Asked]) -> str:
    """Name the last one, where there is one of the last week that is older than the reason."""
    newest = _newest(bedside, asked[0].one)
    counts_for = bedside.choices.laboratory_counts_for
    if newest is None or bedside.as_of - _taken(newest) > counts_for:
        return ""
    return f" (last {bedside.clock.spoken(_taken(newest))})"


def in_words(found: WorthHaving) -> Iterator[str]:
    """Say what is worth having, and what was done."""
    if found.wanted:
        yield f"Worth having now: {', '.join(found.wanted)}."
    if found.done:
        yield f"Done already: {', '.join(found.done)}."
