"""Findings as a page shows them: every word ready, nothing left to decide.

Templates print what stands here. They compare no numbers and know no rule.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from weatherglass.fhir.writing.frame.terms import KIND_WORDS
from weatherglass.handover.lines import standing_words
from weatherglass.handover.told import Told, named_together, told
from weatherglass.model.findings import (
    AkiFinding,
    Finding,
    Kind,
    Letter,
    Measure,
    Review,
    ScoreFinding,
)
from weatherglass.model.quantities import plain, unit_words
from weatherglass.model.sources import Origin, Source
from weatherglass.model.words.clock_words import Clock
from weatherglass.web.criteria_page import address_of

LETTERS = {
    Letter.OVERALL: ("", "The whole patient"),
    Letter.AIRWAY: ("A", "Airway"),
    Letter.BREATHING: ("B", "Breathing"),
    Letter.CIRCULATION: ("C", "Circulation"),
    Letter.DISABILITY: ("D", "Disability"),
    Letter.EXPOSURE: ("E", "Exposure"),
}


class MeasureView(NamedTuple):
    """One number or word with its unit and time."""

    label: str
    value: str
    unit: str
    at: str


class PartView(NamedTuple):
    """One parameter of a score; `points` is None when it is missing."""

    label: str
    shown: str
    points: int | None
    could_be: str


class InputView(NamedTuple):
    """One input a finding rests on."""

    origin: str
    said: str


class SourceView(NamedTuple):
    """One place in one publication; `row` is where the page of published tables shows it."""

    citation: str
    locator: str
    mark: str
    address: str
    row: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingView:
    """One finding.

    Attributes:
        level: 0 to 3, so that a shape can be drawn for the urgency.
        standing: "new since 06:10 on 12 March".
        total: The score as it is shown, empty when the finding is no score.
        measures: The numbers with a time of their own: what was measured.
        derived: The numbers worked out from them.
        decides: Whether it is the finding that asks for the call.
        leads: Whether it is the score that the page leads with, shown large with its parts.
        said_above: Whether its sentence already stands at the head of the page.
        steps: How it was worked out, each step with the place of its formula.
        agrees: What says the same by another rule, in few words.
        quiet: Whether it stands in full on demand only.
        notes: The numbers of its cautions in the list below the findings.
        named: What it is called where a list names it.
        in_few_words: Whether the screen shows these few words, and its sentence on demand.
    """

    kind: str
    urgency: str
    level: int
    sentence: str
    state: str
    standing: str
    at: str
    measures: tuple[MeasureView, ...]
    derived: tuple[MeasureView, ...]
    missing: tuple[str, ...]
    cautions: tuple[str, ...]
    inputs: tuple[InputView, ...]
    sources: tuple[SourceView, ...]
    decided_by: str
    provisional: bool
    total: str = ""
    score_name: str = ""
    short_name: str = ""
    variant: str = ""
    response: str = ""
    response_by: str = ""
    monitoring: str = ""
    parts: tuple[PartView, ...] = ()
    decides: bool = False
    leads: bool = False
    said_above: bool = False
    steps: tuple[str, ...] = ()
    agrees: tuple[str, ...] = ()
    quiet: bool = False
    echoes: bool = False
    notes: tuple[int, ...] = ()
    named: str = ""
    in_few_words: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class LetterView:
    """The findings under one letter of the systematic order.

    Attributes:
        also: The few words of those that stand in full on demand only.
    """

    letter: str
    name: str
    findings: tuple[FindingView, ...]
    also: tuple[str, ...] = ()

    @property
    def is_quiet(self) -> bool:
        """Whether all of it stands on demand and elsewhere in few words: its letter would head nothing."""
        return not self.also and all(finding.quiet for finding in self.findings)


def letter_views(
    review: Review, inputs: Mapping[Origin, str], clock: Clock
) -> tuple[tuple[LetterView, ...], tuple[str, ...]]:
    """Return the findings that are not about the drug chart under their letters, and each caution once."""
    every = told(review)
    cautions = tuple(dict.fromkeys(words for one in every if not one.aside for words in one.finding.cautions))
    shown_above = frozenset(row.key for row in review.latest.rows)
    views = []
    for letter, (sign, name) in LETTERS.items():
        found = [one for one in every if one.finding.letter is letter]
        found.sort(key=lambda one: one.finding is not review.lead)
        if found:
            shown = tuple(_told_view(one, review, inputs, clock, cautions) for one in found)
            # What agrees is said by the finding that speaks for it.
            also = named_together(
                one
                for one in found
                if one.aside and one.speaks_by is None and not _in_strip(one, shown_above)
            )
            views.append(LetterView(letter=sign, name=name, findings=shown, also=also))
    return tuple(views), cautions


def _in_strip(one: Told, shown: frozenset[str]) -> bool:
    """Tell whether a finding says no more than the strip of results: a value and the one before."""
    finding = one.finding
    return finding.kind is Kind.LABORATORY_TREND and any(m.key in shown for m in finding.measures)


def _told_view(
    one: Told, review: Review, inputs: Mapping[Origin, str], clock: Clock, cautions: Sequence[str]
) -> FindingView:
    called = review.escalation
    view = finding_view(
        one.finding,
        inputs,
        clock,
        leads=one.finding is review.lead,
        decides=called is not None and one.finding is called.because,
        said_above=one.finding.sentence == review.headline,
    )
    notes = () if one.aside else tuple(cautions.index(words) + 1 for words in one.finding.cautions)
    return replace(
        view,
        agrees=one.agrees,
        quiet=one.aside,
        notes=notes,
        named=one.title,
        in_few_words=one.in_few_words,
        echoes=one.speaks_by is not None and bool(view.level),
    )


def finding_view(
    finding: Finding,
    inputs: Mapping[Origin, str],
    clock: Clock,
    *,
    leads: bool = False,
    decides: bool = False,
    said_above: bool = False,
) -> FindingView:
    """Return one finding with every word ready."""
    score = finding if isinstance(finding, ScoreFinding) else None
    shown = () if _shown_elsewhere(finding) else finding.measures
    return FindingView(
        kind=KIND_WORDS[finding.kind],
        urgency=finding.urgency.word,
        level=int(finding.urgency),
        sentence=finding.sentence,
        state=finding.state.value if finding.state is not None else "",
        standing=standing_words(finding, clock.short),
        at=clock.full(finding.at) if finding.at is not None else "",
        measures=measure_views((m for m in shown if m.at is not None), clock),
        derived=measure_views((m for m in shown if m.at is None), clock),
        missing=tuple(_missing_words(finding)),
        cautions=finding.cautions,
        inputs=input_views(finding.evidence, inputs),
        sources=source_views(finding.sources),
        decided_by=finding.decided_by,
        provisional=finding.provisional,
        steps=tuple(f"{s.said} ({s.source.locator}; {s.source.mark.value})" for s in finding.steps),
        total=_total(score) if score is not None else "",
        score_name=score.name if score is not None else "",
        short_name=short_name(score) if score is not None else "",
        variant=score.variant if score is not None else "",
        response=score.response if score is not None else "",
        response_by=score.response_by if score is not None else "",
        monitoring=score.monitoring if score is not None else "",
        parts=_parts(score) if score is not None else (),
        leads=leads,
        decides=decides,
        said_above=said_above,
    )


def short_name(score: ScoreFinding) -> str:
    """Return the short name of a score: "NEWS2"."""
    return score.score.replace("-", " ").upper()


def _shown_elsewhere(finding: Finding) -> bool:
    # The measures of a score are the values of its parts; those of a stage stand under the kidneys.
    return isinstance(finding, AkiFinding) or (isinstance(finding, ScoreFinding) and bool(finding.parts))


def _missing_words(finding: Finding) -> Iterable[str]:
    for gap in finding.missing:
        words = f"{gap.label}: {gap.reason.value}"
        if gap.could_add is not None:
            words += f"; could add {_span(*gap.could_add)}"
        yield words


def _span(low: int, high: int) -> str:
    return f"{low}" if low == high else f"{low} to {high}"


def _total(score: ScoreFinding) -> str:
    if score.not_applicable:
        return ""
    return str(score.total) if score.total is not None else f"≥{score.lowest}"


def _parts(score: ScoreFinding) -> tuple[PartView, ...]:
    return tuple(
        PartView(part.label, part.shown, part.points, _span(part.lowest, part.highest))
        for part in score.parts
    )


def measure_views(measures: Iterable[Measure], clock: Clock) -> tuple[MeasureView, ...]:
    """Return numbers with their units and times as they are read out."""
    return tuple(
        MeasureView(
            measure.label,
            measure.value if isinstance(measure.value, str) else plain(measure.value),
            unit_words(measure.unit) if measure.unit is not None else "",
            clock.full(measure.at) if measure.at is not None else "",
        )
        for measure in measures
    )


def input_views(evidence: Iterable[Origin], inputs: Mapping[Origin, str]) -> tuple[InputView, ...]:
    """Return every input with what it says, as far as the record holds it."""
    return tuple(InputView(str(origin), inputs.get(origin, "")) for origin in evidence)


def source_views(sources: Iterable[Source]) -> tuple[SourceView, ...]:
    """Return each publication once, in order."""
    return tuple(
        SourceView(
            s.citation,
            s.locator,
            s.mark.value,
            s.address if s.address.startswith("https://") else "",
            address_of(s),
        )
        for s in dict.fromkeys(sources)
    )
