"""One finding as every door lays it out: its title, its lines by role, and what is told of it beside others.

Text, page, cards, lists and FHIR take the same value and choose roles; none composes a line of its own.
Nothing is dropped: what agrees with another finding, and what asks for nothing, keeps its
few words beside the one that speaks for it, and every word of it on demand.
"""

from collections.abc import Container, Iterable, Iterator, Sequence
from typing import TypeGuard

from weatherglass.handover.kinds import KINDS
from weatherglass.handover.lines import Line, Role, lines_of
from weatherglass.knowledge.limits.critical_bands import BY_STAGE, FIRST
from weatherglass.knowledge.medicines.rules.actions import ACTIONS
from weatherglass.model.findings import (
    SLOW_DECLINE,
    AkiFinding,
    Finding,
    Kind,
    ScoreFinding,
    State,
    Urgency,
    is_pressing,
    stands_beside,
)
from weatherglass.model.medicine_findings import LAST, InteractionFinding, MedicineFinding, MedicineReason
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.once import cached_property
from weatherglass.model.plain import Plain
from weatherglass.model.review import Review
from weatherglass.model.signals import AS_TOLD, Letter
from weatherglass.model.sources import Origin, Source
from weatherglass.model.words.brief_words import total_of
from weatherglass.model.words.clock_words import Clock
from weatherglass.model.words.lists import listed


class Told(Plain, frozen=True, dict=True):
    """One finding, ready to be laid out.

    Attributes:
        finding: The finding itself, with its sentence and numbers.
        clock: How its moments are said.
        agrees: The few words of what says the same by another rule.
        aside: Whether its few words do, where there is not room for all: it asks for nothing, or agrees.
        speaks_by: The finding that speaks for it; None where it speaks for itself.
        in_few_words: Whether its few words come first, and its sentence on demand.
        is_called: Whether the call at the head is as urgent as what a whole score asks for, and says it.
        course: Of a score, what follows its total; printed lines tell it with the score and not again.
        in_passing: Whether its few words do where nothing can be opened: looked at, and nothing is pressing
            that another finding does not speak for.
        in_results: Whether it says no more than the newest results do: a value and the one before.
    """

    finding: Finding
    clock: Clock
    agrees: tuple[str, ...] = ()
    aside: bool = False
    speaks_by: Finding | None = None
    in_few_words: bool = False
    is_called: bool = False
    course: Finding | None = None
    in_passing: bool = False
    in_results: bool = False

    @property
    def urgency(self) -> Urgency:
        """Its urgency, with that of the course that is told with a score."""
        return max(one.urgency for one in (self.finding, self.course) if one is not None)

    @property
    def title(self) -> str:
        """Its few words."""
        return self.finding.brief

    @cached_property
    def lines(self) -> tuple[Line, ...]:
        """What it says beside its sentence, with the role of each."""
        return tuple(lines_of(self.finding, self.clock))

    def of(self, *roles: Role) -> Iterator[Line]:
        """Yield the lines of some roles."""
        return (line for line in self.lines if line.role in roles)

    def words(self, roles: Container[Role]) -> Iterator[str]:
        """Yield the sentences of some roles."""
        return (line.words for line in self.lines if line.role in roles)

    @property
    def sources(self) -> tuple[Source, ...]:
        """The places in publications: of the reasons first."""
        return (*(one.source for one in self.reasons), *self.finding.sources)

    @property
    def reasons(self) -> tuple[MedicineReason, ...]:
        """The reasons of a suggestion."""
        return self.finding.reasons if isinstance(self.finding, MedicineFinding) else ()

    @property
    def triggers(self) -> tuple[str, ...]:
        """What set a suggestion off, each once, with its time."""
        return tuple(dict.fromkeys(one.trigger for one in self.reasons if one.trigger))

    @property
    def orders(self) -> tuple[Origin, ...]:
        """The orders that it is about."""
        if isinstance(self.finding, InteractionFinding):
            return self.finding.orders
        return (self.finding.order,) if isinstance(self.finding, MedicineFinding) else ()


