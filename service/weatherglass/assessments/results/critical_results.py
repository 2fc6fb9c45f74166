"""Which laboratory and blood gas results does somebody have to hear about?

One finding for each analyte and side. A result that may be spurious is worded so and
asks for a repeat. A result that was not repeated in time is shown as old.
"""

from collections.abc import Iterator
from datetime import datetime

from weatherglass.assessments.telling import result_words as words
from weatherglass.assessments.telling.basis import About, Course, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.metabolic.potassium_shift import PotassiumShift
from weatherglass.facts.results.beside_result import BesideResult, is_for_diabetes
from weatherglass.facts.results.result_levels import FAST, GradedSeries
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.facts.series.runs import Run, run_at_level
from weatherglass.knowledge.limits import critical_results as limits
from weatherglass.knowledge.limits.out_of_range import OUT_OF_RANGE
from weatherglass.knowledge.metabolic import liver, potassium_shift
from weatherglass.knowledge.sepsis.neutropenic_sepsis import EXPECTED, TREATED_FOR
from weatherglass.model.findings import URGENCY_OF, Finding, Kind, State, Urgency
from weatherglass.model.numbers.quantities import as_sent
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import Cited, Source, our_choice
from weatherglass.model.tables.critical_band import CriticalBand
from weatherglass.model.words.lists import listed
from weatherglass.model.words.value_words import limit_words

_LETTERS = {
    Signal.SODIUM: Letter.DISABILITY,
    Signal.SODIUM_GAS: Letter.DISABILITY,
    Signal.GLUCOSE: Letter.DISABILITY,
    Signal.CALCIUM_ADJUSTED: Letter.DISABILITY,
    Signal.CALCIUM_IONISED: Letter.DISABILITY,
    Signal.MAGNESIUM: Letter.DISABILITY,
    Signal.KETONES: Letter.DISABILITY,
    Signal.CRP: Letter.EXPOSURE,
    Signal.NEUTROPHILS: Letter.EXPOSURE,
}
_OLD = our_choice("an old result that was not repeated asks for a repeat and nothing else")
_NO_DIABETES = our_choice("the hospital limit for diabetes is 'prompt' where no diabetes is recorded")
_KETONES_ALONE = our_choice(
    "high ketones are 'urgent' where neither diabetes nor a glucose above 11 is recorded, and 'prompt' where "
    "a gas beside them is not acid: hunger and alcohol raise them too"
)
_ON_REPLACEMENT = our_choice(
    "on long-term renal replacement a high creatinine is 'routine': it rises from one session to the next"
)
_BEFORE_A_SESSION = our_choice(
    "on long-term renal replacement a potassium below 6.0 is 'routine': it rises from one session to the next"
)
_AS_KNOWN = our_choice("a creatinine no higher than usual in known chronic disease is 'routine'")


def assess_critical_results(bedside: Bedside) -> Iterator[Finding]:
    """Name every result beyond its limit."""
    found = [one for graded in bedside.graded.values() if (one := _of_series(bedside, graded)) is not None]
    # Two values of one time can be too high and too low at once: that is said once.
    said: dict[str, Finding] = {}
    for finding in sorted(found, key=lambda one: -one.urgency):
        said.setdefault(finding.sentence, finding)
    yield from (one for one in found if said[one.sentence] is one)


def _of_series(bedside: Bedside, graded: GradedSeries) -> Finding | None:
    if bedside.as_of - graded.newest.at > bedside.choices.laboratory_counts_for:
        return _never_repeated(bedside, graded)
    if graded.bands[0].signal is Signal.BICARBONATE and graded.newest is bedside.bicarbonate_of_gas:
        return None  # Said with the blood gas.
    if graded.bands[0].signal is Signal.FIBRINOGEN and bedside.is_pregnant_or_recently:
        return None  # Judged by the limit of mothers, which is higher.
    run = run_at_level(graded.times, graded.levels)
    if run is None or bedside.state_of(run) is None:
        return None
    shift = bedside.potassium_shift
    if shift is not None and _is_moved(graded, shift):
        return _moved(bedside, graded, run, shift)
    if graded.band is None and (_is_of_what_goes_on(bedside, graded) or _has_crossed(bedside, graded)):
        return None  # What it belongs to says how far it has come, or the other side of its limits.
    if graded.band is None:
        return _falling_again(bedside, graded, run) or _settling(bedside, graded, run)
    return _beyond(BesideResult(bedside, graded), graded.band, run)


