"""Stages of acute kidney injury from a creatinine series, by each of two criteria.

Both walk once over the series, oldest first, so that every past result has its own
stage and the state of the newest one (new, continuing, settling) can be read off.

Thresholds are compared in the unit they are printed in. Results in mg/dL are compared
in mg/dL where both results of a pair were reported so.
"""

from collections.abc import Callable, Sequence
from datetime import datetime, tzinfo
from decimal import Decimal
from typing import NamedTuple

from weatherglass.clinical.criteria import kdigo_aki_2012 as kdigo
from weatherglass.clinical.criteria import nhs_aki_2014 as nhs
from weatherglass.clinical.kidneys.windows import Reference, ReferenceMethod, Step, usable, walk
from weatherglass.clinical.record import Measurement
from weatherglass.clinical.tables import BandTable

_YEAR = nhs.YEAR_WINDOW.length


class KidneyStage(NamedTuple):
    """The stage of one result by one criterion.

    Attributes:
        result: The result that is staged.
        stage: 0 to 3, or None when there is nothing to compare with.
        ratio: Result over reference, exact.
        rise: Result minus the lowest of the previous 48 hours, in umol/L.
        rise_from: The result the rise is counted from.
        rule: Which rule decided, in words.
        other: The second reference where a criterion has two, for display.
        began: When the episode that the result belongs to was first met.
    """

    result: Measurement
    stage: int | None
    reference: Reference | None
    ratio: Decimal | None
    rise: Decimal | None
    rise_from: Measurement | None
    rule: str
    other: Reference | None = None
    began: datetime | None = None


def exact_stage_by_ratio(table: BandTable, value: Decimal, reference: Decimal) -> int:
    """Stage by ratio without rounding a quotient: value >= factor x reference.

    Examples:
        >>> exact_stage_by_ratio(kdigo.STAGE_BY_RATIO, Decimal(120), Decimal(80))
        1
        >>> exact_stage_by_ratio(kdigo.STAGE_BY_RATIO, Decimal("119.9"), Decimal(80))
        0
    """
    stage = table.bands[0].points
    for row in table.bands[1:]:
        if row.low is None or value < row.low * reference:
            break
        stage = row.points
    return stage


# NHS England, 2014


def _everyone_is_adult(_moment: datetime) -> bool:
    return True


def stage_nhs(
    results: Sequence[Measurement],
    *,
    is_adult: Callable[[datetime], bool] = _everyone_is_adult,
    calendar: tzinfo | None = None,
) -> tuple[KidneyStage, ...]:
    """Give every result of a series its AKI warning stage.

    The newest result is compared with the lowest of the previous 7 days (RV1), with the
    median of 8 to 365 days (RV2), and with the lowest of 48 hours (D). The higher ratio
    decides; both are kept. Children without an earlier result are compared with the
    upper reference limit that the laboratory printed beside the result.

    Args:
        results: Creatinine in umol/L, ascending in time, one a moment.
        is_adult: Whether the person was 18 or over at a moment.
        calendar: The zone in which RV1 and RV2 are counted in calendar days; None for
            elapsed time.

    Source:
        NHS England 2014, algorithm. Not covered here: results on dialysis and in the
        newborn, which the caller leaves out.
    """
    steps = walk(
        usable(results),
        recent=nhs.RECENT_WINDOW.length,
        rise=nhs.RISE_WINDOW.length,
        year=_YEAR,
        calendar=calendar,
    )
    return tuple(_nhs_one(step, is_adult=is_adult(step.result.at)) for step in steps)


def _nhs_one(step: Step, *, is_adult: bool) -> KidneyStage:
    index, recent, rise_from, median = step
    upper_limit = index.reference_high
    references = [r for r in (recent, median) if r is not None]
    if not references and not is_adult and upper_limit is not None:
        references = [Reference(upper_limit, ReferenceMethod.UPPER_LIMIT, ())]
    if not references:
        return KidneyStage(index, None, None, None, None, None, "no earlier result within 365 days")
    # The lower reference gives the higher ratio.
    reference, other = references[0], references[1] if len(references) > 1 else None
    if other is not None and other.value < reference.value:
        reference, other = other, reference
    rise = index.value - rise_from.value if rise_from is not None else None
    ratio = index.value / reference.value
    stage = exact_stage_by_ratio(nhs.STAGE_BY_RATIO, index.value, reference.value)
    rule = "ratio to the reference value"
    if stage:
        if is_adult and nhs.STAGE_3_CREATININE.is_met_by(index.value):
            stage, rule = 3, "ratio of at least 1.5 and creatinine above 354 \u00b5mol/L"
        elif not is_adult and upper_limit is not None and _over_three_limits(index.value, upper_limit):
            stage, rule = 3, "ratio of at least 1.5 and more than 3 times the upper limit for age"
    elif rise is not None and nhs.STAGE_1_RISE.is_met_by(rise):
        stage, rule = 1, "rise of more than 26 \u00b5mol/L within 48 hours"
    return KidneyStage(index, stage, reference, ratio, rise, rise_from, rule, other)


def _over_three_limits(value: Decimal, upper_limit: Decimal) -> bool:
    return nhs.STAGE_3_CHILD_TIMES_UPPER_LIMIT.is_met_by(value / upper_limit)


