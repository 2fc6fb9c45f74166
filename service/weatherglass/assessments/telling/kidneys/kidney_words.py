"""How a kidney stage is said: its sentence parts, its numbers and its inputs."""

from collections.abc import Iterator, Sequence
from decimal import ROUND_DOWN, ROUND_HALF_UP, Decimal

from weatherglass.assessments.telling.basis import Input
from weatherglass.facts.kidneys.injury import Injury
from weatherglass.facts.kidneys.staging import KidneyStage, exact_stage_by_ratio
from weatherglass.facts.kidneys.urine import UrineStage, rate_words
from weatherglass.facts.kidneys.windows import Reference, ReferenceMethod
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.knowledge.kidneys import kdigo_aki_2012 as kdigo
from weatherglass.model.findings import Measure
from weatherglass.model.numbers.quantities import Unit, plain
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal

_MICRO = Unit.MICROMOLE_PER_LITRE


def creatinine_words(one: KidneyStage, *, with_stage: bool = False) -> str:
    """Say a creatinine against its reference."""
    said = f"creatinine {tenths(one.result.value)} \u00b5mol/L"
    if one.reference is not None and one.ratio is not None:
        said += f", {cut(one.ratio)} times {tenths(one.reference.value)} ({one.reference.method.value})"
    if one.rise is not None and one.rise > 0:
        said += f", up {tenths(one.rise)} in 48 hours"
    return f"{said} ({stage_word(one.stage)})" if with_stage and one.stage is not None else said


def against_the_year(one: KidneyStage) -> str:
    """Say what the median of the year makes of a stage that it does not share; empty where it does.

    Somebody who has lost muscle, or was given fluid, may stand at the own level of the year again.
    """
    median = one.other
    if not one.stage or median is None or median.method is not ReferenceMethod.MEDIAN_YEAR:
        return ""
    if exact_stage_by_ratio(kdigo.STAGE_BY_RATIO, one.result.value, median.value):
        return ""
    times = cut(one.result.value / median.value)
    return f"It is {times} times the median of 8 to 365 days before ({tenths(median.value)})."


def urine_words(one: UrineStage) -> str:
    """Say a urine output, or why it cannot be judged."""
    if one.stage is None or one.passed is None:
        return f"urine output cannot be judged, {one.rule}"
    hours = one.passed.window // 3600
    if one.above is not None:
        volume = tenths(one.passed.volume)
        return f"urine {volume} mL in {hours} hours, {one.rule}, no weight recorded ({stage_word(one.stage)})"
    if one.weight is None:
        return f"urine {tenths(one.passed.volume)} mL in {hours} hours ({stage_word(one.stage)})"
    rate = rate_words(one.passed.per_kilogram(one.weight.value))
    return f"urine {rate} over {hours} hours ({stage_word(one.stage)})"


def stage_word(stage: int) -> str:
    """Return 'stage 2', or 'no stage' for none."""
    return f"stage {stage}" if stage else "no stage"


def creatinine_measures(one: KidneyStage) -> Iterator[Measure]:
    """Return the numbers behind a stage by creatinine."""
    yield measure_of(Signal.CREATININE, one.result)
    if one.reference is not None:
        yield _reference_measure("reference-value", one.reference)
        yield Measure("reference-method", "reference method", one.reference.method.value)
        if one.reference.chosen_from > 1:
            yield Measure(
                "reference-count", "results the reference was chosen from", Decimal(one.reference.chosen_from)
            )
    if one.other is not None:
        yield _reference_measure("other-reference-value", one.other)
    if one.ratio is not None:
        yield Measure("ratio", "ratio to the reference value", two_places(one.ratio), Unit.RATIO)
    if one.rise is not None and one.rise_from is not None:
        yield Measure(
            "absolute-rise",
            "rise from the lowest of 48 hours",
            one.rise,
            _MICRO,
            one.rise_from.at,
            one.rise_from.origin,
        )


def urine_measures(one: UrineStage) -> Iterator[Measure]:
    """Return the numbers behind a stage by urine output."""
    if one.stage is not None:
        yield Measure("urine-stage", "stage by urine output", Decimal(one.stage), at=one.at)
    if one.passed is None or not one.passed.origins:
        return
    origin = one.passed.origins[-1]
    hours = Decimal(one.passed.seconds) / 3600
    yield Measure(
        "urine-volume",
        "urine volume",
        one.passed.volume.quantize(Decimal("0.1"), rounding=ROUND_HALF_UP),
        Unit.MILLILITRE,
        one.at,
        origin,
    )
    yield Measure(
        "urine-hours", "charted hours", hours.quantize(Decimal("0.1"), rounding=ROUND_HALF_UP), Unit.HOUR
    )
    if one.weight is not None:
        yield Measure(
            "urine-rate",
            "urine output",
            one.passed.per_kilogram(one.weight.value),
            Unit.MILLILITRE_PER_KILOGRAM_HOUR,
            one.at,
        )
        yield measure_of(Signal.WEIGHT, one.weight)


def inputs_of(found: Injury | KidneyStage, measured: Sequence[Measurement] = ()) -> Iterator[Input]:
    """Go through the inputs of a stage: creatinine in order of time, then urine and therapy."""
    if isinstance(found, KidneyStage):
        yield from _results_of(found)
        return
    shown = found.creatinine or found.old
    yield from _results_of(shown) if shown is not None else measured[-1:]
    if found.urine is not None and found.urine.passed is not None:
        yield from found.urine.passed.origins
        yield found.urine.weight
    if found.therapy is not None:
        yield found.therapy.session.origin


def _results_of(one: KidneyStage) -> list[Measurement]:
    results = [one.result]
    for reference in (one.reference, one.other):
        results.extend(reference.results if reference is not None else ())
    results += [each for each in (one.rise_from, one.already) if each is not None]
    return sorted(results, key=lambda m: m.at)


def _reference_measure(key: str, reference: Reference) -> Measure:
    source = reference.results[-1] if reference.results else None
    return Measure(
        key,
        f"reference creatinine ({reference.method.value})",
        reference.value.quantize(Decimal("0.1")) if not reference.results else reference.value,
        _MICRO,
        source.at if source is not None else None,
        source.origin if source is not None else None,
    )


def two_places(ratio: Decimal) -> Decimal:
    """Cut a ratio, not round it: 1.499 must not be shown as the 1.5 that it has not reached."""
    return ratio.quantize(Decimal("0.01"), rounding=ROUND_DOWN)


def cut(ratio: Decimal) -> str:
    """Write a ratio cut to two places."""
    return plain(two_places(ratio))


def tenths(value: Decimal) -> str:
    """Write a number to one place at most."""
    return plain(value.quantize(Decimal("0.1"), rounding=ROUND_HALF_UP))
