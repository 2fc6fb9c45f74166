"""Stages of acute kidney injury from a creatinine series, by each of two criteria.

Both walk once over the series, oldest first, so that every past result has its own
stage and the state of the newest one (new, continuing, settling) can be read off.

Thresholds are compared in the unit they are printed in. Results in mg/dL are compared
in mg/dL where both results of a pair were reported so.
"""

from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta, tzinfo
from decimal import ROUND_FLOOR, Decimal
from enum import StrEnum
from typing import Final

from weatherglass.facts.kidneys.windows import Reference, ReferenceMethod, Step, usable, walk
from weatherglass.knowledge.kidneys import kdigo_aki_2012 as kdigo
from weatherglass.knowledge.kidneys import nhs_aki_2014 as nhs
from weatherglass.knowledge.kidneys.kidney_baseline import AS_HIGH_WITHIN
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.values import Measurement
from weatherglass.model.tables.bands import BandTable

_YEAR = nhs.YEAR_WINDOW.length
_HOUR = timedelta(hours=1)


_RISEN: Final = f"ratio of at least {nhs.STAGE_BY_RATIO.bands[1].low}"


class Rule(StrEnum):
    """Which rule decided a stage, or why there is none; the two criteria have limits of their own."""

    RATIO = "ratio to the reference value"
    RISE_KDIGO = (
        f"rise of at least {kdigo.STAGE_1_RISE.limit.value} \u00b5mol/L "
        f"({kdigo.STAGE_1_RISE_MASS.limit.value} mg/dL) within {kdigo.RISE_WINDOW.length // _HOUR} hours"
    )
    RISE_NHS = (
        f"rise of more than {nhs.STAGE_1_RISE.limit.value} \u00b5mol/L "
        f"within {nhs.RISE_WINDOW.length // _HOUR} hours"
    )
    HEIGHT_KDIGO = (
        f"acute rise to at least {kdigo.STAGE_3_CREATININE.limit.value} \u00b5mol/L "
        f"({kdigo.STAGE_3_CREATININE_MASS.limit.value} mg/dL)"
    )
    HEIGHT_NHS = f"{_RISEN} and creatinine above {nhs.STAGE_3_CREATININE.limit.value} \u00b5mol/L"
    OF_A_CHILD_NHS = (
        f"{_RISEN} and more than {nhs.STAGE_3_CHILD_TIMES_UPPER_LIMIT.limit.value} times the upper limit "
        "for age"
    )
    OF_A_CHILD_KDIGO = (
        f"under {kdigo.ADULT_AGE.years} years, estimated filtration rate fell below "
        f"{kdigo.STAGE_3_CHILD_EGFR.limit.value}"
    )
    NO_EARLIER = f"no earlier creatinine within {_YEAR.days} days"
    #: Of two results with one date nobody knows which came first.
    NO_ORDER = "the only other creatinine has the same date, and nothing says which came first"
    NOT_OF_THIS_WEEK = "creatinine was as high more than 7 days before"
    NOT_STAGED = "not staged"


class KidneyStage(Plain, frozen=True):
    """The stage of one result by one criterion.

    Attributes:
        result: The result that is staged.
        stage: 0 to 3, or None when there is nothing to compare with.
        ratio: Result over reference, exact.
        rise: Result minus the lowest of the previous 48 hours, in umol/L.
        rise_from: The result the rise is counted from.
        other: The second reference where a criterion has two, for display.
        began: When the episode that the result belongs to was first met.
        already: The newest result of 8 to 90 days before, where that was as high already: the rise
            is then not of this week and is not staged.
        rise_left_out: Whether the rule of 48 hours was left out, for want of a time.
        unordered: Another result of the same date, of which nobody knows whether it came first.
    """

    result: Measurement
    stage: int | None
    reference: Reference | None
    ratio: Decimal | None
    rise: Decimal | None
    rise_from: Measurement | None
    rule: Rule
    other: Reference | None = None
    began: datetime | None = None
    already: Measurement | None = None
    rise_left_out: bool = False
    unordered: Measurement | None = None


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
    zone: tzinfo = UTC,
    by_calendar: bool = False,
) -> tuple[KidneyStage, ...]:
    """Give every result of a series its AKI warning stage.

    The newest result is compared with the lowest of the previous 7 days (RV1), with the
    median of 8 to 365 days (RV2), and with the lowest of 48 hours (D). The higher ratio
    decides; both are kept. Children without an earlier result are compared with the
    upper reference limit that the laboratory printed beside the result.

    Args:
        results: Creatinine in umol/L, ascending in time, one a moment.
        is_adult: Whether the person was 18 or over at a moment.
        zone: Where days are counted.
        by_calendar: Whether RV1 and RV2 are counted in calendar days instead of elapsed time.

    Source:
        NHS England 2014, algorithm. Not covered here: results on dialysis and in the
        newborn, which the caller leaves out.
    """
    steps = walk(
        usable(results),
        recent=nhs.RECENT_WINDOW.length,
        rise=nhs.RISE_WINDOW.length,
        year=_YEAR,
        zone=zone,
        by_calendar=by_calendar,
    )
    return tuple(_nhs_one(step, is_adult=is_adult(step.result.at)) for step in steps)