# KDIGO, 2012


def _no_rate(_result: Measurement) -> Decimal | None:
    return None


def stage_kdigo(
    results: Sequence[Measurement],
    *,
    estimated: Decimal | None = None,
    child_rate: Callable[[Measurement], Decimal | None] = _no_rate,
) -> tuple[KidneyStage, ...]:
    """Give every result of a series its KDIGO stage by creatinine.

    Reference, in this order (ours, in keeping with the guideline): the lowest result of
    the previous 7 days; else the median of 8 to 365 days, without the results of earlier
    injuries where at least two others remain; else an estimate where the site allows one.

    Once injury is found its reference stays for the episode: otherwise the second high
    result would make the first one look normal. It stays for 90 days at most, since what
    lasts longer is no longer acute.

    Args:
        results: Creatinine in umol/L, ascending in time, one a moment, none of them taken
            on renal replacement therapy.
        estimated: Back-calculated baseline, only when the site has switched it on.
        child_rate: The estimated filtration rate of a result under 18 years, else None.

    Source:
        KDIGO 2012, section 2, Table 2, serum creatinine. Urine output and renal
        replacement therapy are judged beside it.
    """
    kept = usable(results)
    injured: list[bool] = []
    stages: list[KidneyStage] = []
    episode: Reference | None = None
    began: datetime | None = None
    steps = walk(
        kept,
        recent=kdigo.RATIO_WINDOW.length,
        rise=kdigo.RISE_WINDOW.length,
        year=_YEAR,
        injured=injured,
    )
    for step in steps:
        at = step.result.at
        if began is not None and at - began > kdigo.DISEASE_LASTS.length:
            episode = began = None
        if episode is not None and episode.method is ReferenceMethod.ESTIMATED and step.median is not None:
            # By now there is a measured baseline, and an estimate gives way to it.
            episode = began = None
        reference = step.recent or step.median
        if reference is None and estimated is not None:
            reference = Reference(estimated, ReferenceMethod.ESTIMATED, ())
        if episode is not None and (reference is None or episode.value < reference.value):
            reference = _of_the_episode(episode)
        outcome = _kdigo_one(step, reference, child_rate, began)
        if outcome.stage:
            if episode is None or (reference is not None and reference.value < episode.value):
                episode = reference
            began = outcome.began
        else:
            episode = began = None
        stages.append(outcome)
        injured.append(bool(outcome.stage))
    return tuple(stages)


def _of_the_episode(reference: Reference) -> Reference:
    if reference.method in (ReferenceMethod.EPISODE, ReferenceMethod.ESTIMATED):
        return reference
    return Reference(
        reference.value,
        ReferenceMethod.EPISODE,
        reference.results,
        reference.printed,
        reference.chosen_from,
        reference.left_out,
    )


def _kdigo_one(
    step: Step,
    reference: Reference | None,
    child_rate: Callable[[Measurement], Decimal | None],
    began: datetime | None,
) -> KidneyStage:
    index, rise_from = step.result, step.rise_from
    if reference is None:
        return KidneyStage(index, None, None, None, None, None, "single result, cannot be staged")
    stage = _kdigo_ratio(index, reference)
    rise = index.value - rise_from.value if rise_from is not None else None
    rose = rise_from is not None and _kdigo_rise(index, rise_from)
    rule = "ratio to the reference value"
    if not stage and rose:
        stage, rule = 1, "rise of at least 26.5 \u00b5mol/L (0.3 mg/dL) within 48 hours"
    if stage and _kdigo_ceiling(index):
        stage, rule = 3, "acute rise to at least 353.6 \u00b5mol/L (4.0 mg/dL)"
    if stage in (1, 2):
        rate = child_rate(index)
        if rate is not None and kdigo.STAGE_3_CHILD_EGFR.is_met_by(rate):
            stage, rule = 3, "under 18 years, estimated filtration rate fell below 35"
    return KidneyStage(
        index,
        stage,
        reference,
        index.value / reference.value,
        rise,
        rise_from,
        rule,
        _the_other(step, reference),
        (began or index.at) if stage else None,
    )


def _the_other(step: Step, reference: Reference) -> Reference | None:
    """Return the reference that was not used, for display beside the one that was."""
    for one in (step.recent, step.median):
        if one is not None and one.results != reference.results:
            return one
    return None


def _kdigo_ratio(index: Measurement, reference: Reference) -> int:
    if index.printed is not None and reference.printed is not None:
        return exact_stage_by_ratio(kdigo.STAGE_BY_RATIO, index.printed, reference.printed)
    return exact_stage_by_ratio(kdigo.STAGE_BY_RATIO, index.value, reference.value)


def _kdigo_rise(index: Measurement, earlier: Measurement) -> bool:
    if index.printed is not None and earlier.printed is not None:
        return kdigo.STAGE_1_RISE_MASS.is_met_by(index.printed - earlier.printed)
    return kdigo.STAGE_1_RISE.is_met_by(index.value - earlier.value)


def _kdigo_ceiling(index: Measurement) -> bool:
    if index.printed is not None:
        return kdigo.STAGE_3_CREATININE_MASS.is_met_by(index.printed)
    return kdigo.STAGE_3_CREATININE.is_met_by(index.value)
