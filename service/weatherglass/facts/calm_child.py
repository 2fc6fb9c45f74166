"""Is a child's round whole without a pressure, a refill or the effort of breathing, because it is calm?

A round of a well child holds none of the three on most wards: the pressure is measured where the pulse or the
refill is abnormal, the refill where an infection or lost fluid is there, the effort where breathing is ill.
"""

from datetime import timedelta
from typing import Final

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.rounds.scoring import SetResult
from weatherglass.knowledge.scores import score_choices as ours
from weatherglass.model.signals import CodedSignal, Consciousness, Signal

_DAY: Final = timedelta(hours=24)


def is_whole_enough(bedside: Bedside, result: SetResult) -> bool:
    """Tell whether the three rows alone are open, nothing on record asks for them, and the rest is calm."""
    if result.lowest > ours.CALM_TOTAL.value:
        return False
    asked_for = {
        "systolic-pressure": not bedside.is_below(ours.CALM_BELOW) or _was_operated(bedside),
        "capillary-refill": bedside.infection is not None
        or bool(bedside.record.told_of(*ours.CALM_CIRCULATION)),
        "respiratory-effort": bool(bedside.record.told_of(*ours.CALM_BREATHING)),
    }
    missing = [row.key for row, one in result.scored if one.points is None]
    return all(not asked_for.get(key, True) for key in missing) and _is_calm(result)


def _is_calm(result: SetResult) -> bool:
    """Tell whether the child is alert and neither hot nor cold."""
    heat = result.observed.number(Signal.TEMPERATURE)
    mind = result.observed.answer(CodedSignal.CONSCIOUSNESS)
    if heat is None or mind is None or mind.value is not Consciousness.ALERT:
        return False
    return not (ours.CALM_COLD.is_met_by(heat.value) or ours.CALM_HOT.is_met_by(heat.value))


def _was_operated(bedside: Bedside) -> bool:
    return bedside.operated_within(_DAY) is not None
