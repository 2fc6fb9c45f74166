"""What does a venous gas decide, and does anything of it ask for an arterial one?

Outside shock venous pH and bicarbonate stand in for arterial ones, so a metabolic acidosis is
read off a venous sample. Carbon dioxide is higher in veins: a low one makes retention unlikely,
a very high one shows it, and only what lies between asks for an arterial sample.
"""

from collections.abc import Iterator

from weatherglass.assessments.telling.basis import About, Course, rests_on, tell
from weatherglass.assessments.telling.ventilation_words import (
    consider,
    critical_care_now,
    mask_words,
    numbers_that_disagree,
)
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.breathing.gas_samples import Acid, GasSample, recent_sample
from weatherglass.facts.breathing.gas_steps import gas_steps
from weatherglass.facts.metabolic.anion_gap import acidosis_words
from weatherglass.facts.series.runs import run_at_level
from weatherglass.facts.treatment_limits import Treatment
from weatherglass.knowledge.breathing import blood_gas as gas
from weatherglass.knowledge.limits import critical_results as limits
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import our_choice
from weatherglass.model.words.value_words import limit_words

_VENOUS = our_choice(
    "a venous pH of 7.20 or less is an emergency; a bicarbonate below 18, carbon dioxide above 8.7 kPa or "
    "a pH of 7.55 or more is 'urgent'; other acid venous blood 'prompt'"
)


def assess_venous_gas(bedside: Bedside) -> Iterator[Finding]:
    """Say what the newest venous sample shows, where no arterial one has followed."""
    samples = bedside.venous_gases
    newest = recent_sample(samples, bedside.as_of, bedside.choices.gas_counts_for)
    if newest is None:
        return
    arterial = bedside.arterial_gases
    if arterial and arterial[-1].ph.at >= newest.ph.at:
        return  # The arterial sample says more.
    if newest.metabolic and _is_over(bedside, newest):
        return
    run = run_at_level([s.ph.at for s in samples], [_level(s) for s in samples])
    is_met = run is not None and run.is_present
    of_chloride = bedside.chloride_after_ketones is not None
    what = _what(bedside, newest)
    yield tell(
        About(Kind.BLOOD_GAS, "venous-gas", Letter.BREATHING),
        min(_urgency(bedside, newest), Urgency.PROMPT) if of_chloride else _urgency(bedside, newest),
        rests_on(
            bedside,
            run if is_met else Course(newest.ph.at),
            *newest.parts,
            at=newest.ph.at,
            asked_since=bedside.ketoacidosis.ketones_over_since if of_chloride else None,
        ),
        brief=_brief(newest, what),
        sentence=f"Venous gas{what}: {newest.numbers}{_answer(bedside, newest)}.",
        sources=(
            _VENOUS,
            gas.VENOUS_STANDS_IN,
            gas.VENOUS_NOT_HIGH,
            *((gas.SEVERE_ACIDAEMIA,) if newest.is_severe else ()),
            *((gas.VENOUS_KEPT_PH,) if newest.is_acid and newest.is_surely_high else ()),
        ),
        cautions=(
            *((gas.VENOUS_STANDS_IN.text,) if newest.metabolic else ()),
            *numbers_that_disagree(newest),
        ),
        steps=gas_steps(bedside, newest),
        decided_by=_rule(newest),
    )


def _is_over(bedside: Bedside, sample: GasSample) -> bool:
    """Tell whether a later bicarbonate of whatever sample is no longer low."""
    later = bedside.record.series(Signal.BICARBONATE).recent(bedside.as_of, bedside.choices.gas_counts_for)
    if later is None or not later.is_exact or later.at <= sample.ph.at:
        return False
    return not limits.BICARBONATE_LOW.is_met_by(later.value)


def _brief(sample: GasSample, what: str) -> str:
    if not what:
        return f"Venous gas: {sample.numbers}"
    by_acid = sample.metabolic or not sample.is_surely_high
    return f"Venous gas{what}, {sample.acid_words if by_acid else sample.carbon_dioxide_words}"


def _level(sample: GasSample) -> int:
    """Rank a venous sample: 3 severe, 2 surely far off, 1 acid with something left open, 0 neither."""
    if sample.is_severe:
        return 3
    if sample.is_severely_alkaline or sample.metabolic > Acid.LOW:
        return 2
    if not sample.is_acid:
        return 0
    if sample.is_surely_high:
        return 2
    return int(bool(sample.metabolic) or not _is_low(sample) or sample.bicarbonate is None)


def _is_low(sample: GasSample) -> bool:
    return sample.pco2 is not None and gas.VENOUS_NOT_HIGH.is_met_by(sample.pco2.value)


def _urgency(bedside: Bedside, sample: GasSample) -> Urgency:
    if sample.is_acid and sample.is_surely_high and bedside.unroused_since is not None:
        return Urgency.EMERGENCY
    return Urgency(_level(sample))


def _what(bedside: Bedside, sample: GasSample) -> str:
    """Name what the sample decides by itself."""
    severe = "severe " if sample.is_severe else ""
    if sample.metabolic:
        kept = " with carbon dioxide kept as well" if sample.is_surely_high else ""
        return f", {severe}{acidosis_words(bedside.record, sample)}{kept}"
    if sample.is_acid and sample.is_surely_high:
        return f", {severe}respiratory acidosis whatever the vessel"
    if sample.is_severe:
        return ", severe acidaemia"
    return ", severe alkalaemia" if sample.is_severely_alkaline else ""


def _answer(bedside: Bedside, sample: GasSample) -> str:
    """Say what follows; another sample only where this one leaves it open."""
    is_critical = gas.CRITICAL_ACIDAEMIA.is_met_by(sample.ph.value)
    kept = sample.is_acid and sample.is_surely_high
    if is_critical or (kept and bedside.unroused_since is not None):
        return f": {critical_care_now(bedside)}"
    if kept and not sample.metabolic:
        return f": {consider(bedside, Treatment.NON_INVASIVE_VENTILATION, mask_words(bedside))}"
    if not sample.is_acid or sample.metabolic:
        return ""
    if _is_low(sample):
        return ": an arterial carbon dioxide above 6.7 kPa is unlikely"
    sample_of = "a capillary or arterial" if bedside.is_child else "an arterial"
    return f": {sample_of} sample shows whether carbon dioxide is kept"


def _rule(sample: GasSample) -> str:
    acid = f"a venous pH {limit_words(limits.ACIDAEMIA)}"
    if sample.is_severe:
        return f"a venous pH of {limit_words(gas.SEVERE_ACIDAEMIA)}"
    if sample.metabolic:
        low = limits.BICARBONATE_VERY_LOW if sample.metabolic > Acid.LOW else limits.BICARBONATE_LOW
        return f"{acid} with a bicarbonate {limit_words(low, with_unit=False)}"
    if sample.is_severely_alkaline:
        return f"a venous pH of {limit_words(gas.SEVERE_ALKALAEMIA)}"
    return acid if sample.is_acid else ""
