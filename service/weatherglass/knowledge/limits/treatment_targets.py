"""Which sign shows what a treatment, or leaving one out, has done.

Data only; all of it is our choice. It decides what is shown before and after, never
whether a treatment worked.
"""

from typing import Final

from weatherglass.knowledge.data_files import Columns, toml_members
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source, our_choice

PUBLIC_KEY: Final = "treatment-targets"
_WHY: Final = our_choice("what to look at before and after a treatment")


class TreatmentTarget(Columns, frozen=True, kw_only=True):
    """The signs to look at for one group of medicines, the first recorded one is said first."""

    key: str = ""
    label: str
    classes: frozenset[MedicineClass]
    signals: tuple[Signal, ...]
    source: Source = _WHY


OXYGEN_SIGNALS: Final = (Signal.SPO2, Signal.RESPIRATION_RATE)
FLUID_SIGNALS: Final = (Signal.SYSTOLIC_PRESSURE, Signal.PULSE)
#: For medicines held; the first group that a medicine belongs to holds.
HELD: Final = toml_members("limits/treatment-targets.toml", TreatmentTarget)