def _is_of_what_goes_on(bedside: Bedside, graded: GradedSeries) -> bool:
    """Tell whether a result short of its limit is of something that is not over.

    A rapid change of sodium, a kidney injury, a ketoacidosis.
    """
    if graded.bands[0].signal in bedside.sodium_changes:
        return True
    if graded.bands[0].signal in (Signal.CREATININE, Signal.UREA):
        return bedside.aki_now.stage > 0
    return graded.key in ("ketones-high", "glucose-high") and bedside.ketoacidosis.goes_on


def _has_crossed(bedside: Bedside, graded: GradedSeries) -> bool:
    """Tell whether a result that was too high is too low now, or the other way: it is back inside nothing."""
    analyte, _, side = graded.key.rpartition("-")
    other = bedside.graded.get(f"{analyte}-{'low' if side == 'high' else 'high'}")
    return other is not None and other.band is not None and other.newest.at >= graded.newest.at


def _never_repeated(bedside: Bedside, graded: GradedSeries) -> Finding | None:
    """Name a result of weeks ago that somebody should have heard about, and that nobody has repeated."""
    band, newest = graded.band, graded.newest
    if band is None or URGENCY_OF[band.urgency] < Urgency.URGENT or bedside.admitted_at is None:
        return None
    signal = band.signal
    one = BesideResult(bedside, graded)
    lapses = signal in FAST or signal.value.endswith("-level")
    if lapses or bedside.as_of - newest.at > limits.NEVER_REPEATED_FOR.length or one.doubts:
        return None
    other = words.OTHER_SPECIMEN.get(signal)
    beside = bedside.record.series(other[0]).latest if other is not None else None
    if (beside is not None and beside.at > newest.at) or one.is_as_known:
        return None
    said = f"{words.valued(graded, newest)} {bedside.clock.at(newest.at)}, never repeated"
    run = run_at_level(graded.times, graded.levels)
    return tell(
        About(Kind.CRITICAL_RESULT, graded.key, _LETTERS.get(signal, Letter.CIRCULATION)),
        Urgency.PROMPT,
        rests_on(bedside, run, newest, asked_since=newest.at),
        brief=said,
        asks=f"{band.label} then; repeat it now",
        measures=words.measures(graded),
        dated=newest.at,
        sources=(limits.NEVER_REPEATED_FOR, band),
        decided_by="a critical result that was never repeated",
    )


def _is_moved(graded: GradedSeries, shift: PotassiumShift) -> bool:
    """Tell whether a potassium is lower than before a dose that only moved it, and not urgent by itself."""
    if not graded.key.endswith("-high") or graded.bands[0].signal is not shift.signal:
        return False
    is_urgent = graded.band is not None and URGENCY_OF[graded.band.urgency] >= Urgency.URGENT
    return graded.newest.at > shift.high.at and not is_urgent


