"""Problems that are emergencies by their name, whatever the vital signs: what each asks for, and how soon.

The rows stand in `acute-problems.toml`. What is asked is published or common practice; for how long a
written name speaks is our choice, because a record says when it was written down and not when it was over.
"""

from datetime import timedelta
from enum import StrEnum
from typing import Final

from weatherglass.knowledge.data_files import Columns, Hours, toml_members
from weatherglass.knowledge.limits.asking_rows import AskingRow
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.record.care import ProcedureKind
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Signal
from weatherglass.model.tables.scores import UrgencyWord

PUBLIC_KEY: Final = "acute-problems"
_ROWS: Final = PrintedRows("emergencies/acute-problems-rows", globals())
FULL_FOR: Final = _ROWS.window("full-for")


class Newness(StrEnum):
    """How a record says that a problem is new.

    `BEGUN`: by its onset, or as the reason of a stay of today. `WRITTEN`: it was written down when the stay
    had lasted for a while, and may yet be older.
    """

    BEGUN = "begun"
    WRITTEN = "written"


class Opened(Columns, frozen=True):
    """What is asked instead once a vessel is being opened, or what thins the blood was reversed.

    Attributes:
        classes: Classes of which one was given by a vein, or
        procedures: kinds of procedure of which one was done, since shortly before the problem was written.
        medicines: Or medicines of which one was given.
        asks: What the sentence goes on with then, behind the name of what was given or done.
        at_once: What is done at the bedside then.
    """

    asks: str
    at_once: str
    classes: frozenset[MedicineClass] = frozenset()
    procedures: frozenset[ProcedureKind] = frozenset()
    medicines: frozenset[str] = frozenset()


class AcuteProblem(AskingRow, frozen=True, kw_only=True):
    """One problem that is an emergency by its name; its columns are explained in `acute-problems.toml`."""

    problem: ConditionKind
    reasons: frozenset[ConditionKind] = frozenset()
    procedures: frozenset[ProcedureKind] = frozenset()
    only_new: Newness | None = None
    but_not: frozenset[ConditionKind] = frozenset()
    beside: ConditionKind | None = None
    unless: tuple[ConditionKind, ...] = ()
    soon: UrgencyWord
    full_for: Hours = FULL_FOR.length
    operation: bool = False
    operated_before: Hours = timedelta(0)
    against: tuple[MedicineClass, ...] = ()
    once_given: str = ""
    treated: tuple[MedicineClass, ...] = ()
    antidotes: frozenset[str] = frozenset()
    opened: bool = False
    given: Opened | None = None
    antimicrobial: bool = False
    measured: tuple[Signal, ...] = ()
    once_heard: str = ""


ACUTE_PROBLEMS: Final = toml_members("emergencies/acute-problems.toml", AcuteProblem)
#: The problems of all rows, wherever a sender writes them.
EMERGENCIES: Final = frozenset(row.problem for row in ACUTE_PROBLEMS)
#: Kinds of procedure that some row reads as its problem.
PROCEDURES: Final = frozenset[ProcedureKind]().union(*(row.procedures for row in ACUTE_PROBLEMS))
