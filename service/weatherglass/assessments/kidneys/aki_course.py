"""What has become of an acute kidney injury: lasting, recovering, or seen only as it went?

The stage says how bad the newest result is; this says where it stands in its course.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Final

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.assessments.telling.kidneys.kidney_findings import (
    has_kidney_transplant,
    is_falling,
    is_high,
)
from weatherglass.assessments.telling.kidneys.kidney_words import cut, stage_word, tenths, two_places
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.kidneys.course import Episode, LateRecognition
from weatherglass.facts.kidneys.windows import ReferenceMethod
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.facts.series.runs import first_of_run
from weatherglass.knowledge.kidneys import kdigo_aki_2012 as kdigo
from weatherglass.knowledge.kidneys import kidney_choices as ours
from weatherglass.model.findings import Finding, Kind, Measure, Urgency
from weatherglass.model.numbers.quantities import Unit
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import Source
from weatherglass.model.words.clauses import Window

_MICRO: Final = Unit.MICROMOLE_PER_LITRE


def _hours(window: Window) -> int:
    return window.length // timedelta(hours=1)


_TIMES: Final = kdigo.STAGE_BY_RATIO.bands[1].low
_SHARE: Final = kdigo.RECOVERING_SHARE_OF_PEAK.limit.value
_APART: Final = _hours(kdigo.RECOVERY_CONFIRMED_AFTER)
_WEEK: Final = kdigo.INJURY_LASTS.length.days
_CHRONIC: Final = kdigo.DISEASE_LASTS.length.days
_OF_ONE_RESULT: Final = (ReferenceMethod.LOWEST_7_DAYS, ReferenceMethod.BEFORE_THE_WEEK)
_NEVER_OVER: Final = "Creatinine rises late and may fall because muscle is lost."


def assess_aki_course(bedside: Bedside) -> Iterator[Finding]:
    """Place the newest creatinine in the course of an injury."""
    kidneys = bedside.kidneys
    if not kidneys.results or not kidneys.speaks_for_now(kidneys.results[-1]):
        return  # A course that nobody has followed is not known.
    episode = kidneys.episode
    if episode is not None:
        if episode.is_persistent:
            yield _persistent(bedside, episode)
        if episode.disease_stage:
            yield _disease(bedside, episode)
        if episode.recovering_since is not None:
            yield _recovering(bedside, episode, episode.recovering_since)
    yield from _graft(bedside)
    late = kidneys.late_recognition
    if late is not None:
        yield _late(bedside, late)


def _persistent(bedside: Bedside, episode: Episode) -> Finding:
    lasted = bedside.clock.apart(episode.began, episode.newest.at)
    since = episode.began + kdigo.PERSISTENT_AFTER.length
    return _finding(
        bedside,
        episode,
        key="persistent",
        urgency=_less_in_recovery(bedside, episode),
        brief=f"Persistent acute kidney injury, for {lasted}",
        since=since,
        sentence=(
            f"Persistent acute kidney injury: criteria have been met for {lasted}, since "
            f"{bedside.clock.full(episode.began)}; creatinine {_against(bedside, episode)}."
        ),
        decided_by=f"criteria still met beyond {_hours(kdigo.PERSISTENT_AFTER)} hours",
        source=kdigo.PERSISTENT_AFTER.source,
    )


def _disease(bedside: Bedside, episode: Episode) -> Finding:
    lasted = bedside.clock.apart(episode.began, episode.newest.at)
    # Ours: the injury was called about; what stays at its lowest stage below its peak is for the round.
    stays = episode.disease_stage == 1 and episode.newest.value < episode.peak.value
    return _finding(
        bedside,
        episode,
        key="acute-kidney-disease",
        urgency=Urgency.ROUTINE if stays else _less_in_recovery(bedside, episode),
        brief=f"Acute kidney disease {stage_word(episode.disease_stage)}",
        since=episode.began + kdigo.INJURY_LASTS.length,
        sentence=(
            f"Acute kidney disease {stage_word(episode.disease_stage)}: {lasted} after criteria were "
            f"first met, creatinine is still {_against(bedside, episode)}."
        ),
        decided_by=f"at least {_TIMES} times the reference between {_WEEK} and {_CHRONIC} days",
        source=kdigo.INJURY_LASTS.source,
        further=(Measure("akd-stage", "stage of acute kidney disease", Decimal(episode.disease_stage)),),
    )


def _recovering(bedside: Bedside, episode: Episode, since: datetime) -> Finding:
    share = episode.newest.value / episode.peak.value
    confirmed = (
        f" Two results at least {_APART} hours apart are below {_TIMES} times the reference."
        if episode.confirmed
        else f" Not yet confirmed by two results below {_TIMES} times the reference, {_APART} hours apart."
    )
    return _finding(
        bedside,
        episode,
        key="recovering",
        urgency=Urgency.ROUTINE,
        brief="Recovering from acute kidney injury",
        since=since,
        sentence=(
            f"Recovering from acute kidney injury: creatinine {_against(bedside, episode)}, "
            f"{cut(share)} of its peak of {tenths(episode.peak.value)} {bedside.clock.at(episode.peak.at)}."
            f"{confirmed}"
        ),
        decided_by=f"at most {_SHARE} of the peak, or two results below {_TIMES} times",
        source=kdigo.RECOVERING_SHARE_OF_PEAK.source,
        further=(
            Measure("share-of-peak", "share of the peak", two_places(share), Unit.RATIO),
            Measure(
                "recovery-confirmed",
                f"two results below {_TIMES} times the reference, {_APART} hours apart",
                "yes" if episode.confirmed else "no",
            ),
        ),
    )


def _finding(
    bedside: Bedside,
    episode: Episode,
    *,
    key: str,
    urgency: Urgency,
    since: datetime,
    sentence: str,
    brief: str,
    decided_by: str,
    source: Source,
    further: tuple[Measure, ...] = (),
) -> Finding:
    return tell(
        About(Kind.AKI_COURSE, key, Letter.CIRCULATION),
        urgency,
        rests_on(bedside, since, *_in_time(*episode.reference.results, episode.peak, episode.newest)),
        brief=brief,
        sentence=sentence,
        measures=(
            _creatinine("creatinine", "creatinine", episode.newest),
            Measure(
                "reference-value",
                f"reference creatinine ({episode.reference.method.value})",
                episode.reference.value,
                _MICRO,
            ),
            Measure("ratio", "ratio to the reference value", two_places(episode.ratio), Unit.RATIO),
            _creatinine("peak", "highest creatinine of the episode", episode.peak),
            *further,
        ),
        sources=(source, kdigo.DISEASE_LASTS),
        cautions=(_NEVER_OVER,),
        decided_by=decided_by,
    )


def _graft(bedside: Bedside) -> Iterator[Finding]:
    """Name a rise in a transplanted kidney that no stage of injury names."""
    newest = bedside.kidneys.results[-1]
    if bedside.aki_now.stage or not has_kidney_transplant(bedside):
        return
    first, last = newest.at - ours.GRAFT_REFERENCE_FOR.length, newest.at - kdigo.INJURY_LASTS.length
    before = [one for one in bedside.kidneys.results if first <= one.at < last]
    if not before or before[-1].value <= 0 or not newest.is_exact:
        return
    usual = before[-1]

    def has_risen(one: Measurement) -> bool:
        return ours.GRAFT_RISE.is_met_by(one.value / usual.value)

    since = first_of_run(bedside.kidneys.results, has_risen)
    if since is None:
        return
    percent = int(100 * (newest.value / usual.value - 1))
    said = (
        f"Creatinine {tenths(newest.value)} \u00b5mol/L, {percent} % above {tenths(usual.value)} "
        f"({bedside.clock.day(usual.at)}), in a transplanted kidney"
    )
    yield tell(
        About(Kind.AKI_COURSE, "graft", Letter.CIRCULATION),
        Urgency.PROMPT,
        rests_on(bedside, since.at, usual, newest),
        brief=said,
        asks="below the stages of kidney injury; the transplant team is asked today: levels, urine, what is "
        "new on the chart, ultrasound",
        measures=(
            _creatinine("creatinine", "creatinine", newest),
            _creatinine("reference-value", "creatinine before", usual),
        ),
        sources=(ours.GRAFT_RISE, ours.GRAFT_REFERENCE_FOR),
        decided_by="a creatinine a quarter above its usual one in a transplanted kidney",
    )


def _less_in_recovery(bedside: Bedside, episode: Episode) -> Urgency:
    """Return the urgency of what lasts: less while creatinine falls, or is well on its way back."""
    goes_back = episode.recovering_since is not None or is_falling(bedside)
    return Urgency.ROUTINE if goes_back else Urgency.PROMPT


def _late(bedside: Bedside, late: LateRecognition) -> Finding:
    falling = f"{tenths(late.peak.value)} to {tenths(late.newest.value)}"
    return tell(
        About(Kind.AKI_COURSE, "recognised-in-recovery", Letter.CIRCULATION),
        # Ours: what is past and back in range asks for nothing within hours.
        Urgency.PROMPT if is_high(bedside, late.newest) else Urgency.ROUTINE,
        rests_on(bedside, late.since, *_in_time(late.peak, late.newest)),
        brief=f"Acute kidney injury recognised in recovery: creatinine {falling}",
        sentence="Acute kidney injury recognised in recovery: creatinine "
        f"{tenths(late.peak.value)} \u00b5mol/L {bedside.clock.at(late.peak.at)} was {cut(late.ratio)} times "
        f"the {tenths(late.newest.value)} of now, which would have been KDIGO stage {late.stage}.",
        measures=(
            _creatinine("creatinine", "creatinine", late.newest),
            _creatinine("peak", "highest creatinine of 7 days", late.peak),
            Measure("ratio", "peak over newest", two_places(late.ratio), Unit.RATIO),
        ),
        sources=(ours.LATE_RECOGNITION, kdigo.STAGE_BY_RATIO),
        cautions=(_NEVER_OVER,),
        decided_by="a fall that shows an earlier injury",
    )


def _against(bedside: Bedside, episode: Episode) -> str:
    one = episode.reference
    how = f" ({one.method.value})"
    if one.method in _OF_ONE_RESULT:  # "The previous 7 days" were those before the injury began.
        how = f" {bedside.clock.at(one.results[0].at)}"
    newest = f"{tenths(episode.newest.value)} \u00b5mol/L"
    return f"{newest}, {cut(episode.ratio)} times {tenths(one.value)}{how}"


def _creatinine(key: str, label: str, one: Measurement) -> Measure:
    return measure_of(Signal.CREATININE, one, key=key, label=label)


def _in_time(*measured: Measurement) -> list[Measurement]:
    return sorted(measured, key=lambda m: m.at)
