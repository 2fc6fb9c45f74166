"""Do organs fail, and more of them than is usual for this patient: SOFA, and SOFA-2 where a site wants it?

Shown beside the score that was chosen for the patient, from two points on; what is not recorded
leaves its points open and is named.
"""

from collections.abc import Iterator
from datetime import datetime
from typing import Final

from weatherglass.assessments.telling.open_scores import Asked, Interpretation, open_score
from weatherglass.assessments.telling.score_findings import why_not_adult
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.infection.antimicrobial import last_dose
from weatherglass.facts.results.open_points import OpenTotal
from weatherglass.facts.results.organ_failure import organ_failure
from weatherglass.knowledge.scores.points import organ_failure as table
from weatherglass.model.findings import Finding, ScoreFinding, Urgency
from weatherglass.model.sources import Cited
from weatherglass.model.tables.risk_tables import Risk
from weatherglass.model.times.known_times import earliest

_LEAST_SHOWN: Final = 2

_RULE = "two points of organ failure above the own baseline, with infection"


def assess_organ_failure(bedside: Bedside) -> Iterator[Finding]:
    """Count the organs of the last day by the scores that the site has chosen, in adults."""
    if why_not_adult(bedside) is not None:
        return
    for key in (table.SOFA, table.SOFA_2):
        if key in bedside.choices.scores:
            found = organ_failure(bedside, key)
            if found.lowest >= _LEAST_SHOWN:
                yield _finding(bedside, found)


def _finding(bedside: Bedside, found: OpenTotal) -> ScoreFinding:
    since = found.reached_since(table.CHANGE)
    counts = since is not None and _is_infected(bedside) and found.score == table.SOFA
    decides = counts and found.gained_now >= table.CHANGE
    better = ", less than two by the newest values" if counts and not decides else ""
    began = since or earliest(one.began for one in found.parts)
    own = f", own baseline {found.baseline}" if found.baseline else ""
    sepsis = ", with infection: sepsis by Sepsis-3 unless it has another cause" if decides else ""
    return open_score(
        bedside,
        found,
        Interpretation(
            in_brief=f"{own}{', with infection' if decides else ''}",
            names_parts=True,
            remark=f"{own}{sepsis}{better}",
            asked=Asked(_how_soon(bedside, began), since=_since_both(bedside, began), rule=_RULE)
            if decides
            else Asked(since=began),
            cautions=_cautions(found),
            sources=_sources(found),
        ),
    )


def _since_both(bedside: Bedside, began: datetime | None) -> datetime | None:
    """Return when organs failed beside an infection: a count that was low for days before asked for nobody.

    What failed within a day before it was written down is part of it.
    """
    infected = bedside.infection.since if bedside.infection is not None else None
    if began is None or infected is None:
        return began
    return infected if infected - began > table.A_DAY.length else began


def _is_infected(bedside: Bedside) -> bool:
    """Tell whether infection is suspected; not where only an order says so and the risk by score is low."""
    stratum = bedside.sepsis_stratum
    return bedside.infection is not None and not (stratum is not None and stratum.would_be_high)


def _how_soon(bedside: Bedside, began: datetime | None) -> Urgency:
    """Return how soon: with a low score less, where it is known and treated, or may be for prevention.

    Less too where what is long known is no infection by bacteria, such as tuberculosis.
    """
    infection, stratum = bedside.infection, bedside.sepsis_stratum
    is_low = bedside.neutropenia_is_treated or (stratum is not None and stratum.by_round < Risk.MODERATE)
    # Asleep on purpose and treated, with no single 3 but of that sleep, nobody has a stratum.
    is_low |= stratum is None and bedside.is_sedated
    if infection is None or not is_low:
        return Urgency.URGENT
    is_old = began is not None and bedside.as_of - began > table.KNOWN_AFTER.length
    if is_old and last_dose(bedside.antibacterial_doses, bedside.as_of) is not None:
        return Urgency.ROUTINE
    is_of_long = infection.since is not None and bedside.as_of - infection.since > table.KNOWN_AFTER.length
    is_another = infection.cause is not None and is_of_long
    return Urgency.PROMPT if infection.by_orders_alone or is_another else Urgency.URGENT


def _sources(found: OpenTotal) -> tuple[Cited, ...]:
    read = () if found.score == table.SOFA else (table.SOFA_2_READ,)
    first = next(row.source for row in table.ROWS if row.score == found.score)
    return (
        first,
        *read,
        table.SEPSIS_3,
        table.URGENT,
        table.KNOWN_AFTER,
        table.A_DAY,
        table.BASELINE_FROM,
        *_of_alertness(found),
    )


def _of_alertness(found: OpenTotal) -> Iterator[Cited]:
    """Yield why the brain has the points that it has, where no coma scale is recorded."""
    brain = next(one for one in found.parts if one.part == table.Organ.BRAIN)
    if brain.is_stand_in:
        yield table.ALERT_IS_15


def _cautions(found: OpenTotal) -> tuple[str, ...]:
    said = [table.SEPSIS_3.text]
    if found.score == table.SOFA_2:
        said.insert(0, "SOFA-2 was read in a restatement, not at its publisher: it decides nothing here.")
    return tuple(said)