def _nhs_one(step: Step, *, is_adult: bool) -> KidneyStage:
    index, recent, rise_from, median = step.result, step.recent, step.rise_from, step.median
    upper_limit = index.reference_high
    references = [r for r in (recent, median) if r is not None]
    if not references and not is_adult and upper_limit is not None:
        references = [Reference(upper_limit, ReferenceMethod.UPPER_LIMIT, ())]
    if not references:
        return _nothing_to_compare(step)
    # The lower reference gives the higher ratio.
    reference, other = references[0], references[1] if len(references) > 1 else None
    if other is not None and other.value < reference.value:
        reference, other = other, reference
    rise = index.value - rise_from.value if rise_from is not None else None
    ratio = index.value / reference.value
    stage = exact_stage_by_ratio(nhs.STAGE_BY_RATIO, index.value, reference.value)
    rule = Rule.RATIO
    if stage:
        if is_adult and nhs.STAGE_3_CREATININE.is_met_by(index.value):
            stage, rule = 3, Rule.HEIGHT_NHS
        elif not is_adult and upper_limit is not None and _over_three_limits(index.value, upper_limit):
            stage, rule = 3, Rule.OF_A_CHILD_NHS
    elif rise is not None and nhs.STAGE_1_RISE.is_met_by(rise):
        stage, rule = 1, Rule.RISE_NHS
    return KidneyStage(
        index,
        stage,
        reference,
        ratio,
        rise,
        rise_from,
        rule,
        other,
        rise_left_out=step.rise_left_out,
        unordered=step.unordered,
    )


def _nothing_to_compare(step: Step) -> KidneyStage:
    return KidneyStage(
        step.result,
        *(None,) * 5,
        Rule.NO_EARLIER if step.unordered is None else Rule.NO_ORDER,
        rise_left_out=step.rise_left_out,
        unordered=step.unordered,
    )


def _over_three_limits(value: Decimal, upper_limit: Decimal) -> bool:
    return nhs.STAGE_3_CHILD_TIMES_UPPER_LIMIT.is_met_by(value / upper_limit)


# KDIGO, 2012


def _no_rate(_result: Measurement) -> Decimal | None:
    return None


def stage_kdigo(
    results: Sequence[Measurement],
    *,
    zone: tzinfo = UTC,
    estimated: Decimal | None = None,
    child_rate: Callable[[Measurement], Decimal | None] = _no_rate,
) -> tuple[KidneyStage, ...]:
    """Give every result of a series its KDIGO stage by creatinine.

    Reference (ours, in keeping with the guideline): of the lowest result of the previous 7
    days and the median of 8 to 365 days the one that gives the higher stage, so that a result
    of this week that is part of the rise already does not hide it (Case A of chapter 2.4). Results of earlier
    injuries are left out of the median where at least two others remain. An estimate stands
    in where there is neither and the site allows one.

    Where results of 8 to 90 days before were as high already, the rise is not of this week: it
    is acute kidney disease or a lasting change and has no stage, unless a rise within the 7 days
    is one of its own.

    Once injury is found its reference stays for the episode: otherwise the second high
    result would make the first one look normal. The episode ends as recovery is confirmed, by two
    results at least 24 hours apart without a stage, and after 90 days, since what lasts longer is
    no longer acute.

    Args:
        results: Creatinine in umol/L, ascending in time, one a moment, none of them taken
            on renal replacement therapy.
        zone: Where days are counted.
        estimated: Back-calculated baseline, only when the site has switched it on.
        child_rate: The estimated filtration rate of a result under 18 years, else None.

    Source:
        KDIGO 2012, section 2, Table 2, serum creatinine. Urine output and renal
        replacement therapy are judged beside it.
    """
    injured: list[bool] = []
    stages: list[KidneyStage] = []
    episode: _Episode | None = None
    low_since: datetime | None = None
    steps = walk(
        usable(results),
        recent=kdigo.RATIO_WINDOW.length,
        rise=kdigo.RISE_WINDOW.length,
        year=_YEAR,
        lasting=kdigo.DISEASE_LASTS.length,
        slower=kdigo.RISE_IN_PROPORTION.length,
        injured=injured,
        zone=zone,
    )
    for step in steps:
        episode = _still(episode, step)
        outcome = _old_rise(step, episode, child_rate)
        if outcome is None:
            reference = _reference(step, episode, estimated)
            outcome = _kdigo_one(step, reference, child_rate, episode.began if episode else None)
        if outcome.already is None:
            low_since = None if outcome.stage else low_since or step.result.at
            episode = _episode_after(outcome, episode, low_since)
        stages.append(outcome)
        # What is no injury any more becomes the person's own level; during one it must not.
        injured.append(episode is not None)
    return tuple(stages)


class _Episode(Plain, frozen=True):
    """The injury that a series is in: what it is measured against, and since when."""

    reference: Reference
    began: datetime