def _moved(bedside: Bedside, graded: GradedSeries, run: Run, shift: PotassiumShift) -> Finding:
    """Say a potassium that comes back from the cells: the last sample asks for the next."""
    value = f"{words.valued(graded, graded.newest)} after {shift.medicine}"
    clock = bedside.clock
    before = f"{as_sent(shift.high.value)} {clock.at(shift.high.at)}"
    until = shift.dose.at + potassium_shift.SHIFT_LASTS.length
    return tell(
        About(Kind.CRITICAL_RESULT, graded.key, Letter.CIRCULATION),
        Urgency.URGENT,
        rests_on(
            bedside,
            run.since,
            shift.high,
            shift.dose,
            graded.newest,
            at=graded.newest.at,
            asked_since=graded.newest.at,
        ),
        brief=f"{value}, {before}: it may climb again",
        sentence=f"{value} {clock.at(shift.dose.at)}, {before}: it may climb again by {clock.time(until)}, "
        "as that wears off; repeat it.",
        measures=(*words.measures(graded), measure_of(shift.signal, shift.high, key="before-the-dose")),
        dated=shift.high.at,
        sources=(potassium_shift.SHIFT_LASTS, potassium_shift.STILL_HIGH),
        decided_by="a potassium that a dose has moved",
    )


def _beyond(one: BesideResult, band: CriticalBand, run: Run) -> Finding:
    raised = None if one.doubts else _raised(one, URGENCY_OF[band.urgency])
    urgency, extra = raised or _urgency(one, band)
    return tell(
        About(Kind.CRITICAL_RESULT, one.key, _LETTERS.get(band.signal, Letter.CIRCULATION)),
        urgency,
        rests_on(one.bedside, run, *one.graded.results[-2:], asked_since=_asked_since(one, urgency)),
        brief=words.brief(one, band),
        sentence=words.sentence(one, band),
        measures=words.measures(one.graded),
        dated=one.result.at if one.is_past else None,
        sources=(band, *extra, *words.treated(one)[1]),
        cautions=words.cautions(one, band),
        at_once=words.at_once(one, urgency),
        decided_by=f"{band.signal.label} {limit_words(band.cutoff)}",
    )


def _falling_again(bedside: Bedside, graded: GradedSeries, run: Run) -> Finding | None:
    """Say a treated glucose that what releases insulin may bring down again; None without such a medicine."""
    lines = bedside.on_chart(limits.RELEASES_INSULIN) if graded.key == "glucose-low" else ()
    if not lines:
        return None
    last = next(one for one in reversed(graded.results) if one.at == run.until)
    is_likely = _came_back(graded, last.at) or _kidneys_keep(bedside)
    names = listed(sorted({one.medicine.text for one in lines}))
    said = f"{words.valued(graded, graded.newest)}, {words.shown(graded, last)} {bedside.clock.at(last.at)}"
    head = f"{said}, on {names}"
    return tell(
        About(Kind.CRITICAL_RESULT, "glucose-may-fall-again", Letter.DISABILITY),
        Urgency.PROMPT if is_likely else Urgency.ROUTINE,
        rests_on(
            bedside,
            Course(run.since, last.at, bedside.state_since(run.since) if is_likely else State.SETTLING),
            *graded.results[-2:],
            last,
            *(one.origin for one in lines),
        ),
        brief=f"{head}: it may fall again",
        sentence=f"{head}: {limits.MAY_FALL_AGAIN.text}.",
        measures=words.measures(graded),
        sources=(limits.MAY_FALL_AGAIN, limits.FALLS_AGAIN, graded.bands[-1]),
        decided_by="a low glucose on what goes on releasing insulin",
    )


def _came_back(graded: GradedSeries, last: datetime) -> bool:
    """Tell whether a glucose was low, then not, then low again within the hours that count."""
    since = last - limits.FALLS_AGAIN.length
    lows = [level > 0 for at, level in zip(graded.times, graded.levels, strict=True) if since <= at <= last]
    return True in lows and False in lows[lows.index(True) :]


def _kidneys_keep(bedside: Bedside) -> bool:
    return bedside.aki_now.stage > 0 or bedside.record.has(*limits.KEEPS_SULFONYLUREA)


