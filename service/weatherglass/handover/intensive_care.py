"""In intensive care and theatre: what a ward's score may still ask for where a team stands at the bed.

Single signs, results and gases keep their urgency. Totals that were made to bring a team to a
ward call nobody by themselves; how they are worded is ours.
"""

from collections.abc import Iterable, Iterator

from weatherglass.facts.bedside import Bedside
from weatherglass.knowledge.ward import intensive_care as limits
from weatherglass.model.findings import Finding, Kind, ScoreFinding, Urgency
from weatherglass.model.plain import replace
from weatherglass.model.sources import Source

#: The question of infection that a total alone asks.
_ASKS_BY_TOTAL = "screen-for-infection"
#: The stratum that the total of wards gives a suspected infection.
_STRATUM = "sepsis-risk"
#: Made for intensive care itself.
_OF_INTENSIVE_CARE = frozenset({"sofa", "sofa-2", "phoenix"})


def without_ward_calls(bedside: Bedside, findings: Iterable[Finding]) -> Iterator[Finding]:
    """Yield the findings as they stand where a team is at the bed; as they are anywhere else."""
    if not (bedside.where.has_own_team or bedside.is_sedated):
        yield from findings
        return
    most = Urgency.PROMPT if bedside.ventilation is None else Urgency.ROUTINE
    for one in findings:
        if bedside.ventilation is not None and one.key == _ASKS_BY_TOTAL:
            continue  # The total that asks is that of the machine and of what sedates.
        if one.kind is Kind.SEPSIS_RISK and one.key == _STRATUM:
            yield replace(one, urgency=min(one.urgency, Urgency.URGENT), sources=_sources(one))
        else:
            yield _lowered(bedside, one, most) if _is_of_wards(one) else one


def _is_of_wards(finding: Finding) -> bool:
    if finding.kind is Kind.SCORE:
        return finding.key not in _OF_INTENSIVE_CARE
    return finding.kind in (Kind.SCORE_TREND, Kind.REPORTED_SCORE)


def _sources(finding: Finding) -> tuple[Source, ...]:
    return tuple(dict.fromkeys((*finding.sources, limits.WARD_SCORES.source, limits.AT_MOST_PROMPT.source)))


def _lowered(bedside: Bedside, finding: Finding, most: Urgency) -> Finding:
    lowered = replace(finding, urgency=min(finding.urgency, most), sources=_sources(finding))
    if not isinstance(lowered, ScoreFinding):
        return lowered
    here = bedside.where.value if bedside.where.has_own_team else "ventilated and sedated"
    return replace(
        lowered,
        cautions=(limits.WARD_SCORES.text.format(here),)
        if lowered.urgency or not lowered.is_secondary
        else (),
        response="",
        monitoring="",
        monitoring_interval=None,
        highest_tier="",
    )
