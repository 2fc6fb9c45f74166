"""What is measured how often while a medicine runs into a vein, and from when it is said that nobody has.

The rows stand in `watched-infusions.toml`; what a vasopressor asks for in `watched-infusions-rows.csv`.
"""

from typing import Final

from weatherglass.knowledge.data_files import Hours, toml_members
from weatherglass.knowledge.limits.asking_rows import AskingRow
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.signals import Signal
from weatherglass.model.tables.scores import UrgencyWord

PUBLIC_KEY: Final = "watched-infusions"


class WatchedInfusion(AskingRow, frozen=True, kw_only=True):
    """What is measured while a medicine is given by vein.

    Its columns are explained in `watched-infusions.toml`.
    """

    classes: frozenset[MedicineClass]
    measured: tuple[Signal, ...]
    every: Hours
    late: Hours
    soon: UrgencyWord


WATCHED_INFUSIONS: Final = toml_members("emergencies/watched-infusions.toml", WatchedInfusion)
HELD_PRESSURE: Final = PrintedRows("emergencies/watched-infusions-rows").clause("held-pressure")
