"""A metabolic acidosis with or without a lactate: an acid that carbon dioxide does not explain."""

from collections.abc import Iterator

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.metabolic.ketoacidosis import Part
from weatherglass.knowledge.medicines.rules.rule import Trigger
from weatherglass.medicines.triggers.met import MetTrigger, met_by
from weatherglass.model.signals import Signal


def acidosis_triggers(bedside: Bedside) -> Iterator[MetTrigger]:
    """Return an acidosis as ketoacidosis asks for it, or ketones of its range, whatever the lactate.

    A pH alone says nothing of what made it where carbon dioxide is kept and bicarbonate is not low.
    """
    now = bedside.ketoacidosis.now
    acid = [part for part in now.acid if not _is_respiratory(bedside, part)]
    if now.is_met and not acid:
        acid = [part for part in now.parts if part.signal is Signal.KETONES]
    if not acid:
        return
    first = acid[0]
    beside = [part for part in (*acid[1:], *([now.ketones] if now.ketones else [])) if part is not first]
    yield met_by(
        Trigger.METABOLIC_ACIDOSIS,
        first.signal,
        first.result,
        clock=bedside.clock,
        source=first.source,
        since=min(part.result.at for part in acid),
        also=[(part.signal, part.result) for part in beside],
    )


def _is_respiratory(bedside: Bedside, part: Part) -> bool:
    """Tell whether the gas of a pH shows that carbon dioxide is kept, and no low bicarbonate."""
    if part.signal is Signal.BICARBONATE:
        return False
    sample = next((gas for gas in bedside.gases if gas.ph.origin == part.result.origin), None)
    return sample is not None and sample.is_high and not sample.metabolic