def told(review: Review, clock: Clock | None = None) -> tuple[Told, ...]:
    """Return every finding that is not about the drug chart, in the order of the review.

    Args:
        review: The review.
        clock: How moments are said, where that is not as the review says them.
    """
    said_by = clock or review.clock
    findings = [one for one in review.findings if not isinstance(one, MedicineFinding)]
    spoken_for = dict(_agreeing(review, findings))
    in_results = frozenset(row.key for row in review.latest.rows)
    made = []
    for finding in findings:
        by = spoken_for.get(id(finding))
        agrees = (_agreed(one) for one in findings if spoken_for.get(id(one)) is finding)
        aside = by is not None or not _speaks(review, finding)
        few = not aside and not _decides(review, finding) and not KINDS[finding.kind].in_full
        passes = _passes(finding) or (
            by is not None
            and (stands_beside(finding) or by.kind is Kind.METABOLIC or finding.key in BY_STAGE)
        )
        called, course = _is_called(review, finding), _course_of(finding, findings)
        known = passes and _is_in(in_results, finding)
        made.append(
            Told(finding, said_by, tuple(filter(None, agrees)), aside, by, few, called, course, passes, known)
        )
    return tuple(made)


def with_their_course(every: Iterable[Told]) -> Iterator[Told]:
    """Yield each once, a score where it or what follows its total comes first."""
    waiting = list(every)
    by_course = {id(one.course): one for one in waiting if one.course is not None}
    said: set[int] = set()
    for each in waiting:
        one = by_course.get(id(each.finding), each)
        if id(one) not in said:
            said.add(id(one))
            yield one


def _course_of(finding: Finding, findings: Iterable[Finding]) -> Finding | None:
    """Return what follows the total of a score: of the same round where the score stands twice."""
    if finding.kind is not Kind.SCORE:
        return None
    return next((f for f in findings if f.course and (f.key, f.at) == (finding.key, finding.at)), None)


def asks_for_a_look(finding: Finding) -> TypeGuard[MedicineFinding]:
    """Tell whether a finding is a suggestion that asks a prescriber for a look at the chart."""
    return isinstance(finding, MedicineFinding) and bool(ACTIONS[finding.action].asks)


def rank_of(finding: Finding) -> int:
    """Return the place of a result, a suggestion or a pair among the equally urgent; 0 for anything else.

    What not to give comes before what to look at, and before the pair that it settles.
    """
    if finding.kind is Kind.CRITICAL_RESULT:
        return FIRST.index(finding.key) if finding.key in FIRST else len(FIRST)
    if isinstance(finding, InteractionFinding):
        return LAST if finding.settled else int(finding.raised)
    if not isinstance(finding, MedicineFinding):
        return 0
    return finding.rank if ACTIONS[finding.action].withholds else finding.rank + LAST


def chart_place(finding: Finding) -> tuple[bool, int, int]:
    """Return the place of a finding about the drug chart.

    A recorded allergy that asks for something comes first, then what is more urgent; of equals a pair, one
    line, and last the pair that such lines settle.
    """
    is_allergy = finding.kind is Kind.ALLERGY and finding.urgency is not Urgency.ROUTINE
    among = 2 if is_settled(finding) else int(isinstance(finding, MedicineFinding))
    return (not is_allergy, -finding.urgency, among)


def is_settled(finding: Finding) -> bool:
    """Tell whether it is of medicines together that suggested holds would end: its few words do."""
    return isinstance(finding, InteractionFinding) and finding.settled


def under_letters(review: Review, every: Sequence[Told]) -> Iterator[tuple[Letter, list[Told]]]:
    """Yield what stands under each letter: the score that leads behind only what is more urgent."""
    lead = next((one for one in every if one.finding is review.lead), None)

    def place(one: Told) -> tuple[bool, bool]:
        is_worse = lead is not None and one.finding.state is not State.SETTLING and one.urgency > lead.urgency
        return not is_worse, one is not lead

    for letter in AS_TOLD:
        found = sorted((one for one in every if one.finding.letter is letter), key=place)
        if found:
            yield letter, found


def looked_for(findings: Iterable[Finding]) -> frozenset[Origin]:
    """Return the orders that somebody is asked to look at, each once."""
    return frozenset(finding.order for finding in findings if asks_for_a_look(finding))


def named_together(some: Iterable[Told]) -> tuple[str, ...]:
    """Return the few words of each; scores that were not computed for one reason are named together."""
    said: dict[object, list[Told]] = {}
    for place, one in enumerate(some):
        reason = one.finding.not_computed if isinstance(one.finding, ScoreFinding) else ""
        said.setdefault(reason or place, []).append(one)
    return tuple(_together(reason, group) for reason, group in said.items())


def _together(reason: object, group: Sequence[Told]) -> str:
    names = [one.finding.name for one in group if isinstance(one.finding, ScoreFinding)]
    return _alone(group[0]) if len(group) == 1 else f"{listed(names)} not computed {reason}"


