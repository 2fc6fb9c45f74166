"""Respiratory acidosis in the newest gas that is not venous: since when, and what the vessel leaves open."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import NamedTuple

from weatherglass.facts.breathing.gas_samples import GasSample, recent_sample
from weatherglass.facts.series.runs import last_run
from weatherglass.model.record.values import Measurement


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
    run = last_run([one.ph.at for one in samples], [one.respiratory > 1 for one in samples])
    if newest is None or newest.pco2 is None or run is None or not run.is_present:
        return None
    is_open = newest.respiratory == 2 and not is_likely
    return Retention(newest.ph, newest.pco2, run.since, "the vessel is not stated" if is_open else "")
