"""What an assessment of gas and oxygen has to know of the patient: asthma, shock, who is not roused."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import NamedTuple

from weatherglass.facts.breathing.gas_samples import GasSample, Kept, recent_sample
from weatherglass.facts.rounds.alertness import Alertness
from weatherglass.facts.series.runs import last_run
from weatherglass.knowledge.breathing import blood_gas as gas
from weatherglass.knowledge.limits import context_choices as ours
from weatherglass.knowledge.signs import single_signs
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.record.problems import Condition, ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Measurement

_WORDS = word_patterns("record-patterns.toml")
_ACUTE = _WORDS["attack"]
_ASTHMA = _WORDS["asthma"]


def asthma_is_acute(record: Record, as_of: datetime) -> bool:
    """Tell whether asthma that is recorded is an attack: by its words, its date, or why the patient came."""
    if record.known_of(ConditionKind.COPD):
        return False  # Carbon dioxide has another reading there.
    if any(_is_acute(one, as_of) for one in record.conditions_of(ConditionKind.ASTHMA)):
        return True
    present = (s for s in record.stays if s.ends is None or s.ends >= as_of)
    return any(_ASTHMA.search(stay.reason.casefold()) for stay in present)


def _is_acute(condition: Condition, as_of: datetime) -> bool:
    if _ACUTE.search(condition.text.casefold()):
        return True
    return condition.began is not None and as_of - condition.began <= gas.ASTHMA_ACUTE_FOR.length


def unroused_since(course: Sequence[Alertness], as_of: datetime) -> datetime | None:
    """Return since when nothing but pain rouses the patient; None where the newest answer is another."""
    since = None
    for shown in reversed(course):
        is_low = shown.scale is not None and single_signs.COMA.is_met_by(shown.scale.value)
        if not is_low and not shown.value.is_deep:
            break
        if since is None and as_of - shown.one.end > ours.VITAL_SIGNS_COUNT_FOR.length:
            break
        since = shown.one.end
    return since


# Respiratory acidosis in the newest gas that is not venous: since when, and what the vessel leaves open.


class Retention(NamedTuple):
    """Acid blood that keeps carbon dioxide.

    Attributes:
        since: When the blood was first so, without a break.
        doubt: Why it may not be so; empty where the vessel or the patient says it is.
    """

    ph: Measurement
    pco2: Measurement
    since: datetime
    doubt: str


def retention(
    samples: Sequence[GasSample], as_of: datetime, counts_for: timedelta, *, is_likely: bool
) -> Retention | None:
    """Return the respiratory acidosis of the newest sample, None where there is none.

    Args:
        samples: Every sample that is not venous, oldest first.
        as_of: The moment of the review.
        counts_for: How old the newest may be.
        is_likely: Whether a sample of an unnamed vessel is taken as arterial.
    """
    newest = recent_sample(samples, as_of, counts_for)
    run = last_run(
        [one.ph.at for one in samples], [one.respiratory > Kept.WITHOUT_ACIDOSIS for one in samples]
    )
    if newest is None or newest.pco2 is None or run is None or not run.is_present:
        return None
    is_open = newest.respiratory is Kept.IF_ARTERIAL and not is_likely
    return Retention(newest.ph, newest.pco2, run.since, "the vessel is not stated" if is_open else "")
