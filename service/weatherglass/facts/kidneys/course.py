"""What becomes of an injury: still there, recovering, acute kidney disease, seen too late.

Creatinine rises late and may fall because muscle is lost, so one low value never says
that an injury is over.
"""

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal

from weatherglass.facts.kidneys.staging import KidneyStage, exact_stage_by_ratio
from weatherglass.facts.kidneys.therapy import Therapy
from weatherglass.facts.kidneys.windows import Reference
from weatherglass.knowledge.kidneys import kdigo_aki_2012 as kdigo
from weatherglass.knowledge.kidneys.kidney_baseline import AS_HIGH_WITHIN
from weatherglass.model.plain import Plain
from weatherglass.model.record.values import Measurement


class Episode(Plain, frozen=True):
    """The last injury that the creatinine series shows.

    Attributes:
        began: When criteria were first met.
        last_met: The newest result that meets them.
        peak: Its highest result.
        newest: The newest result, in the episode or after it.
        ratio: The newest result over the reference, exact.
        recovering_since: The first result of the present run of recovery, if there is one.
        confirmed: Whether two results at least 24 hours apart are below 1.5 times.
    """

    began: datetime
    last_met: datetime
    reference: Reference
    peak: Measurement
    highest_stage: int
    newest: Measurement
    ratio: Decimal
    recovering_since: datetime | None
    confirmed: bool

    @property
    def is_present(self) -> bool:
        """Whether the newest result still meets the criteria."""
        return self.newest.at == self.last_met

    @property
    def is_persistent(self) -> bool:
        """Whether criteria are still met beyond 48 hours, and not yet beyond 7 days."""
        lasted = self.newest.at - self.began
        return self.is_present and kdigo.PERSISTENT_AFTER.length < lasted <= kdigo.INJURY_LASTS.length

    @property
    def disease_stage(self) -> int:
        """The stage of acute kidney disease: 1.5 times or more between 7 and 90 days, else 0."""
        lasted = self.newest.at - self.began
        if not kdigo.INJURY_LASTS.length < lasted <= kdigo.DISEASE_LASTS.length:
            return 0
        return exact_stage_by_ratio(kdigo.STAGE_BY_RATIO, self.newest.value, self.reference.value)


class LateRecognition(Plain, frozen=True):
    """A fall that shows that there was an injury, though no result ever rose to it.

    Attributes:
        peak: The earlier, higher result.
        ratio: Peak over newest.
        stage: The stage that the peak would have had.
        since: The first result that showed it.
    """

    peak: Measurement
    newest: Measurement
    ratio: Decimal
    stage: int
    since: datetime


def last_episode(stages: Sequence[KidneyStage]) -> Episode | None:
    """Return the last injury within 90 days of the newest result, None when there is none."""
    place = len(stages) - 1
    while place >= 0 and not stages[place].stage:
        place -= 1
    if place < 0 or stages[place].began is None:
        return None
    met, newest = stages[place], stages[-1]
    began = met.began
    if (
        began is None
        or met.reference is None
        or newest.result.at - met.result.at > kdigo.DISEASE_LASTS.length
    ):
        return None
    first = place
    while first and stages[first - 1].result.at >= began:
        first -= 1
    reference = min(
        (s.reference for s in stages[first : place + 1] if s.reference is not None), key=lambda r: r.value
    )
    peak, recovering_since, confirmed = _follow(stages[first:], reference)
    return Episode(
        began=began,
        last_met=met.result.at,
        reference=reference,
        peak=peak,
        highest_stage=max(s.stage or 0 for s in stages[first : place + 1]),
        newest=newest.result,
        ratio=newest.result.value / reference.value,
        recovering_since=recovering_since,
        confirmed=confirmed,
    )


def _follow(stages: Sequence[KidneyStage], reference: Reference) -> tuple[Measurement, datetime | None, bool]:
    """Walk through an episode and what came after it: the peak, and the present run of recovery."""
    peak = stages[0].result
    recovering: datetime | None = None
    low_since: datetime | None = None
    confirmed = False
    lowest = peak.value
    for one in stages:
        value = one.result.value
        if value >= peak.value:
            peak, lowest = one.result, value
        lowest = min(lowest, value)
        low = not one.stage and not exact_stage_by_ratio(kdigo.STAGE_BY_RATIO, value, reference.value)
        low_since = (low_since or one.result.at) if low and value < peak.value else None
        confirmed = (
            low_since is not None and one.result.at - low_since >= kdigo.RECOVERY_CONFIRMED_AFTER.length
        )
        fallen = value <= kdigo.RECOVERING_SHARE_OF_PEAK.limit.value * peak.value
        rises = value > lowest * (1 + AS_HIGH_WITHIN / 100)
        recovering = (recovering or one.result.at) if (fallen or confirmed) and not rises else None
    return peak, recovering, confirmed


def recognised_late(stages: Sequence[KidneyStage], therapy: Therapy) -> LateRecognition | None:
    """Look for an injury that shows only as creatinine falls.

    The earlier result was at least 1.5 times the newest, within 7 days before it, and was
    not found by its own rise. A fall on renal replacement therapy shows nothing.
    """
    if len(stages) < 2:
        return None
    newest = stages[-1].result
    earliest = newest.at - kdigo.RATIO_WINDOW.length
    recent = [one for one in stages[:-1] if one.result.at >= earliest]
    if not recent or any(one.stage for one in (*recent, stages[-1])):
        return None
    peak = max(recent, key=lambda one: one.result.value).result
    stage = exact_stage_by_ratio(kdigo.STAGE_BY_RATIO, peak.value, newest.value)
    if not stage or therapy.within(earliest, newest.at):
        return None
    since = next(
        one.result.at
        for one in (*recent, stages[-1])
        if one.result.at > peak.at
        and exact_stage_by_ratio(kdigo.STAGE_BY_RATIO, peak.value, one.result.value)
    )
    return LateRecognition(peak, newest, peak.value / newest.value, stage, since)