def _settling(bedside: Bedside, graded: GradedSeries, run: Run) -> Finding:
    result = graded.newest
    last = next(r for r in reversed(graded.results) if r.at == run.until)
    before = f"{words.shown(graded, last)} {bedside.clock.at(last.at)}"
    said = f"{words.valued(graded, result)}, {before}"
    return tell(
        About(Kind.CRITICAL_RESULT, graded.key, _LETTERS.get(graded.bands[0].signal, Letter.CIRCULATION)),
        Urgency.ROUTINE,
        rests_on(bedside, Course(run.since, state=State.SETTLING), *graded.results[-2:]),
        brief=f"{said}{words.preliminary(result)}",
        sentence=f"{said}: {_of_a_lower_one(graded)}.",
        measures=words.measures(graded),
        sources=(graded.bands[-1],),
    )


def _of_a_lower_one(graded: GradedSeries) -> str:
    """Say what a result inside its limit means; a level whose limit falls by the hour is not settled."""
    if graded.bands[0].signal is Signal.PARACETAMOL_LEVEL:
        return f"lower, and no all-clear: {graded.bands[0].note}"
    is_abnormal = any(
        row.signal is graded.bands[0].signal and row.cutoff.is_met_by(graded.newest.value)
        for row in OUT_OF_RANGE
    )
    return "no longer beyond the limit that calls" if is_abnormal else "back inside the limit"


# How urgent


def _asked_since(one: BesideResult, urgency: Urgency) -> datetime | None:
    """Return since when results are as urgent as now: a worse number of one urgency restarts nothing."""
    graded = one.graded
    bands = [graded.band_at(place) for place in range(len(graded.results))]
    ranks = [min(URGENCY_OF[band.urgency], urgency) + 1 if band is not None else 0 for band in bands]
    run = run_at_level(graded.times, ranks)
    since = run.since if run is not None else None
    sepsis = one.bedside.neutropenic_sepsis
    if graded.key == "neutrophils-low" and since is not None and sepsis is not None and sepsis.ill_since:
        return max(since, sepsis.ill_since)
    joined = one.calcium_sign.at if one.calcium_sign is not None else one.not_alert_since
    if urgency is Urgency.EMERGENCY and one.slow_pulse is not None:
        joined = one.slow_pulse.at
    plainly = graded.band is not None and URGENCY_OF[graded.band.urgency] >= urgency
    if since is None or joined is None or (plainly and not _is_lowered(one)):
        return since
    return max(since, joined)


def _is_lowered(one: BesideResult) -> bool:
    """Tell whether the band alone would be less urgent for want of diabetes on record."""
    band = one.graded.band
    return band is not None and is_for_diabetes(band) and not one.bedside.has_diabetes


def _urgency(one: BesideResult, band: CriticalBand) -> tuple[Urgency, tuple[Cited, ...]]:
    """Return our ranking of a result, and the choices that lowered it."""
    urgency = URGENCY_OF[band.urgency]
    if not one.graded.is_current:
        return Urgency.ROUTINE, (_OLD,)
    if one.is_too_early:
        return min(urgency, Urgency.PROMPT), (limits.DOUBT_IS_REPEATED_FIRST,)
    if one.doubts:
        return min(urgency, Urgency.URGENT), (limits.DOUBT_IS_REPEATED_FIRST,)
    if (eased := _answered(one, urgency)) is not None:
        return eased
    if band.signal is Signal.NEUTROPHILS and one.bedside.neutropenia_is_expected:
        return min(urgency, Urgency.PROMPT), (EXPECTED,)
    if is_for_diabetes(band) and not one.bedside.has_diabetes:
        return _without_diabetes(one, urgency)
    if band.signal is Signal.KETONES and not one.may_be_diabetic:
        most = Urgency.PROMPT if one.not_acid else Urgency.URGENT
        return min(urgency, most), (_KETONES_ALONE,)
    return (Urgency.ROUTINE, known) if (known := _as_known(one, band, urgency)) else (urgency, ())


def _answered(one: BesideResult, urgency: Urgency) -> tuple[Urgency, tuple[Cited, ...]] | None:
    """Return what a result is that something on record answers or explains; None for most."""
    if one.is_of_known_immunity:
        return min(urgency, Urgency.PROMPT), (limits.IMMUNE,)
    if one.vitamin_k is not None:
        return Urgency(max(urgency - 1, Urgency.ROUTINE)), (limits.VITAMIN_K_ANSWERS_FOR,)
    if one.is_after_a_fit:
        return min(urgency, Urgency.PROMPT), (limits.LACTATE_AFTER_A_FIT_FOR,)
    return None


