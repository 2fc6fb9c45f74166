"""Findings as a page shows them: every word ready, nothing left to decide.

Templates print what stands here. They compare no numbers and know no rule.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from weatherglass.handover.lines import standing_words
from weatherglass.handover.told import Told, named_together, told, under_letters
from weatherglass.model.findings import AkiFinding, Finding, Measure, ScoreFinding
from weatherglass.model.numbers.quantities import plain, unit_words
from weatherglass.model.review import Review
from weatherglass.model.sources import Origin, Source
from weatherglass.model.words.brief_words import total_in_signs
from weatherglass.model.words.clock_words import Clock
from weatherglass.model.words.lists import span
from weatherglass.web.criteria_page import address_of


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
    """One finding, its numbers ready beside what every door tells of it.

    Attributes:
        told: The finding itself, with its lines.
        level: 0 to 3, so that a shape can be drawn for the urgency.
        standing: "new since 06:10 on 12 March".
        total: The score as it is shown, empty when the finding is no score.
        measures: The numbers: what was measured, then what was worked out from it.
        decides: Whether it is the finding that asks for the call.
        leads: Whether it is the score that the page leads with, shown large with its parts.
        notes: The numbers of its cautions in the list below the findings.
    """

    told: Told
    level: int
    standing: str
    at: str
    measures: tuple[MeasureView, ...]
    inputs: tuple[InputView, ...]
    sources: tuple[SourceView, ...]
    total: str = ""
    short_name: str = ""
    parts: tuple[PartView, ...] = ()
    decides: bool = False
    leads: bool = False
    notes: tuple[int, ...] = ()

    @property
    def is_for_others(self) -> bool:
        """Whether it says that a score is for people of another age, or not for a mother."""
        finding = self.told.finding
        return isinstance(finding, ScoreFinding) and bool(finding.not_computed)

    @property
    def echoes(self) -> bool:
        """Whether it says by another rule what one beside it says."""
        return self.told.speaks_by is not None and bool(self.level)


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
    def not_for(self) -> tuple[str, ...]:
        """The scores that are for others, in one line: paper has no more of them."""
        return named_together(one.told for one in self.findings if one.is_for_others)

    @property
    def is_quiet(self) -> bool:
        """Whether all of it stands on demand and elsewhere in few words: its letter would head nothing."""
        return not self.also and all(finding.told.aside for finding in self.findings)


def letter_views(
    review: Review, inputs: Mapping[Origin, str], clock: Clock
) -> tuple[tuple[LetterView, ...], tuple[str, ...]]:
    """Return the findings that are not about the drug chart under their letters, and each caution once."""
    every = told(review, clock)
    cautions = tuple(dict.fromkeys(words for one in every if not one.aside for words in one.finding.cautions))
    views = []
    for letter, found in under_letters(review, every):
        shown = tuple(finding_view(one, review, inputs, cautions) for one in found)
        # What agrees is said by the finding that speaks for it.
        also = named_together(
            one for one in found if one.aside and one.speaks_by is None and not one.in_results
        )
        views.append(LetterView(letter=letter.sign, name=letter.heading, findings=shown, also=also))
    return tuple(views), cautions


def finding_view(
    told: Told, review: Review, inputs: Mapping[Origin, str], cautions: Sequence[str]
) -> FindingView:
    """Return one finding with every number ready; `cautions` are those below the findings, in order."""
    finding, clock, called = told.finding, told.clock, review.escalation
    score = finding if isinstance(finding, ScoreFinding) else None
    shown = () if _shown_elsewhere(finding) else finding.measures
    return FindingView(
        told=told,
        level=int(finding.urgency),
        standing=standing_words(finding, clock.short),
        at=clock.full(finding.at) if finding.at is not None else "",
        measures=measure_views(sorted(shown, key=lambda measure: measure.at is None), clock),
        inputs=input_views(finding.evidence, inputs),
        sources=source_views(told.sources),
        total=_total(score) if score is not None else "",
        short_name=short_name(score) if score is not None else "",
        parts=_parts(score) if score is not None else (),
        leads=finding is review.lead,
        decides=called is not None and finding is called.because,
        notes=() if told.aside else tuple(cautions.index(words) + 1 for words in finding.cautions),
    )


def short_name(score: ScoreFinding) -> str:
    """Return the short name of a score: "NEWS2"."""
    return score.key.replace("-", " ").upper()


def _shown_elsewhere(finding: Finding) -> bool:
    # The measures of a score are the values of its parts; those of a stage stand under the kidneys.
    return isinstance(finding, AkiFinding) or (isinstance(finding, ScoreFinding) and bool(finding.parts))


def _total(score: ScoreFinding) -> str:
    if score.not_applicable:
        return ""
    return total_in_signs(score)


def _parts(score: ScoreFinding) -> tuple[PartView, ...]:
    return tuple(
        PartView(part.label, part.shown, part.points, span(part.lowest, part.highest)) for part in score.parts
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
