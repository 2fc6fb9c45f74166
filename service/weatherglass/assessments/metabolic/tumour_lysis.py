"""Is this tumour lysis: potassium, phosphate and calcium together, in somebody with a cancer?"""

from collections.abc import Iterator
from datetime import datetime
from itertools import chain

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.metabolic.calcium import series_of
from weatherglass.facts.series.limits_met import beyond, exact, reaches
from weatherglass.knowledge.metabolic import tumour_lysis as criteria
from weatherglass.knowledge.metabolic.tumour_lysis import LysisLimit
from weatherglass.model.findings import Finding, Kind, Missing, MissingReason, Urgency
from weatherglass.model.numbers.quantities import as_sent
from weatherglass.model.plain import Plain
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import POTASSIUM_OF_EITHER, Letter, Signal
from weatherglass.model.sources import Origin
from weatherglass.model.words.lists import capital

#: With kidneys that fail it stops hearts.
_URATE = Missing(key="urate", label="urate", reason=MissingReason.NOT_RECORDED)


class _Met(Plain, frozen=True):
    """One result that counts, and since when its series has been beyond the limit."""

    limit: LysisLimit
    result: Measurement
    since: datetime

    @property
    def words(self) -> str:
        """As it is said: 'phosphate 3.1'."""
        return f"{self.limit.label} {as_sent(self.result.value)}"


def assess_tumour_lysis(bedside: Bedside) -> Iterator[Finding]:
    """Bring the results together where a cancer is on record."""
    cancer = _cancer(bedside)
    if cancer is None:
        return
    met = {one.limit.label: one for one in _met(bedside)}
    if len(met) < criteria.TOGETHER.value:
        return
    found = tuple(met.values())
    since = sorted(one.since for one in found)[1]
    is_clinical = bool(bedside.aki_now.stage) and any(
        one.limit.signal in POTASSIUM_OF_EITHER for one in found
    )
    kidneys = f", with acute kidney injury stage {bedside.aki_now.stage}" if bedside.aki_now.stage else ""
    said = ", ".join(one.words for one in found)
    head = f"Tumour lysis? {capital(said)}{kidneys}"
    yield tell(
        About(Kind.METABOLIC, "tumour-lysis", Letter.CIRCULATION),
        Urgency.EMERGENCY if is_clinical else Urgency.URGENT,
        rests_on(bedside, since, *((one.limit.signal, one.result) for one in found), cancer),
        brief=head,
        asks=criteria.ASKS.text,
        missing=() if bedside.exact(Signal.URATE, criteria.WITHIN.length) else (_URATE,),
        sources=(
            *(one.limit for one in found),
            criteria.ASKS,
            *((criteria.CLINICAL,) if is_clinical else ()),
        ),
        decided_by="two results of tumour lysis within a day, in somebody with a cancer",
    )


def _cancer(bedside: Bedside) -> Origin | None:
    """Return what says that there is a cancer or a treatment of it."""
    told = (one.origin for one in bedside.record.told_of(*criteria.CANCER))
    orders = (one.origin for one in bedside.on_chart(criteria.MEDICINES))
    return next(chain(told, orders), None)


def _met(bedside: Bedside) -> Iterator[_Met]:
    """Yield the newest result of each series that is beyond its limit and of the last day."""
    is_child = bedside.is_child
    for limit in criteria.LIMITS:
        cutoff = limit.child if is_child else limit.cutoff
        series = series_of(bedside.record, limit.signal).items
        found = beyond(exact(series), reaches(cutoff), bedside.as_of, criteria.WITHIN.length)
        if found is not None:
            yield _Met(limit, *found)
