"""Organ failure by points: SOFA as Sepsis-3 prints it (2016), and SOFA-2 (2025).

Six organs of 0 to 4 points, the worst of a day; the rows are in `organ-failure.csv`, those of an organ
with the most points first. SOFA-2 was read in a restatement only: it is off until a site switches it on.

Left out, with reasons:
    Doses of vasopressors: a record of a ward seldom has them by weight, so a running one leaves points open.
    Saturation over oxygen, medicines for delirium and mechanical support in SOFA-2: read in notes only.
"""

from enum import StrEnum
from typing import Final

from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.knowledge.scores.points.point_rows import point_rows
from weatherglass.model.numbers.quantities import Unit
from weatherglass.model.record.problems import ConditionKind

PUBLIC_KEY: Final = "organ-failure"
_ROWS: Final = PrintedRows("scores/points/organ-failure-rows", globals())
SOFA: Final = "sofa"
SOFA_2: Final = "sofa-2"
NAMES: Final = {SOFA: "SOFA", SOFA_2: "SOFA-2"}


class Organ(StrEnum):
    """The six organs, in the order in which they are printed."""

    RESPIRATION = "respiration"
    COAGULATION = "coagulation"
    LIVER = "liver"
    CIRCULATION = "circulation"
    BRAIN = "brain"
    KIDNEYS = "kidneys"


_UNITS: Final = {
    "p-f-mmhg": Unit.MILLIMETRE_OF_MERCURY,
    "p-f-kpa": Unit.KILOPASCAL,
    "gcs": Unit.SCORE,
    "urine-of-a-day": Unit.MILLILITRE,
}

ROWS: Final = point_rows("organ-failure", _UNITS)
MOST: Final = 4
WITHOUT_SUPPORT: Final = 2
#: What a running infusion brings at least; the dose decides how much more.
VASOPRESSORS: Final = {
    SOFA: {"noradrenaline": 3, "adrenaline": 3, "dopamine": 2, "dobutamine": 2},
    SOFA_2: {"noradrenaline": 2, "adrenaline": 2, "dopamine": 2, "dobutamine": 2, "vasopressin": 2},
}
CHANGE: Final = 2
HAEMOLYSES: Final = _ROWS.members("haemolyses", ConditionKind)
