"""Scores of which parts may stay open, each asked only where the record gives a reason to.

CURB-65 of adults with pneumonia, or a query of it, on record; the ISTH score of overt DIC beside platelets
that have become low, or a low fibrinogen, in an adult with a disorder that brings it; the 4Ts where platelets
are 30 % or more below their highest of a month and the fall began under heparin; a recorded 4AT by its total;
Phoenix, where a site wants it, in a child with suspected infection. All stand beside the score that was
chosen for the patient.
"""

from collections.abc import Iterator

from weatherglass.assessments.telling.open_scores import Interpretation, asked_from, band_words, open_score
from weatherglass.assessments.telling.score_findings import why_not_adult
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.blood.coagulation import dic_disorder, is_dic_asked, overt_dic
from weatherglass.facts.blood.heparin_fall import four_ts, platelet_fall
from weatherglass.facts.results.curb_65 import began_in_hospital, curb_65, pneumonia_on_record
from weatherglass.facts.results.open_points import OpenTotal, Points
from weatherglass.facts.results.phoenix import phoenix
from weatherglass.facts.series.limits_met import counting
from weatherglass.facts.series.runs import last_run
from weatherglass.knowledge.limits.context_choices import ANTICOAGULANTS
from weatherglass.knowledge.scores import four_at_2014 as four_at
from weatherglass.knowledge.scores.points import curb_65_2003 as curb
from weatherglass.knowledge.scores.points import four_ts_2006 as ts
from weatherglass.knowledge.scores.points import isth_dic_2001 as isth
from weatherglass.knowledge.scores.points import phoenix_2024 as px
from weatherglass.model.findings import Finding, Urgency
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import Cited
from weatherglass.model.words.lists import inside_a_sentence

_DIC_IS_OPEN = "overt DIC is not excluded"
_CIRCULATION = ("vasoactives", "lactate", "mean-pressure")


def assess_pneumonia(bedside: Bedside) -> Iterator[Finding]:
    """Say how severe a recorded pneumonia is."""
    said = pneumonia_on_record(bedside)
    if not said or began_in_hospital(bedside) or why_not_adult(bedside) is not None:
        return
    found = curb_65(bedside)
    rule = f"CURB-65 of {curb.SEVERE} or more"
    asked = asked_from(found, curb.SEVERE, Urgency.PROMPT, curb.ASKS.text, rule=rule)
    sources: tuple[Cited, ...] = (*curb.ROWS, curb.BANDS[0], curb.COUNTS_FOR, curb.CONFUSED)
    yield open_score(
        bedside,
        found,
        Interpretation(
            remark=band_words(curb.BANDS, found),
            asked=asked,
            letter=Letter.BREATHING,
            cautions=(curb.OUTSIDE_HOSPITAL.text,),
            sources=(*sources, *((curb.ASKS,) if asked.rule else ())),
            evidence=said,
        ),
    )


def assess_coagulation(bedside: Bedside) -> Iterator[Finding]:
    """Say whether coagulation fails all over."""
    disorder = dic_disorder(bedside)
    if disorder is None or not is_dic_asked(bedside):
        return
    words, origins = disorder
    found = overt_dic(bedside)
    rule = f"{isth.NAME} of {isth.OVERT} or more"
    asked = asked_from(found, isth.OVERT, Urgency.URGENT, isth.ASKS.text, rule=rule, open_words=_DIC_IS_OPEN)
    band = band_words(isth.BANDS, found)
    counts = (isth.WITH_A_DISORDER, isth.ASKED_PLATELETS, isth.COUNTS_FOR, isth.INR_IS_SHORT)
    thinned = bedside.on_chart(ANTICOAGULANTS)
    yield open_score(
        bedside,
        found,
        Interpretation(
            remark=f"{band}, with {inside_a_sentence(words)}",
            in_brief=band,
            asked=asked,
            letter=Letter.CIRCULATION,
            cautions=(isth.WITH_A_DISORDER.text, *((isth.ANTICOAGULANT.text,) if thinned else ())),
            sources=(*isth.ROWS, isth.BANDS[0], *counts, *((isth.ASKS,) if asked.rule else ())),
            evidence=origins,
        ),
    )


