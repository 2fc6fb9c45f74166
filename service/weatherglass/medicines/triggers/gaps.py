"""Doses that were missed for so long that a medicine must not go on at its old dose."""

from collections.abc import Sequence
from datetime import timedelta
from typing import Final

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.doses import single_in
from weatherglass.facts.medicines.drug_chart import Line, Standing
from weatherglass.knowledge.medicines.rules import timing
from weatherglass.knowledge.medicines.rules.rule import Trigger
from weatherglass.medicines.triggers.met import MetTrigger, met_by_words
from weatherglass.model.plain import Plain
from weatherglass.model.record.medicines import Administration
from weatherglass.model.record.problems import Recorded
from weatherglass.model.words.clauses import Window

_DAY: Final = timedelta(days=1)


class _Gap(Plain, frozen=True):
    """What must not go on at its old dose after a gap, and how long a gap that is."""

    trigger: Trigger
    ingredient: str
    window: Window


#: What is in use, and what would be once it is signed, or goes back on.
_GIVEN_NEXT: Final = frozenset({Standing.IN_USE, Standing.DRAFT, Standing.ON_HOLD})


GAPS: Final = (
    _Gap(Trigger.DOSES_MISSED, "clozapine", timing.DOSES_MISSED_FOR),
    _Gap(Trigger.DOSES_MISSED_3_DAYS, "methadone", timing.TOLERANCE_LOST_AFTER),
    _Gap(Trigger.DOSES_MISSED_5_DAYS, "lamotrigine", timing.LAMOTRIGINE_ANEW_AFTER),
)


def doses_missed(bedside: Bedside, gap: _Gap) -> MetTrigger | None:
    """Return a gap in the doses of what is in use: since the last given, else since the first left out."""
    lines = [
        line
        for line in bedside.drug_chart.lines
        if line.standing in _GIVEN_NEXT and gap.ingredient in line.medicine.ingredients
    ]
    if not lines:
        return None
    given = [
        one
        for one in bedside.record.administrations
        if gap.ingredient in one.medicine.ingredients and bedside.as_of - one.at <= timing.GAP_SEEN_FOR.length
    ]
    if any(one.running for one in given):
        return None
    if given:
        last = max(given, key=lambda one: (one.until, one.origin))
        at, said, origin, text = last.until, "no dose recorded after {0}", last.origin, last.medicine.text
    else:
        omitted = [
            (one.at, one.origin, n.medicine.text) for n in lines for one in bedside.omitted.get(n.order, ())
        ]
        said = "first recorded as not given ({0})"
        if not omitted:
            # What somebody says is not taken, and since when.
            said = "recorded as not taken ({0})"
            omitted = [
                (n.not_taken.since, n.not_taken.origin, n.medicine.text)
                for n in lines
                if n.not_taken is not None and n.not_taken.since is not None
            ]
        if not omitted:
            return None
        at, origin, text = min(omitted)
    if bedside.as_of - at <= gap.window.length:
        return _begun_again(bedside, gap, lines, given)
    return met_by_words(
        gap.trigger,
        said.format(bedside.clock.full(at)),
        (Recorded(text, at, origin),),
        key="last-dose",
        label="last dose",
        since=at + gap.window.length,
        source=gap.window.source,
    )


def _begun_again(
    bedside: Bedside, gap: _Gap, lines: Sequence[Line], given: Sequence[Administration]
) -> MetTrigger | None:
    """Return a gap that a dose of the last day has ended, at more than one begins anew with."""
    doses = [single_in("mg", line.charted) for line in lines]
    if all(dose is not None and dose <= timing.BEGUN_ANEW_WITH.value for dose in doses):
        return None
    lately = [one for one in given if bedside.as_of - one.at <= _DAY]
    if not lately:
        return None
    first = min(lately, key=lambda one: (one.at, one.origin))
    before = [one.until for one in given if one.at < first.at]
    untaken = (one for one in bedside.record.not_taken if gap.ingredient in one.medicine.ingredients)
    ended = before or [one.since for one in untaken if one.since is not None and one.since < first.at]
    if not ended or first.at - max(ended) <= gap.window.length:
        return None
    clock = bedside.clock
    return met_by_words(
        gap.trigger,
        f"given {clock.full(first.at)} after none since {clock.full(max(ended))}",
        (Recorded(first.medicine.text, first.at, first.origin),),
        key="last-dose",
        label="dose after a gap",
        since=first.at,
        source=gap.window.source,
    )
