"""What a finding says beside its sentence, line by line with the role of each: one wording for every door.

A door picks the roles it has room for and lays them out; it writes none of them itself.
"""

from collections.abc import Callable, Container, Iterable, Iterator, Mapping
from datetime import datetime
from enum import StrEnum
from typing import Final, NamedTuple, TypeGuard

from weatherglass.model.findings import (
    AkiFinding,
    Finding,
    InteractionFinding,
    MedicineFinding,
    Restart,
    ScoreFinding,
    State,
    Urgency,
)
from weatherglass.model.sources import Origin, Source
from weatherglass.model.words.call_words import look_again
from weatherglass.model.words.clock_words import Clock


class Role(StrEnum):
    """What a line is for, in the order in which lines are told."""

    ASKED = "asked"
    WHY = "why"
    STEP = "step"
    MISSING = "missing"
    MONITOR = "monitor"
    RISK = "risk"
    LOOK_AGAIN = "look again"
    RESTART = "restart"
    CHANGE = "change"
    RECOGNISED = "recognised"
    CAUTION = "caution"


class Line(NamedTuple):
    """One sentence of a finding.

    Attributes:
        role: What it is for.
        words: The sentence.
        short: The same where there is little room.
        source: Where it is published, where it is of a place of its own.
    """

    role: Role
    words: str
    short: str
    source: Source | None = None


def lines_of(
    finding: Finding, clock: Clock, *, when: Callable[[datetime], str] | None = None
) -> Iterator[Line]:
    """Return every line of a finding in the order of their roles.

    Args:
        finding: The finding.
        clock: How moments are said.
        when: How the moment of a restart is said, where that is not in full.
    """
    for role, words in _of_any(finding):
        yield Line(role, words, words)
    if isinstance(finding, MedicineFinding):
        yield from _of_medicine(finding, clock, when or clock.full)
    for words in finding.cautions:
        yield Line(Role.CAUTION, words, words)


def words_of(
    finding: Finding, clock: Clock, roles: Container[Role], *, when: Callable[[datetime], str] | None = None
) -> Iterator[str]:
    """Return the lines of some roles."""
    return (line.words for line in lines_of(finding, clock, when=when) if line.role in roles)


def _of_any(finding: Finding) -> Iterator[tuple[Role, str]]:
    asked = ask_of(finding)
    if asked:
        yield Role.ASKED, asked
    yield from ((Role.STEP, f"{step.said}.") for step in finding.steps)
    yield from ((Role.MISSING, f"Missing: {gap.label} ({gap.reason.value}).") for gap in finding.missing)


def ask_of(finding: Finding) -> str:
    """Return what a score or a stage asks for, and who asks; empty where nothing is asked."""
    if isinstance(finding, ScoreFinding) and finding.response:
        return f"{finding.response_by}: {finding.response}."
    if isinstance(finding, AkiFinding) and finding.response:
        return f"Asked for: {finding.response}."
    return ""


def asked_in_full(finding: Finding) -> str:
    """Return what is asked for, and how often observations are; empty where nothing is asked."""
    asked = ask_of(finding)
    if asked and isinstance(finding, ScoreFinding) and finding.monitoring:
        return f"{asked} Monitoring: {finding.monitoring}."
    return asked


def standing_words(finding: Finding, when: Callable[[datetime], str]) -> str:
    """Say whether a finding is new, goes on or settles, and since when; empty where nobody knows.

    What settles is told with its beginning; what became more urgent with that moment too, from which its
    deadline counts.
    """
    if finding.state is None or finding.since is None:
        return finding.state.value if finding.state is not None else ""
    if finding.state is State.SETTLING:
        return f"settling, began {when(finding.since)}"
    said = f"{finding.state.value} since {when(finding.since)}"
    if finding.asked_since is None or finding.asked_since == finding.since:
        return said
    return f"{said}, {finding.urgency.word} since {when(finding.asked_since)}"


#: Suggestions that ask a prescriber for a look at the chart, as a list begins with them and in its order.
ASKING: Final[Mapping[str, str]] = {
    "hold": "Consider holding",
    "avoid": "Consider avoiding",
    "reduce": "Consider reducing",
    "review": "Consider reviewing",
    "measure level": "Consider measuring the level of",
    "consider restarting": "Consider restarting",
}


def asks_for_a_look(finding: Finding) -> TypeGuard[MedicineFinding]:
    """Tell whether a finding is a suggestion that asks a prescriber for a look at the chart."""
    return isinstance(finding, MedicineFinding) and finding.action in ASKING


def looked_for(findings: Iterable[Finding]) -> frozenset[Origin]:
    """Return the orders that somebody is asked to look at, each once."""
    return frozenset(finding.order for finding in findings if asks_for_a_look(finding))


def triggers_of(finding: Finding) -> tuple[str, ...]:
    """Return what set a suggestion off, each once, with its time."""
    reasons = finding.reasons if isinstance(finding, MedicineFinding) else ()
    return tuple(dict.fromkeys(one.trigger for one in reasons if one.trigger))


def sources_of(finding: Finding) -> tuple[Source, ...]:
    """Return the places in publications: of the reasons first."""
    reasons = finding.reasons if isinstance(finding, MedicineFinding) else ()
    return (*(one.source for one in reasons), *finding.sources)


def orders_of(finding: Finding) -> tuple[Origin, ...]:
    """Return the orders that a finding is about."""
    if isinstance(finding, InteractionFinding):
        return finding.orders
    return (finding.order,) if isinstance(finding, MedicineFinding) else ()


def asks_for_something(finding: Finding) -> bool:
    """Tell whether what is asked is more than to go on: not where all is routine and known to be."""
    if isinstance(finding, ScoreFinding):
        return bool(finding.response) and (
            finding.urgency is not Urgency.ROUTINE or bool(finding.highest_tier)
        )
    return bool(ask_of(finding))


def _of_medicine(finding: MedicineFinding, clock: Clock, when: Callable[[datetime], str]) -> Iterator[Line]:
    for reason in finding.reasons:
        short = f"Why: {reason.trigger or reason.why}."
        yield Line(Role.WHY, f"Why: {reason.why} {reason.trigger}", short, reason.source)
    if finding.monitor:
        words = f"Monitor: {'; '.join(finding.monitor)}."
        yield Line(Role.MONITOR, words, words)
    if finding.risk_if_stopped:
        yield Line(Role.RISK, finding.risk_if_stopped, finding.risk_if_stopped)
    if finding.review_by is not None:
        words = f"{_large(look_again(finding.review_by, clock))}."
        yield Line(Role.LOOK_AGAIN, words, words)
    if finding.restart is not None:
        words = f"Restart: {restart_words(finding.restart, when)}."
        yield Line(Role.RESTART, words, f"Restart: {finding.restart.condition}.")
    for words in finding.would_change:
        yield Line(Role.CHANGE, words, words)
    if finding.matched_by:
        words = f"Recognised by: {finding.matched_by}."
        yield Line(Role.RECOGNISED, words, words)


def restart_words(restart: Restart, when: Callable[[datetime], str]) -> str:
    """Say when a held medicine may come back, who decides, and by when."""
    by = f", by {when(restart.by)}" if restart.by is not None else ""
    return f"{plan_words(restart)}{by}"


def plan_words(restart: Restart) -> str:
    """Say when a held medicine may come back and who decides, without a time."""
    return f"{restart.condition}; decided by {restart.who}"


def _large(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}"
