"""What a finding says beside its sentence, line by line with the role of each: one wording for every door.

A door picks the roles it has room for and lays them out; it writes none of them itself.
"""

from collections.abc import Callable, Iterable, Iterator
from datetime import datetime
from enum import StrEnum
from typing import Final

from weatherglass.model.findings import AkiFinding, Finding, Missing, ScoreFinding, State, Urgency
from weatherglass.model.medicine_findings import RISK_IF_STOPPED, MedicineFinding, MedicineReason, Restart
from weatherglass.model.plain import Plain, replace
from weatherglass.model.sources import Source
from weatherglass.model.words.call_words import look_again
from weatherglass.model.words.clock_words import Clock
from weatherglass.model.words.lists import capital, span

#: What is said of as many is said once for all of them.
_SEVERAL: Final = 2


class Role(StrEnum):
    """What a line is for, in the order in which lines are told; its value is the label it is read under."""

    ASKED = "Asked for"
    OBSERVE = "Observations"
    STEP = "Worked out"
    MISSING = "Missing"
    WHY = "Why"
    MONITOR = "Monitor"
    RISK = RISK_IF_STOPPED
    LOOK_AGAIN = "Look again"
    RESTART = "Restart"
    CHANGE = "Would change this"
    RECOGNISED = "Recognised by"
    CAUTION = "Caution"
    EVIDENCE = "Evidence"


class Line(Plain, frozen=True):
    """One sentence of a finding.

    Attributes:
        label: What it is read under.
        said: What it says, for a place that shows the label apart.
        words: The sentence, with its label where it needs one.
        short: The same where there is little room; of a reason what met it alone.
        source: Where it is published, where it is of a place of its own.
        is_said: Whether the sentence of the finding says what is in `short` already.
        besides: Of a reason why it matters, without what met it.
    """

    role: Role
    label: str
    said: str
    words: str
    short: str
    source: Source | None = None
    is_said: bool = False
    besides: str = ""


def lines_of(finding: Finding, clock: Clock) -> Iterator[Line]:
    """Return every line of a finding in the order of their roles."""
    yield from _asked(finding)
    for step in finding.steps:
        yield replace(_plain(Role.STEP, step.said, f"{step.said}."), source=step.source)
    yield from map(_missing, finding.missing)
    if isinstance(finding, MedicineFinding):
        yield from map(_why, finding.reasons)
        yield from _of_medicine(finding, clock)
    yield from (_plain(Role.CAUTION, words, words) for words in finding.cautions)
    if isinstance(finding, MedicineFinding) and finding.limited_evidence:
        yield _plain(Role.EVIDENCE, finding.limited_evidence, finding.limited_evidence)


def _asked(finding: Finding) -> Iterator[Line]:
    """Yield what a score or a stage asks for, and who asks; then how often a score asks for observations."""
    if not isinstance(finding, ScoreFinding | AkiFinding) or not finding.response:
        return
    by = finding.response_by if isinstance(finding, ScoreFinding) else str(Role.ASKED)
    words = f"{by}: {finding.response}."
    yield Line(Role.ASKED, by, finding.response, words, words)
    if isinstance(finding, ScoreFinding) and finding.monitoring:
        yield _labelled(Role.OBSERVE, finding.monitoring)


def _missing(gap: Missing) -> Line:
    why = f"{gap.label} ({gap.reason.value}"
    low, high = gap.could_add or (0, 0)
    said = f"{why}; could add {span(low, high)})" if gap.could_add is not None else f"{why})"
    return replace(_labelled(Role.MISSING, said), short=f"{Role.MISSING}: {why}).")


def _why(reason: MedicineReason) -> Line:
    said = " ".join(filter(None, (reason.why, reason.trigger)))
    return Line(
        Role.WHY,
        str(Role.WHY),
        said,
        f"{Role.WHY}: {said}",
        f"{Role.WHY}: {reason.trigger or reason.why}.",
        reason.source,
        is_said=reason.trigger_is_said,
        besides=reason.why,
    )


def _of_medicine(finding: MedicineFinding, clock: Clock) -> Iterator[Line]:
    if finding.monitor:
        yield _labelled(Role.MONITOR, "; ".join(finding.monitor))
    if finding.risk_if_stopped:
        yield _plain(Role.RISK, finding.do_not_stop, finding.risk_if_stopped)
    if finding.review_by is not None:
        said = look_again(finding.review_by, clock)
        yield _plain(Role.LOOK_AGAIN, said, f"{capital(said)}.")
    if finding.restart is not None:
        yield _way_back(finding.restart, clock)
    yield from (_plain(Role.CHANGE, words, words) for words in finding.would_change)
    if finding.matched_by:
        yield _labelled(Role.RECOGNISED, finding.matched_by)


def _way_back(restart: Restart, clock: Clock) -> Line:
    """Say when a held medicine may come back, who decides, and by when."""
    line = _labelled(Role.RESTART, f"{restart.condition}; decided by {_decided(restart, clock)}")
    return replace(line, short=f"{Role.RESTART}: {restart.condition}.")


def decided_for_all(findings: Iterable[Finding], clock: Clock) -> str:
    """Say once who decides about all that is held, and by when; empty where that is not one for several."""
    back = [one.restart for one in findings if isinstance(one, MedicineFinding) and one.restart is not None]
    decided = {(one.who, one.by) for one in back}
    if len(back) < _SEVERAL or len(decided) > 1:
        return ""
    return f"Each restart is decided by {_decided(back[0], clock)}."


def _decided(restart: Restart, clock: Clock) -> str:
    return f"{restart.who}, by {clock.spoken(restart.by)}" if restart.by is not None else restart.who


def plan_words(restart: Restart) -> str:
    """Say when a held medicine may come back and who decides, without a time."""
    return f"{restart.condition}; decided by {restart.who}"


def _plain(role: Role, said: str, words: str) -> Line:
    return Line(role, str(role), said, words, words)


def _labelled(role: Role, said: str) -> Line:
    return _plain(role, said, f"{role}: {said}.")


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
    if finding.asked_since in (None, finding.since) or finding.urgency is Urgency.ROUTINE:
        return said
    return f"{said}, {finding.urgency.word} since {when(finding.asked_since)}"