def _still(episode: _Episode | None, step: Step) -> _Episode | None:
    """Return the episode as long as it may last."""
    if episode is None or step.result.at - episode.began > kdigo.DISEASE_LASTS.length:
        return None
    if episode.reference.method is ReferenceMethod.ESTIMATED and step.median is not None:
        return None  # By now there is a measured baseline, and an estimate gives way to it.
    return episode


def _episode_after(
    outcome: KidneyStage, episode: _Episode | None, low_since: datetime | None
) -> _Episode | None:
    reference = outcome.reference
    if low_since is not None:
        is_over = outcome.result.at - low_since >= kdigo.RECOVERY_CONFIRMED_AFTER.length
        return None if is_over else episode
    if reference is None:
        return None
    if episode is not None and episode.reference.value <= reference.value:
        return episode
    return _Episode(reference, outcome.began or outcome.result.at)


def _reference(step: Step, episode: _Episode | None, estimated: Decimal | None) -> Reference | None:
    """Return what gives the highest stage of what a result may be compared with."""
    found = [one for one in (step.recent, step.median) if one is not None]
    if not found and estimated is not None:
        found = [Reference(estimated, ReferenceMethod.ESTIMATED, ())]
    # The first of equals: where both give one stage, the result of this week is shown.
    reference = max(found, key=lambda one: _kdigo_ratio(step.result, one), default=None)
    if episode is not None and (reference is None or episode.reference.value < reference.value):
        return _of_the_episode(episode.reference)
    return reference


def _old_rise(
    step: Step, episode: _Episode | None, child_rate: Callable[[Measurement], Decimal | None]
) -> KidneyStage | None:
    """Return the outcome where the rise is not of this week, None where it is or is none.

    It has no stage then, unless a second rise within the 7 days gives it one of its own.
    """
    before = _already(step)
    if before is None:
        return None
    if episode is not None and step.result.at - episode.began <= kdigo.INJURY_LASTS.length:
        return None
    against = _reference(step, episode, None)
    if against is None or not _kdigo_ratio(step.result, against):
        return None
    recent = step.recent or Reference(
        before.value, ReferenceMethod.BEFORE_THE_WEEK, (before,), before.printed, 1
    )
    of_the_week = _kdigo_one(step, recent, child_rate, episode.began if episode is not None else None)
    if of_the_week.stage:
        return of_the_week
    return replace(
        of_the_week,
        stage=None,
        rule=Rule.NOT_OF_THIS_WEEK,
        other=against,
        began=episode.began if episode is not None else None,
        already=before,
    )


def _already(step: Step) -> Measurement | None:
    """Return a result of 8 to 90 days before that was as high already, within what chance may change.

    It is the newest, or stands for the median of them all, where the newest is no recovery from it.
    """
    now, newest, level = step.result.value, step.before, step.level
    if newest is None:
        return None
    if now <= newest.value * (1 + AS_HIGH_WITHIN / 100):
        return newest
    if level is None:
        return None
    has_risen = exact_stage_by_ratio(kdigo.STAGE_BY_RATIO, now, newest.value)
    return None if has_risen or now > level.value * (1 + AS_HIGH_WITHIN / 100) else level.results[-1]


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


def _in_proportion(index: Measurement, earlier: Measurement | None) -> Decimal | None:
    """Return what of a rise from a little more than 48 hours before is of 48 hours, cut to tenths."""
    apart = index.at - earlier.at if earlier is not None else None
    if earlier is None or apart is None or apart <= kdigo.RISE_WINDOW.length:
        return None
    seconds = Decimal(int(kdigo.RISE_WINDOW.length.total_seconds()))
    rise = (index.value - earlier.value) * seconds / Decimal(int(apart.total_seconds()))
    return rise.quantize(Decimal("0.1"), rounding=ROUND_FLOOR)


def _kdigo_one(
    step: Step,
    reference: Reference | None,
    child_rate: Callable[[Measurement], Decimal | None],
    began: datetime | None,
) -> KidneyStage:
    index, rise_from = step.result, step.rise_from
    if reference is None:
        return _nothing_to_compare(step)
    stage = _kdigo_ratio(index, reference)
    rise = index.value - rise_from.value if rise_from is not None else None
    rose = rise_from is not None and _kdigo_rise(index, rise_from)
    slower = _in_proportion(index, step.slower_from)
    if not rose and slower is not None and kdigo.STAGE_1_RISE.is_met_by(slower):
        rise_from, rise, rose = step.slower_from, slower, True
    rule = Rule.RATIO
    if not stage and rose:
        stage, rule = 1, Rule.RISE_KDIGO
    if stage and _kdigo_ceiling(index):
        stage, rule = 3, Rule.HEIGHT_KDIGO
    if stage in (1, 2):
        rate = child_rate(index)
        if rate is not None and kdigo.STAGE_3_CHILD_EGFR.is_met_by(rate):
            stage, rule = 3, Rule.OF_A_CHILD_KDIGO
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
        rise_left_out=step.rise_left_out,
        unordered=step.unordered,
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
