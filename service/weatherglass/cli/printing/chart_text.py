"""The drug chart as lines of a terminal: what was looked at, then each decision once, by urgency."""

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from weatherglass.cli.printing.finding_text import finding_text
from weatherglass.cli.printing.screen import head, marked, wrapped
from weatherglass.handover.lines import Role, decided_for_all, plan_words
from weatherglass.handover.told import Told, asks_for_a_look
from weatherglass.knowledge.medicines.rules.actions import Action
from weatherglass.medicines.telling.coverage import NOT_CHECKED_IN_SHORT, counted
from weatherglass.medicines.telling.one_decision import cautions_for_all, decision_sentence, decisions
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.medicine_findings import InteractionFinding, MedicineFinding, MedicineReason
from weatherglass.model.review import Review
from weatherglass.model.sources import Source
from weatherglass.model.words.call_words import look_again
from weatherglass.model.words.clock_words import Clock
from weatherglass.model.words.lists import capital, listed

_Group = Sequence[MedicineFinding | InteractionFinding]
_BELOW = frozenset({Role.RISK, Role.LOOK_AGAIN, Role.RESTART})
_HEAD = "Drug chart"
_WHAT_IT_IS = ": suggestions (evidence for pausing is limited)"


def chart_text(review: Review) -> Iterator[str]:
    """Return the lines about the drug chart; none where there is no chart."""
    told = [f for f in review.findings if isinstance(f, MedicineFinding | InteractionFinding)]
    if not (told or review.medicines_reviewed or review.medicines_not_recognised):
        return
    yield from ("", head(_HEAD, _WHAT_IT_IS), wrapped(f"{counted(review)}. {NOT_CHECKED_IN_SHORT}", "  "))
    asked = [one for one in told if one.urgency is not Urgency.ROUTINE or _is_held(one)]
    decided = decided_for_all(asked, review.clock)
    for_all = _ForAll(cautions_for_all(told), decided)
    said = " ".join(filter(None, (*for_all.above, decided)))
    if said:
        yield wrapped(f"For all that follows: {said}", "  ")
    for group in sorted(decisions(told), key=_place):
        yield from _decision(group, review.clock, for_all)


class _ForAll(NamedTuple):
    """What stands above every line: the cautions of all, and who decides about every restart."""

    above: Sequence[str]
    decided: str


def _is_held(one: Finding) -> bool:
    return isinstance(one, MedicineFinding) and one.action == Action.HOLD


def _place(group: _Group) -> tuple[bool, int, bool]:
    """Put a recorded allergy first, then what is more urgent, and pairs before single medicines."""
    first = group[0]
    return (first.kind is not Kind.ALLERGY, -first.urgency, isinstance(first, MedicineFinding))


def _decision(group: _Group, clock: Clock, for_all: _ForAll) -> Iterable[str]:
    medicines = [one for one in group if isinstance(one, MedicineFinding)]
    if not medicines:
        return (line for one in group for line in finding_text(Told(one, clock), set()))
    return _together(medicines, clock, for_all) if len(medicines) > 1 else _one(medicines[0], clock, for_all)


def _together(group: Sequence[MedicineFinding], clock: Clock, for_all: _ForAll) -> Iterable[str]:
    """Write several medicines that are one decision: the decision once, then what is of each."""
    yield marked(group[0].urgency, decision_sentence(group))
    cautions = _by_words((one, [c for c in one.cautions if c not in for_all.above]) for one in group)
    own = {said: named[0] for said, named in cautions.items() if len(named) == 1}
    first_of = {name: next(said for said, of in own.items() if of == name) for name in own.values()}
    for why, named in _by_words((one, [_of_each(one)]) for one in group).items():
        inline = first_of.pop(named[0], "") if len(named) == 1 else ""
        marks = _marks(next(one for one in group if one.named == named[0]))
        said = " ".join(filter(None, (why, inline, f"[{marks}]")))
        yield wrapped(f"{listed(named)}: {said}", "      - ", "        ")
    for said, named in cautions.items():
        if len(named) > 1 or first_of.get(named[0]) == said:
            yield wrapped(f"{Role.CAUTION}{_of(named, group)}: {said}", "      ")
    yield from _until(group, clock, for_all)


def _of_each(finding: MedicineFinding) -> str:
    """Say what is one medicine's own: why, and what stopping risks."""
    return " ".join(filter(None, (_whys(finding.reasons), finding.risk_if_stopped)))


def _until(group: Sequence[MedicineFinding], clock: Clock, for_all: _ForAll) -> Iterable[str]:
    """Say by when all of them are looked at, and when what is held comes back."""
    deadlines = [one.review_by for one in group if one.review_by is not None]
    if deadlines:
        yield wrapped(f"{capital(look_again(min(deadlines), clock))}.", "      ")
    back = [(one, one.restart) for one in group if one.restart is not None and _is_held(one)]
    for said, named in _by_words(
        (one, [r.condition if for_all.decided else plan_words(r)]) for one, r in back
    ).items():
        yield wrapped(f"{Role.RESTART}{_of(named, group)}: {said}.", "      ")


def _by_words(said: Iterable[tuple[MedicineFinding, Sequence[str]]]) -> dict[str, list[str]]:
    """Return of which medicines each sentence is said."""
    found: dict[str, list[str]] = {}
    for finding, sentences in said:
        for each in sentences:
            names = found.setdefault(each, [])
            names += [] if finding.named in names else [finding.named]
    return found


def _of(named: Sequence[str], group: Sequence[MedicineFinding]) -> str:
    return f" of {listed(named)}" if len(named) < len({one.named for one in group}) else ""


def _one(finding: MedicineFinding, clock: Clock, for_all: _ForAll) -> Iterable[str]:
    """Write one line of the chart for a glance; the whole of it is in the FHIR answer and the page."""
    yield marked(finding.urgency, finding.sentence)
    if finding.reasons:
        whys = _whys(reason for reason in finding.reasons if not reason.why_is_said)
        marks = _marks(finding)
        yield wrapped(f"{Role.WHY}: {whys} [{marks}]" if whys else f"Source: {marks}", "      ")
    for line in Told(finding, clock).of(*_below(finding)):
        is_short = line.role is Role.RESTART and for_all.decided
        yield wrapped(line.short if is_short else line.words, "      ")
    own = [each for each in finding.cautions if each not in for_all.above]
    yield from (wrapped(f"{Role.CAUTION}: {each}", "      ") for each in own[:1])


def _below(finding: MedicineFinding) -> frozenset[Role]:
    """Return what stands below a suggestion: how a line that goes on comes back is asked when it is held."""
    roles = _BELOW if asks_for_a_look(finding) else _BELOW - {Role.LOOK_AGAIN}
    return roles if finding.urgency is not Urgency.ROUTINE or _is_held(finding) else roles - {Role.RESTART}


def _whys(reasons: Iterable[MedicineReason]) -> str:
    """Give the reasons, each once."""
    return " ".join(dict.fromkeys(one.why for one in reasons if one.why))


def _marks(finding: MedicineFinding) -> str:
    return "; ".join(dict.fromkeys(_cited(reason.source) for reason in finding.reasons))


def _cited(source: Source) -> str:
    """Name a source with its mark, once where the one is the other."""
    if source.citation.casefold() == source.mark.value:
        return source.mark.value
    return f"{source.publisher}, {source.mark.value}"
