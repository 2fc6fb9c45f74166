"""A sudden high pressure in somebody whose spinal cord is injured high up: what it is, against what."""

from collections.abc import Sequence

from weatherglass.facts.rounds.pressure_course import PressureStep
from weatherglass.facts.series.runs import Run, last_run
from weatherglass.knowledge.brain import neurogenic_pressure as limits
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.plain import Plain
from weatherglass.model.record.problems import ConditionKind, Recorded
from weatherglass.model.record.record import Record

_WORDS = word_patterns("record-patterns.toml")
_LOW_LEVEL = _WORDS["low-level-of-the-cord"]


class Dysreflexia(Plain, frozen=True):
    """The pressure, the injury, and since when."""

    step: PressureStep
    injury: Recorded
    run: Run


def dysreflexia(record: Record, pressure: Sequence[PressureStep]) -> Dysreflexia | None:
    """Return a high pressure that the injury explains, None where there is none now."""
    injuries = record.told_of(ConditionKind.SPINAL_CORD_INJURY)
    injury = next((one for one in injuries if not _LOW_LEVEL.search(one.text.casefold())), None)
    if injury is None or not pressure or not _is_high(pressure[-1]):
        return None
    run = last_run([one.reading.at for one in pressure], [_is_high(one) for one in pressure])
    return Dysreflexia(pressure[-1], injury, run) if run is not None else None


def _is_high(step: PressureStep) -> bool:
    high = limits.HIGH.is_met_by(step.reading.value)
    if step.usual is None:
        return high
    rise = step.reading.value - step.usual
    return limits.FAR_ABOVE.is_met_by(rise) or (high and limits.RISE.is_met_by(rise))
