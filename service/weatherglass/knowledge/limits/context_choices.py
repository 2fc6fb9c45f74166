"""What no publication fixes: how long context counts, and what supports a suspicion.

Data only. Every number here is ours, says why, and is listed in the catalogue for a
site to judge.
"""

from decimal import Decimal
from typing import Final

from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.knowledge.signs import trend_limits
from weatherglass.model.numbers.quantities import Quantity, Unit
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source, our_choice
from weatherglass.model.tables.bands import Compare, Cutoff

PUBLIC_KEY: Final = "context-choices"
_ROWS: Final = PrintedRows("limits/context-choices-rows", globals())


ANTICOAGULANTS: Final = frozenset(_ROWS.members("anticoagulants", MedicineClass))
ANTIPLATELETS: Final = frozenset(
    {MedicineClass.ANTIPLATELET, MedicineClass.ASPIRIN, MedicineClass.P2Y12_INHIBITOR}
)


#: Ours: how many of the seven signs of the score make an incomplete round more than stray values.
SIGNS_OF_A_ROUND: Final = 4
#: Ours: where no score says how often, one sign alone is no round.
SIGNS_OF_A_ROUND_AT_ALL: Final = 2


LOW_AS_USUAL: Final = replace(
    trend_limits.PRESSURE_MODERATE_LOW,
    source=our_choice("an own normal systolic of 100 or less is a long-standing low pressure"),
)


STEADY_IN_PREGNANCY_SOURCE: Final = _ROWS.source("steady-in-pregnancy-source")


class SteadyLimit(Plain, frozen=True, kw_only=True):
    """How large a steady trend of a sign is in pregnancy, and beyond what it ends."""

    signal: Signal
    change: Cutoff
    ends: Cutoff

    @property
    def source(self) -> Source:
        """Ours."""
        return self.change.source


def _steady(signal: Signal, unit: Unit, change: str, compare: Compare, end: str) -> SteadyLimit:
    def _cut(how: Compare, number: str) -> Cutoff:
        return Cutoff(compare=how, limit=Quantity(Decimal(number), unit), source=STEADY_IN_PREGNANCY_SOURCE)

    return SteadyLimit(signal=signal, change=_cut(Compare.AT_LEAST, change), ends=_cut(compare, end))


STEADY_IN_PREGNANCY: Final = (
    _steady(Signal.RESPIRATION_RATE, Unit.PER_MINUTE, "6", Compare.AT_LEAST, "21"),
    _steady(Signal.SPO2, Unit.PERCENT, "3", Compare.AT_MOST, "94"),
    _steady(Signal.SYSTOLIC_PRESSURE, Unit.MILLIMETRE_OF_MERCURY, "20", Compare.AT_MOST, "100"),
    _steady(Signal.PULSE, Unit.PER_MINUTE, "20", Compare.AT_LEAST, "100"),
    _steady(Signal.TEMPERATURE, Unit.DEGREE_CELSIUS, "1.0", Compare.AT_LEAST, "38"),
)


FLUID_WORDS: Final = (
    "sodium chloride 0.9",
    "saline",
    "compound sodium lactate",
    "hartmann",
    "ringer",
    "balanced crystalloid",
    "crystalloid",
    "human albumin solution",
    "albumin 4",
    "albumin 5",
    "gelatin",
)
GRAVE_INFECTIONS: Final = _ROWS.members("grave-infections", ConditionKind)
THICKENS_BLOOD: Final = _ROWS.members("thickens-blood", ConditionKind)
