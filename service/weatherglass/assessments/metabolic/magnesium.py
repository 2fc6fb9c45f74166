"""Is it too much magnesium: given into a vein, with slow breathing, drowsiness or little urine?"""

from collections.abc import Iterator, Sequence
from datetime import datetime
from decimal import Decimal

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.assessments.telling.signs_while_given import (
    SignWhileGiven,
    altered_mind,
    sign_measures,
    sign_of,
)
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.drug_chart import Line, Standing
from weatherglass.facts.series.runs import present_run
from weatherglass.knowledge.metabolic import magnesium_infusion as criteria
from weatherglass.model.findings import Finding, Kind, Missing, MissingReason, Urgency
from weatherglass.model.numbers.quantities import plain, round_half_up
from weatherglass.model.record.medicines import Route
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.words.lists import inside_a_sentence, listed

_CLASSES = frozenset(each.value for each in criteria.CLASSES)


def assess_magnesium(bedside: Bedside) -> Iterator[Finding]:
    """Look for signs of too much while magnesium is given."""
    line = next((one for one in bedside.drug_chart.lines if _is_given(bedside, one)), None)
    if line is None or (bedside.asthma_is_acute and not line.is_running):
        return
    mind = altered_mind(bedside, criteria.SIGNS_COUNT_FOR.length)
    signs = [
        sign
        for sign in (_breathing(bedside), _reflexes(bedside), mind, _urine(bedside), _level(bedside))
        if sign
    ]
    if not signs:
        return
    is_urgent = any(sign.is_urgent for sign in signs)
    together = is_urgent and len(signs) > 1
    since = min(sign.since for sign in signs if sign.is_urgent or not is_urgent)
    head = f"Too much magnesium? {line.medicine.text} with {listed([sign.words for sign in signs])}"
    level = bedside.record.series(Signal.MAGNESIUM).recent(bedside.as_of, criteria.GIVEN_WITHIN.length)
    yield tell(
        About(Kind.METABOLIC, "magnesium-toxicity", Letter.BREATHING),
        Urgency.EMERGENCY if together else Urgency.URGENT if is_urgent else Urgency.PROMPT,
        rests_on(bedside, since, line.order, *signs, asked_since=_second(signs, since) if together else None),
        brief=head,
        asks=criteria.ASKS.text,
        measures=sign_measures(signs),
        missing=()
        if level is not None
        else (Missing(key="magnesium", label="magnesium", reason=MissingReason.NOT_RECORDED),),
        sources=(
            criteria.RESPIRATION,
            criteria.LEVEL,
            criteria.URINE,
            criteria.ASKS,
            criteria.NOT_IN_ASTHMA,
            *((criteria.TOGETHER,) if together else ()),
        ),
        decided_by="a sign of too much magnesium while it is given into a vein",
    )


def _second(signs: Sequence[SignWhileGiven], since: datetime) -> datetime:
    """Return when an urgent sign and a second one were first there together."""
    urgent = [sign.since for sign in signs if sign.is_urgent]
    return max(min(urgent), sorted(sign.since for sign in signs)[1], since)


def _is_given(bedside: Bedside, line: Line) -> bool:
    """Tell whether magnesium goes into a vein or muscle now, or went a short while ago."""
    if line.classes.isdisjoint(_CLASSES) or line.route not in (Route.INTRAVENOUS, Route.INTRAMUSCULAR):
        return False
    if line.is_running:
        return True
    dose = line.last_dose
    if dose is not None:
        return bedside.as_of - dose.until <= criteria.GIVEN_WITHIN.length
    began = line.since
    is_new = began is None or bedside.as_of - began <= 2 * criteria.GIVEN_WITHIN.length
    return line.standing is Standing.IN_USE and is_new


def _breathing(bedside: Bedside) -> SignWhileGiven | None:
    counts_for = criteria.SIGNS_COUNT_FOR.length
    return sign_of(bedside, Signal.RESPIRATION_RATE, criteria.RESPIRATION, counts_for)


def _reflexes(bedside: Bedside) -> SignWhileGiven | None:
    """Return tendon reflexes that somebody has written down as gone."""
    told = bedside.record.told_of(ConditionKind.LOST_REFLEXES)
    new = [
        (one.at, one)
        for one in told
        if one.at is not None and bedside.as_of - one.at <= criteria.GIVEN_WITHIN.length
    ]
    if not new:
        return None
    at, one = min(new, key=lambda each: each[0])
    return SignWhileGiven("reflexes", inside_a_sentence(one.text), at, at, (one.origin,))


def _level(bedside: Bedside) -> SignWhileGiven | None:
    return sign_of(bedside, Signal.MAGNESIUM, criteria.LEVEL, criteria.GIVEN_WITHIN.length)


def _urine(bedside: Bedside) -> SignWhileGiven | None:
    ends = bedside.kidneys.urine.ends
    if not ends or bedside.as_of - ends[-1] > criteria.SIGNS_COUNT_FOR.length:
        return None
    length = criteria.URINE_WITHIN.length
    windows = [bedside.kidneys.urine.over(end, length) for end in ends if ends[-1] - end <= 3 * length]
    low = [one.is_covered and criteria.URINE.is_met_by(one.volume) for one in windows]
    run = present_run([one.ended for one in windows], low)
    if run is None:
        return None
    passed = windows[-1]
    words = f"urine {plain(round_half_up(passed.volume, Decimal(1)))} mL in 4 hours"
    return SignWhileGiven("urine", words, passed.ended, run.since, passed.origins, is_urgent=False)
