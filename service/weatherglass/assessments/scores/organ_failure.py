"""Do organs fail, and more of them than is usual for this patient: SOFA, and SOFA-2 where a site wants it?

Shown beside the score that was chosen for the patient, from two points on; what is not recorded
leaves its points open and is named.
"""

from collections.abc import Iterator
from typing import Final

from weatherglass.assessments.telling.score_findings import why_not_adult
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.results.organ_failure import OrganFailure, OrganPoints, organ_failure
from weatherglass.facts.series.runs import Run
from weatherglass.knowledge.scores import organ_failure as table
from weatherglass.model.findings import (
    Finding,
    Kind,
    Letter,
    Measure,
    Missing,
    MissingReason,
    ScoreFinding,
    ScorePart,
    Urgency,
)
from weatherglass.model.sources import Source
from weatherglass.model.words.lists import listed

_LEAST_SHOWN: Final = 2


def assess_organ_failure(bedside: Bedside) -> Iterator[Finding]:
    """Count the organs of the last day by the scores that the site has chosen, in adults."""
    if why_not_adult(bedside) is not None:
        return
    for key in (table.SOFA, table.SOFA_2):
        if key in bedside.choices.scores:
            found = organ_failure(bedside, key)
            if found.lowest >= _LEAST_SHOWN:
                yield _finding(bedside, found)


def _finding(bedside: Bedside, found: OrganFailure) -> ScoreFinding:
    since = found.change_since
    is_sepsis = since is not None and bedside.infection is not None
    decides = is_sepsis and found.score == table.SOFA
    known = [one for one in found.organs if one.at is not None]
    began = since or min((one.began for one in known if one.began is not None), default=None)
    name = table.NAMES[found.score]
    return ScoreFinding(
        kind=Kind.SCORE,
        key=found.score,
        letter=Letter.OVERALL,
        urgency=Urgency.URGENT if decides else Urgency.ROUTINE,
        sentence=_sentence(name, found, is_sepsis=is_sepsis),
        at=max((one.at for one in known if one.at is not None), default=bedside.as_of),
        state=bedside.state_of(Run(began, bedside.as_of, is_present=True)) if began is not None else None,
        since=began,
        measures=tuple(
            Measure(key=f"{found.score}-{one.organ.value}", label=one.organ.value, value=one.shown, at=one.at)
            for one in known
        ),
        evidence=tuple(dict.fromkeys(origin for one in known for origin in one.origins)),
        missing=tuple(_gap(one) for one in found.organs if one.is_open),
        sources=_sources(found),
        cautions=_cautions(found),
        decided_by="two points of organ failure above the own baseline, with infection" if decides else "",
        score=found.score,
        edition=table.PUBLIC_KEY,
        name=name,
        total=found.lowest if found.lowest == found.highest else None,
        lowest=found.lowest,
        highest=found.highest,
        parts=tuple(_part(one) for one in found.organs),
        unknown=tuple(one.organ.value for one in found.organs if one.is_open),
        is_secondary=True,
    )


def _sentence(name: str, found: OrganFailure, *, is_sepsis: bool) -> str:
    total = str(found.lowest) if found.lowest == found.highest else f"{found.lowest} to {found.highest}"
    failing = [f"{one.organ.value} {one.lowest} ({one.shown})" for one in found.organs if one.lowest]
    opened = [f"{one.organ.value} ({one.shown})" for one in found.organs if one.is_open and not one.lowest]
    own = f", own baseline {found.baseline}" if found.baseline else ""
    sepsis = (
        ", with infection: sepsis by Sepsis-3 unless it has another cause"
        if is_sepsis and found.score == table.SOFA
        else ""
    )
    left = f"; open: {listed(opened)}" if opened else ""
    return f"{name} {total}{own}{sepsis}: {listed(failing)}{left}."


def _gap(one: OrganPoints) -> Missing:
    return Missing(
        key=one.organ.value,
        label=one.shown.removesuffix(" not recorded"),
        reason=MissingReason.NOT_RECORDED,
        could_add=(0, one.highest - one.lowest),
    )


def _part(one: OrganPoints) -> ScorePart:
    return ScorePart(
        key=one.organ.value,
        label=one.organ.value,
        points=None if one.is_open else one.lowest,
        lowest=one.lowest,
        highest=one.highest,
        shown=one.shown,
        measured=(Measure(key=one.organ.value, label=one.organ.value, value=one.shown, at=one.at),)
        if one.at is not None
        else (),
        missing=_gap(one) if one.is_open else None,
    )


def _sources(found: OrganFailure) -> tuple[Source, ...]:
    read = () if found.score == table.SOFA else (table.SOFA_2_READ,)
    first = next(row.source for row in table.ROWS if row.score == found.score)
    return (
        first,
        *read,
        table.SEPSIS_3.source,
        table.URGENT.source,
        table.A_DAY.source,
        table.BASELINE_FROM.source,
    )


def _cautions(found: OrganFailure) -> tuple[str, ...]:
    said = [table.SEPSIS_3.text]
    if found.score == table.SOFA_2:
        said.insert(0, "SOFA-2 was read in a restatement, not at its publisher: it decides nothing here.")
    return tuple(said)
