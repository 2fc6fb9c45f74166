"""Is there delirium: a recorded 4AT, by its total."""

from collections.abc import Iterator

from weatherglass.assessments.telling.open_scores import Interpretation, asked_from, band_words, open_score
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.results.open_points import OpenTotal, Points
from weatherglass.facts.series.limits_met import counting
from weatherglass.facts.series.runs import last_run
from weatherglass.knowledge.scores import four_at_2014 as score
from weatherglass.model.findings import Finding, Urgency
from weatherglass.model.signals import Letter, Signal


def assess_delirium(bedside: Bedside) -> Iterator[Finding]:
    """Say what the newest 4AT of the look-back comes to."""
    totals = [
        one
        for one in bedside.record.series(Signal.REPORTED_4AT).items
        if one.is_exact and 0 <= one.value <= score.MOST.value and one.value % 1 == 0
    ]
    if bedside.is_child or not counting(totals, bedside.as_of, bedside.choices.look_back):
        return
    newest = totals[-1]
    total = int(newest.value)
    is_possible = total >= score.POSSIBLE
    run = last_run([one.at for one in totals], [one.value >= score.POSSIBLE for one in totals])
    since = run.since if run is not None and is_possible else None
    rule = f"4AT of {score.POSSIBLE} or more"
    shown = f"reported {bedside.clock.at(newest.at)}"
    found = OpenTotal(
        score.KEY, (Points("total", total, total, since, 0, shown, newest.at, (newest.origin,)),)
    )
    yield open_score(
        bedside,
        found,
        Interpretation(
            name=score.NAME,
            edition=score.PUBLIC_KEY,
            remark=band_words(score.BANDS, found),
            asked=asked_from(found, score.POSSIBLE, Urgency.PROMPT, score.ASKS.text, rule=rule),
            letter=Letter.DISABILITY,
            sources=(*score.BANDS, score.ASKS),
        ),
    )
