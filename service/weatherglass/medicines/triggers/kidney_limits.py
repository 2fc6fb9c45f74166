"""What the kidney limits of single medicines say of a line, in a stable function or on dialysis.

Silent in acute injury, whose rules are its own, but for what is refused at a function that is measured
so low, or in stages 2 and 3; in pregnancy and in children, whose function and doses are others; and
where the written dose is in order.
"""

from collections.abc import Iterator
from datetime import datetime
from decimal import Decimal
from typing import Final

from weatherglass.assessments.telling.kidneys.kidney_words import tenths
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.kidneys.estimates import ADULT_FROM, Estimate
from weatherglass.facts.kidneys.function_now import FunctionNow
from weatherglass.facts.medicines.doses import daily_milligrams
from weatherglass.facts.medicines.drug_chart import Line, Standing
from weatherglass.facts.medicines.named_lines import NamedLine
from weatherglass.facts.series.limits_met import surely
from weatherglass.facts.series.runs import first_of_run
from weatherglass.knowledge.medicines.groups import ByMember
from weatherglass.knowledge.medicines.limits import kidney_limits
from weatherglass.knowledge.medicines.limits.kidney_limits import LIMITS, WEIGHT_NEEDED, Band, KidneyLimit
from weatherglass.knowledge.medicines.rules.actions import Action
from weatherglass.knowledge.medicines.rules.rule import Trigger
from weatherglass.medicines.triggers.kidneys import (
    as_rate,
    on_dialysis,
    rate_below_since,
    rate_known,
    rate_label,
)
from weatherglass.medicines.triggers.met import MetRule, MetTrigger, age_caution, at_words, met_by
from weatherglass.model.findings import Measure
from weatherglass.model.numbers.quantities import Unit
from weatherglass.model.plain import replace
from weatherglass.model.record.care import DirectiveKind
from weatherglass.model.record.medicines import Route
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal
from weatherglass.model.tables.bands import Cutoff

#: Above this no row speaks.
_HIGHEST: Final = max(band.cutoff.limit.value for limit in LIMITS for band in limit.limits)
_LIMITS: Final = ByMember(LIMITS, lambda limit: limit.members)
_BY_MOUTH: Final = frozenset({Route.ORAL, Route.ENTERAL, Route.SUBLINGUAL})
_BY_VEIN: Final = frozenset({Route.INTRAVENOUS, Route.INTRAMUSCULAR, Route.SUBCUTANEOUS})
_INSTEAD: Final = "Cockcroft-Gault is asked for and no weight is known, so an eGFR stands in"
_ACTUAL_WEIGHT: Final = "Cockcroft-Gault with the actual weight: too high in obesity and with swelling."


def limits_may_speak(bedside: Bedside) -> bool:
    """Tell whether the function is low enough for any limit."""
    if bedside.is_pregnant_or_recently or (bedside.age is not None and bedside.age < ADULT_FROM):
        return False
    now = bedside.kidney_function
    if now.on_dialysis or bedside.aki_now.stage:
        return True
    values = [now.clearance.value] if now.clearance is not None else []
    values += [now.rate.value] if now.rate is not None else []
    return any(value <= _HIGHEST for value in values)


def met_limits(bedside: Bedside, of_line: NamedLine, *, injured: MetTrigger | None) -> tuple[MetRule, ...]:
    """Return what the limits say of one line, with the value that they rest on.

    Args:
        bedside: The patient.
        of_line: The medicine, with its words.
        injured: Acute kidney injury, in which only refusals speak.
    """
    if not limits_may_speak(bedside):
        return ()
    line = of_line.line
    meant = [
        each
        for each in _LIMITS.that_may_mean(line.classes, of_line.words)
        if of_line.is_one_of(each.members) and _speaks_of(each, line)
    ]
    if injured is not None:
        return tuple(said for each in meant for said in _in_injury(bedside, line, each, injured))
    return tuple(said for each in meant for said in _said(bedside, line, each))


def _in_injury(bedside: Bedside, line: Line, limit: KidneyLimit, injured: MetTrigger) -> Iterator[MetRule]:
    """Yield the refusals: by what is measured, too high until the kidneys recover, or else by the stage."""
    refused = _refused_by_measure(bedside, line, limit) if limit.measured_in_injury else []
    yield from refused or [(band.in_injury, injured) for band in limit.limits if band.in_injury is not None]


def _refused_by_measure(bedside: Bedside, line: Line, limit: KidneyLimit) -> list[MetRule]:
    now, episode = bedside.kidney_function, bedside.kidneys.episode
    value = now.clearance.value if now.clearance is not None else now.rate.value if now.rate else None
    holds = (band.cutoff for band in limit.limits if band.rule.action is Action.HOLD)
    if value is None or not any(cutoff.is_met_by(_tenth(value)) for cutoff in holds):
        return []
    if episode is not None and episode.recovering_since is not None:
        return []
    return [(rule, met) for rule, met in _said(bedside, line, limit) if rule.action is Action.HOLD]


def _speaks_of(limit: KidneyLimit, line: Line) -> bool:
    is_asked = not limit.only_drafts or line.standing is Standing.DRAFT
    return is_asked and _is_by_route(limit, line.route)