def assess_heparin(bedside: Bedside) -> Iterator[Finding]:
    """Say how likely heparin is the cause of a fall of platelets; what a record cannot say stays open."""
    fall = None if bedside.is_child else platelet_fall(bedside)
    if fall is None:
        return
    found = four_ts(bedside, fall)
    least = ts.NOT_LOW
    if found.lowest == least - 1 and found.highest >= least:  # What is open could reach it.
        soon, least, words = Urgency.PROMPT, least - 1, ts.TO_BE_COMPLETED
    else:
        soon, words = Urgency.URGENT, ts.ASKS
    asked = asked_from(found, least, soon, words.text, rule=f"4Ts of {least} or more")
    sources: tuple[Cited, ...] = (*ts.ROWS, *ts.BANDS, ts.BEFORE, ts.DAY_4)
    yield open_score(
        bedside,
        found,
        Interpretation(
            remark=f"{band_words(ts.BANDS, found)}, on {fall.heparin.name}",
            asked=asked,
            letter=Letter.CIRCULATION,
            sources=(*sources, *((words,) if asked.rule else ())),
            evidence=(fall.heparin.origin, fall.newest.origin),
        ),
    )


def assess_delirium(bedside: Bedside) -> Iterator[Finding]:
    """Say what the newest 4AT of the look-back comes to."""
    totals = [
        one
        for one in bedside.record.series(Signal.REPORTED_4AT).items
        if one.is_exact and 0 <= one.value <= four_at.MOST.value and one.value % 1 == 0
    ]
    if bedside.is_child or not counting(totals, bedside.as_of, bedside.choices.look_back):
        return
    newest = totals[-1]
    total = int(newest.value)
    run = last_run([one.at for one in totals], [one.value >= four_at.POSSIBLE for one in totals])
    since = run.since if run is not None and total >= four_at.POSSIBLE else None
    shown = f"reported {bedside.clock.at(newest.at)}"
    found = OpenTotal(
        four_at.KEY, (Points("total", total, total, since, 0, shown, newest.at, (newest.origin,)),)
    )
    rule = f"4AT of {four_at.POSSIBLE} or more"
    yield open_score(
        bedside,
        found,
        Interpretation(
            remark=band_words(four_at.BANDS, found),
            asked=asked_from(found, four_at.POSSIBLE, Urgency.PROMPT, four_at.ASKS.text, rule=rule),
            letter=Letter.DISABILITY,
            sources=(*four_at.BANDS, four_at.ASKS),
        ),
    )


def assess_phoenix(bedside: Bedside) -> Iterator[Finding]:
    """Say whether organs fail in a child with suspected infection, from one point on."""
    months = bedside.age_in_months
    is_child = months is not None and bedside.is_below(px.UNDER)
    if px.KEY not in bedside.choices.scores or bedside.infection is None or not is_child or months is None:
        return
    found = phoenix(bedside, months)
    if not found.lowest:
        return
    rule = "two points of Phoenix with infection"
    in_shock = any(one.lowest for one in found.parts if one.part in _CIRCULATION)
    means = f": {'septic shock' if in_shock else 'sepsis'} by Phoenix" if found.lowest >= px.LEAST else ""
    counts = (
        px.SEPSIS,
        px.SHOCK,
        px.COUNTS_FOR,
        px.ALERT,
        px.URGENT,
    )
    yield open_score(
        bedside,
        found,
        Interpretation(
            remark=f", with infection{means}",
            asked=asked_from(found, px.LEAST, Urgency.URGENT, px.URGENT.text, rule=rule),
            sources=(*px.ROWS, *counts),
            evidence=bedside.infection.origins,
        ),
    )