def _as_known(one: BesideResult, band: CriticalBand, urgency: Urgency) -> tuple[Cited, ...]:
    """Return why a result is expected in this patient; empty where it is not."""
    if band.signal is Signal.NEUTROPHILS and one.bedside.neutropenia_is_treated:
        return (TREATED_FOR,)
    on_replacement = one.bedside.kidneys.therapy.is_long_term_at(one.result.at)
    if one.key == "potassium-high" and urgency is Urgency.PROMPT and on_replacement:
        return (_BEFORE_A_SESSION,)
    answers = (
        (one.antidote_answers is not None, liver.ANTIDOTE_ANSWERS),
        (one.of_an_operation is not None, limits.LACTATE_AFTER_SURGERY),
        (one.red_cells is not None, limits.RED_CELLS_ANSWER_FOR),
        (one.muscle_heals, limits.MUSCLE_HEALS),
        (one.is_as_for_long, limits.AS_FOR_LONG),
    )
    answered = next((row.source for is_so, row in answers if is_so), None)
    if answered is not None:
        return (answered,)
    if one.kidneys_recover:
        return (limits.KIDNEYS_RECOVER,)
    if band.signal is Signal.CREATININE and on_replacement:
        return (_ON_REPLACEMENT,)
    if band.signal is Signal.CREATININE and one.is_as_known:
        return (_AS_KNOWN, limits.CREATININE_UP)
    return ()


def _without_diabetes(one: BesideResult, urgency: Urgency) -> tuple[Urgency, tuple[Cited, ...]]:
    """Lower the limit for diabetes where none is recorded, unless something makes the value count."""
    if one.not_alert_since is not None:
        return urgency, (limits.NOT_ALERT,)
    if one.insulin_before is not None:
        return urgency, (limits.INSULIN_GIVEN,)
    if one.is_mildly_low:
        return Urgency.ROUTINE, (limits.MILDLY_LOW,)
    return min(urgency, Urgency.PROMPT), (_NO_DIABETES,)


def _calls_with_a_sign(one: BesideResult, urgency: Urgency) -> Source | None:
    """Return why a result is an emergency by what the patient shows; None where it is not."""
    if one.key == "lithium-level-high" and urgency is Urgency.URGENT and one.not_alert_since is not None:
        return limits.LITHIUM_NOT_ALERT
    if one.slow_pulse is not None and not one.doubts:
        return limits.POTASSIUM_SLOW_PULSE.source
    return limits.LOW_CALCIUM_WITH_SIGNS.source if one.calcium_sign is not None else None


def _raised(one: BesideResult, urgency: Urgency) -> tuple[Urgency, tuple[Cited, ...]] | None:
    """Return what a result is where something beside it makes it worse than its band; None elsewhere."""
    if not one.graded.is_current:
        return None
    if one.is_sodium:
        return (max(urgency, one.brain.urgency), (one.brain,)) if one.brain is not None else None
    if (calls := _calls_with_a_sign(one, urgency)) is not None:
        return Urgency.EMERGENCY, (calls,)
    if urgency < Urgency.URGENT and one.is_low_in_ketoacidosis:
        return Urgency.URGENT, (limits.POTASSIUM_IN_KETOACIDOSIS,)
    if urgency < Urgency.URGENT and one.may_dull:
        return Urgency.URGENT, (limits.NOT_ALERT,)
    if urgency < Urgency.PROMPT and (needed := one.potassium_is_needed) is not None:
        return Urgency.PROMPT, (needed,)
    if one.key == "inr-high" and urgency is Urgency.PROMPT and one.liver_fails:
        return Urgency.URGENT, (limits.LIVER_INJURY,)
    return None