def _is_by_route(limit: KidneyLimit, route: Route) -> bool:
    if limit.route == "vein":
        return route in _BY_VEIN
    return limit.route != "mouth" or route in _BY_MOUTH or route is Route.UNKNOWN


def _said(bedside: Bedside, line: Line, limit: KidneyLimit) -> Iterator[MetRule]:
    now = bedside.kidney_function
    if now.on_dialysis:
        met = on_dialysis(bedside)
        met = replace(met, sources=(*met.sources, kidney_limits.DIALYSIS_SOURCE))
        if limit.key in kidney_limits.ASKED_ON_DIALYSIS:
            yield kidney_limits.ASKED_ON_DIALYSIS[limit.key], met
            return
        for rule, said in _by_band(line, limit.limits[0], met):
            yield kidney_limits.ON_DIALYSIS.get(rule.key, rule), said
        return
    by_clearance = limit.by == "clearance" or now.asks_clearance
    if by_clearance and now.clearance is not None:
        value = _tenth(now.clearance.value)
        band = next((each for each in limit.limits if each.cutoff.is_met_by(value)), None)
        if band is not None:
            yield from _by_band(line, band, _of_clearance(bedside, now.clearance, band))
        return
    if now.rate is None:
        return
    band = next((each for each in limit.limits if surely(each.cutoff, now.rate)), None)
    if band is not None:
        yield from _by_band(line, band, _of_rate(bedside, now, now.rate, band, asks_weight=by_clearance))
    elif limit.narrow and now.is_old and surely(kidney_limits.WEIGHT_NEEDED_BELOW, now.rate):
        yield WEIGHT_NEEDED, _met_rate(bedside, now.rate, kidney_limits.WEIGHT_NEEDED_BELOW)


def _tenth(value: Decimal) -> Decimal:
    return value.quantize(Decimal("0.1"))


def _by_band(line: Line, band: Band, met: MetTrigger) -> Iterator[MetRule]:
    """Return what a band says of the dose as written: nothing where that is in order."""
    daily = daily_milligrams(line.charted) if band.max_daily_mg is not None else None
    if daily is None or band.max_daily_mg is None:
        if not band.only_if_known:
            yield band.rule, met
    elif daily > band.max_daily_mg:
        yield band.if_too_much, met


# The value


def _of_clearance(bedside: Bedside, clearance: Estimate, band: Band) -> MetTrigger:
    value = _tenth(clearance.value)
    weight = f", {tenths(clearance.size.value)} kg" if clearance.size is not None else ""
    short = f"creatinine clearance {value} mL/min (Cockcroft-Gault{weight})"
    used = [clearance.creatinine, *([clearance.size] if clearance.size is not None else [])]
    return MetTrigger(
        trigger=Trigger.LOW_EGFR,
        short=short,
        said=at_words(short, clearance.creatinine.at, bedside.clock),
        measures=(
            Measure(
                "creatinine-clearance",
                clearance.equation.name,
                value,
                Unit.MILLILITRE_PER_MINUTE,
                clearance.creatinine.at,
            ),
        ),
        origins=tuple(dict.fromkeys(one.origin for one in used)),
        since=_clearance_since(bedside, band.cutoff, clearance.creatinine.at),
        sources=(band.cutoff.source, kidney_limits.MEASURE_SOURCE, kidney_limits.WEIGHT_SOURCE),
        cautions=(_ACTUAL_WEIGHT, *_steadiness(bedside), *age_caution(clearance.creatinine, bedside)),
    )


def _clearance_since(bedside: Bedside, cutoff: Cutoff, newest: datetime) -> datetime:
    def is_low(result: Measurement) -> bool:
        estimate = bedside.kidneys.clearance_of(result)
        return estimate is not None and cutoff.is_met_by(_tenth(estimate.value))

    first = first_of_run(bedside.kidneys.results, is_low)
    return first.at if first is not None else newest


def _of_rate(
    bedside: Bedside, now: FunctionNow, rate: Measurement, band: Band, *, asks_weight: bool
) -> MetTrigger:
    met = _met_rate(bedside, rate, band.cutoff)
    # Nobody is lifted onto a scale in recorded last days of life.
    ask = "." if bedside.directives(DirectiveKind.END_OF_LIFE) else ": weigh the patient."
    weight = (f"{_INSTEAD}{ask}",) if asks_weight else ()
    return replace(met, cautions=(*weight, rate_known(now.method), *_steadiness(bedside), *met.cautions))


def _met_rate(bedside: Bedside, rate: Measurement, cutoff: Cutoff) -> MetTrigger:
    method = bedside.kidney_function.method
    found = met_by(
        bedside,
        Trigger.LOW_EGFR,
        Signal.EGFR,
        rate,
        cutoff.source,
        rate_below_since(bedside, cutoff, (rate, method)),
        cautions=age_caution(rate, bedside),
        label=rate_label(method),
    )
    return as_rate(found, method)


def _steadiness(bedside: Bedside) -> tuple[str, ...]:
    unsteady = bedside.kidneys.unsteady_because
    return (f"It may not be steady: {unsteady[0]}.",) if unsteady else ()