def _alone(one: Told) -> str:
    """Name one: a score of which the chosen one says every sign, by its total alone."""
    finding, by = one.finding, one.speaks_by
    if not isinstance(finding, ScoreFinding) or not isinstance(by, ScoreFinding) or not finding.parts:
        return one.title
    said = {measure.key for part in by.parts for measure in part.measured}
    scoring = {measure.key for part in finding.parts if part.points for measure in part.measured}
    return f"{finding.name} {total_of(finding)}" if scoring <= said else one.title


def _passes(finding: Finding) -> bool:
    if finding.urgency is not Urgency.ROUTINE:
        return False
    if isinstance(finding, AkiFinding) and not finding.stage and finding.kind is Kind.AKI_STAGE:
        return True
    return KINDS[finding.kind].in_passing or stands_beside(finding)


def _is_in(results: Container[str], finding: Finding) -> bool:
    if finding.kind is Kind.NOT_JUDGED:
        return True  # Each row says that it is high or low.
    return finding.kind is Kind.LABORATORY_TREND and any(one.key in results for one in finding.measures)


def _agreed(finding: Finding) -> str:
    """Name what agrees: a score by its total; a trend is in the words of what speaks for it."""
    if finding.kind in (Kind.SCORE_TREND, Kind.VITAL_SIGN_TREND):
        return ""
    if not isinstance(finding, ScoreFinding):
        return finding.brief
    return f"{finding.name} {plain(finding.value) if finding.value is not None else total_of(finding)}"


def _speaks(review: Review, finding: Finding) -> bool:
    """Tell whether a finding stands in full: it leads, is pressing, or says what could not be used.

    What the holds that are told settle presses no more than they do.
    """
    if finding is review.lead or _decides(review, finding):
        return True
    if is_settled(finding):
        return False
    return is_pressing(finding) or bool(finding.missing)


def _is_called(review: Review, finding: Finding) -> bool:
    if not isinstance(finding, ScoreFinding) or finding.highest_tier or review.escalation is None:
        return False
    return finding.urgency <= review.escalation.urgency


def _decides(review: Review, finding: Finding) -> bool:
    return review.escalation is not None and finding is review.escalation.because


def _agreeing(review: Review, findings: Sequence[Finding]) -> Iterator[tuple[int, Finding]]:
    """Yield what another finding speaks for: never anything more urgent than that one."""
    stage = _worst_stage(findings)
    decline = next((one for one in findings if one.key == SLOW_DECLINE), None)
    held = _held(findings)
    for finding in findings:
        by: Finding | None = None
        if finding.kind is Kind.SCORE_TREND:
            by = next((one for one in findings if _course_of(one, (finding,))), review.lead)
        elif finding.kind is Kind.SCORE:
            by = review.lead
        elif isinstance(finding, AkiFinding) or finding.key in BY_STAGE:
            by = stage
        elif decline is not None and _is_course_of(finding, decline):
            by = decline
        elif finding.kind is Kind.CRITICAL_RESULT and finding.measures and not finding.at_once:
            by = held.get(finding.measures[0].origin)
        if by is None or by is finding or finding.urgency > by.urgency or _is_open(finding):
            continue
        yield id(finding), by


def _held(findings: Sequence[Finding]) -> dict[Origin | None, Finding]:
    """Return what says with its meaning a result that is a finding by itself, the most urgent of each."""
    told = sorted((f for f in findings if f.kind is Kind.METABOLIC), key=lambda one: one.urgency)
    return {measure.origin: one for one in told for measure in one.measures if measure.origin is not None}


def _is_course_of(finding: Finding, decline: Finding) -> bool:
    """Tell whether a trend that asks for nothing is that of a sign whose course the decline names."""
    is_quiet = finding.kind is Kind.VITAL_SIGN_TREND and not is_pressing(finding)
    return is_quiet and any(one.key == finding.key for one in decline.measures)


def _is_open(finding: Finding) -> bool:
    """Tell whether a score is not complete, which no other can say for it; or stands beside a newer one."""
    if not isinstance(finding, ScoreFinding):
        return False
    is_not_known = finding.total is None and finding.value is None
    return is_not_known or bool(finding.unknown) or not finding.is_current


def _worst_stage(findings: Sequence[Finding]) -> Finding | None:
    stages = [one for one in findings if isinstance(one, AkiFinding) and one.stage is not None]
    return max(
        stages, key=lambda one: (one.urgency, one.stage or 0, one.criterion == "aki-kdigo"), default=None
    )
