"""How well do the kidneys filter, by the newest creatinine, and can the estimate be relied on?

No equation holds while creatinine is changing, in pregnancy or on dialysis: the number is
given with that said beside it, and it never makes a dose safe.
"""

from collections.abc import Iterator
from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.assessments.telling.kidneys.kidney_words import tenths
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.kidneys.estimates import Estimate
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.knowledge.kidneys.equations import DEFAULT_ADULT_EQUATION_SOURCE, egfr_in_words
from weatherglass.model.findings import Finding, Kind, Measure, Missing, Urgency
from weatherglass.model.numbers.quantities import Unit, plain
from weatherglass.model.plain import replace
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import Cited
from weatherglass.model.words.lists import capital

_KEY: Final = "filtration-rate"


def assess_kidney_function(bedside: Bedside) -> Iterator[Finding]:
    """Estimate the filtration rate, and creatinine clearance where a weight is recorded."""
    results = bedside.kidneys.results
    if not results:
        return
    newest = results[-1]
    rate = bedside.kidneys.rate_of(newest)
    if isinstance(rate, Missing):
        yield _not_estimated(bedside, newest, rate)
    else:
        yield _finding(bedside, rate, bedside.kidneys.clearance_of(newest))


def _not_estimated(bedside: Bedside, newest: Measurement, missing: Missing) -> Finding:
    said = f"Kidney function was not estimated from creatinine {plain(newest.value)} \u00b5mol/L"
    return tell(
        About(Kind.KIDNEY_FUNCTION, _KEY, Letter.CIRCULATION),
        Urgency.ROUTINE,
        rests_on(bedside, None, (Signal.CREATININE, newest)),
        brief=said,
        asks=f"{missing.label} {missing.reason.value}",
        missing=(missing,),
        sources=(DEFAULT_ADULT_EQUATION_SOURCE,),
    )


def _finding(bedside: Bedside, rate: Estimate, clearance: Estimate | None) -> Finding:
    why = bedside.kidneys.unsteady_because
    return tell(
        About(Kind.KIDNEY_FUNCTION, _KEY, Letter.CIRCULATION),
        Urgency.ROUTINE,
        rests_on(
            bedside,
            None,
            rate.creatinine,
            rate.size,
            clearance.size if clearance is not None else None,
            at=rate.creatinine.at,
        ),
        brief=f"eGFR {egfr_in_words(rate.value)} mL/min/1.73 m\u00b2{', not to be relied on' if why else ''}",
        sentence=_sentence(bedside, rate, clearance, why),
        measures=_measures(bedside, rate, clearance, why),
        sources=_sources(rate, clearance),
        cautions=_cautions(rate, clearance, why),
    )


def _sentence(bedside: Bedside, rate: Estimate, clearance: Estimate | None, why: tuple[str, ...]) -> str:
    when = bedside.clock.at(rate.creatinine.at)
    said = f"eGFR {egfr_in_words(rate.value)} mL/min/1.73 m\u00b2 ({rate.equation.name}) {when}"
    if clearance is not None and clearance.size is not None:
        said += (
            f"; creatinine clearance {_whole(clearance.value)} mL/min (Cockcroft-Gault, "
            f"{tenths(clearance.size.value)} kg)"
        )
    return f"{said}. Not to be relied on: {'; '.join(why)}." if why else f"{said}."


def _measures(
    bedside: Bedside, rate: Estimate, clearance: Estimate | None, why: tuple[str, ...]
) -> Iterator[Measure]:
    at = rate.creatinine.at
    yield Measure(
        "egfr", f"estimated filtration rate ({rate.equation.name})", _whole(rate.value), Unit.EGFR, at
    )
    yield Measure("equation", "equation", rate.equation.key)
    yield Measure("unsteady-state", "unsteady state", "; ".join(why) if why else "no")
    yield measure_of(Signal.CREATININE, rate.creatinine)
    if rate.size is not None:
        yield measure_of(Signal.HEIGHT, rate.size)
    if clearance is not None and clearance.size is not None:
        yield Measure(
            "creatinine-clearance",
            clearance.equation.name,
            _whole(clearance.value),
            Unit.MILLILITRE_PER_MINUTE,
            at,
        )
        yield measure_of(Signal.WEIGHT, clearance.size)
    reported = bedside.record.series(Signal.EGFR).last_by(bedside.as_of)
    if reported is not None and reported.at == at:
        yield replace(measure_of(Signal.EGFR, reported), key="reported-egfr")


def _sources(rate: Estimate, clearance: Estimate | None) -> tuple[Cited, ...]:
    sources = [rate.equation.source]
    if rate.size is None:
        sources.append(DEFAULT_ADULT_EQUATION_SOURCE)
    if clearance is not None:
        sources.append(clearance.equation.source)
    return tuple(sources)


def _cautions(rate: Estimate, clearance: Estimate | None, why: tuple[str, ...]) -> Iterator[str]:
    if why:
        yield "An estimate never makes a dose safe, least of all this one."
    if rate.size is not None:
        yield f"{capital(rate.equation.limits)}."
    if clearance is not None:
        yield "Creatinine clearance depends on the weight used: the newest one recorded."


def _whole(value: Decimal) -> Decimal:
    return value.quantize(Decimal(1), rounding=ROUND_HALF_UP)
