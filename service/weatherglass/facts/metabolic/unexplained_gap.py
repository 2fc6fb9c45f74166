"""Acid that nobody has named: an anion gap that is neither of lactate nor of ketones.

Not asked in ketoacidosis, nor while ketones are open in somebody in whom they are asked for by themselves,
and in adults only: what a small child lacks from birth is another question.
"""

from collections.abc import Sequence
from datetime import datetime

from weatherglass.facts.breathing.gas_samples import GasSample
from weatherglass.facts.metabolic.anion_gap import AnionGap, anion_gap
from weatherglass.facts.metabolic.osmolality import OsmolalGap, osmolal_gap
from weatherglass.knowledge.breathing import blood_gas as gas
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.record import Record


class UnexplainedGap(Plain, frozen=True):
    """The gap of the newest sample.

    Attributes:
        osmolal: What a measured osmolality adds; None without one.
        since: When the first sample of the run was taken that showed one.
        severe_since: Since when such a sample was severely acid as well; None where it is not.
    """

    sample: GasSample
    gap: AnionGap
    osmolal: OsmolalGap | None
    since: datetime
    severe_since: datetime | None


def unexplained_gap(
    record: Record, samples: Sequence[GasSample], *, kidneys_fail: bool, is_sugar: bool
) -> UnexplainedGap | None:
    """Return it where the newest sample shows one.

    Args:
        record: The patient's.
        samples: Every gas that counts up to now, oldest first.
        kidneys_fail: Whether the creatinine is one that brings a gap of its own.
        is_sugar: Whether diabetes or a high glucose asks for ketones by itself.
    """
    found: UnexplainedGap | None = None
    for sample in samples:
        gap = anion_gap(record, sample)
        is_open = gap is not None and gap.ketones is None and is_sugar
        if gap is None or is_open or not _is_unexplained(gap, kidneys_fail=kidneys_fail):
            found = None
            continue
        severe = (found and found.severe_since) or sample.ph.at if sample.is_severe else None
        since = found.since if found is not None else sample.ph.at
        found = UnexplainedGap(sample, gap, None, since, severe)
    return replace(found, osmolal=osmolal_gap(record, found.sample.ph.at)) if found is not None else None


def _is_unexplained(gap: AnionGap, *, kidneys_fail: bool) -> bool:
    limit = gas.GAP_LEFT_BY_KIDNEYS if kidneys_fail else gas.GAP_LEFT
    return limit.is_met_by(gap.left) and not gap.is_of_ketones and not gap.is_of_lactate
