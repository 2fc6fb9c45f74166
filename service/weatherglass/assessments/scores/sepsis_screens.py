"""What do the two old screens for sepsis say: qSOFA and SIRS?

Both only mean something where infection is suspected, and neither is enough alone: they
are shown beside the score that was chosen for the patient and never lead. Without
suspected infection a positive screen is said, with its meaninglessness.
"""

from collections.abc import Iterator, Sequence
from typing import Final

from weatherglass.assessments.telling.score_findings import (
    UNKNOWN_AGE,
    not_applicable,
    recent_results,
    score_finding,
    why_not_adult,
)
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.rounds.consciousness import number_of
from weatherglass.facts.rounds.scoring import SetResult, number_row, score_set
from weatherglass.facts.rounds.timeline import ObservationSet, with_results
from weatherglass.knowledge.scores import qsofa_2016, sirs_1992
from weatherglass.knowledge.scores import score_choices as ours
from weatherglass.model.findings import Finding, Urgency
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source
from weatherglass.model.tables.scores import ScoreDefinition, ScoreParameter

_IN_BLOOD: Final = (Signal.WHITE_CELLS, Signal.PCO2_ARTERIAL)
_ROWS: Final[tuple[ScoreParameter, ...]] = qsofa_2016.QSOFA.parameters
_BY_SCALE: Final[ScoreParameter] = qsofa_2016.QSOFA.alternatives[0]


def assess_sepsis_screens(bedside: Bedside) -> Iterator[Finding]:
    """Score the newest round by qSOFA and by SIRS where the site has chosen them."""
    if not bedside.sets:
        return
    for definition, results in (
        (qsofa_2016.QSOFA, _by_qsofa),
        (sirs_1992.SIRS, _by_sirs),
    ):
        if definition.key not in bedside.choices.scores:
            continue
        why = why_not_adult(bedside)
        if why is not None:
            yield not_applicable(definition, why, at=bedside.sets[-1].end, is_secondary=True)
            continue
        scored = results(bedside)
        if scored:
            yield _finding(bedside, definition, scored)


def _by_qsofa(bedside: Bedside) -> list[SetResult]:
    usual = bedside.confusion_is_usual
    return recent_results(
        bedside,
        bedside.sets,
        lambda one: score_set(qsofa_2016.QSOFA, one, qsofa_rows(one), confusion_is_usual=usual),
    )


def qsofa_rows(observed: ObservationSet) -> tuple[ScoreParameter, ...]:
    """Choose how mentation is judged: by a recorded coma scale that is below 15, else by ACVPU.

    Ours where both are recorded: either of them is enough for altered mentation, so a
    full coma scale does not clear a recorded change.
    """
    scale = number_row(_BY_SCALE, number_of(observed, Signal.GCS_TOTAL))
    return tuple(_BY_SCALE if row.key == _BY_SCALE.replaces and scale.points else row for row in _ROWS)


def _by_sirs(bedside: Bedside) -> list[SetResult]:
    rounds = with_results(
        bedside.sets, bedside.record, _IN_BLOOD, within=bedside.choices.look_back, as_of=bedside.as_of
    )
    return recent_results(
        bedside, rounds, lambda one: score_set(sirs_1992.SIRS, one, sirs_1992.SIRS.parameters)
    )


def _finding(bedside: Bedside, definition: ScoreDefinition, results: Sequence[SetResult]) -> Finding:
    result = results[-1]
    positive = result.tier is not None and result.tier.at_least != 0
    cautions = list(definition.notes) if positive else []
    sources: list[Source] = [ours.ADULT_FROM.source]
    if definition is sirs_1992.SIRS:
        sources.append(ours.RESULTS_IN_A_ROUND.source)
    else:
        sources.append(qsofa_2016.NEVER_ALONE.source)
    urgency = None
    if bedside.infection is None:
        urgency = Urgency.ROUTINE
        sources.append(ours.NEEDS_INFECTION.source)
        if positive:
            cautions.insert(0, "No infection is recorded or treated: the screen says nothing about sepsis.")
    if bedside.age is None:
        cautions.append(UNKNOWN_AGE)
    return score_finding(
        bedside,
        definition,
        results,
        remark=f", {result.tier.word}" if result.tier is not None else "",
        urgency=urgency,
        cautions=cautions,
        sources=tuple(sources),
        is_secondary=True,
    )
