"""Organ failure by points: SOFA as Sepsis-3 prints it (2016), and SOFA-2 (2025).

Six organs of 0 to 4 points, the worst of a day; the rows are in `organ-failure.csv`, those of an organ
with the most points first. SOFA-2 was read in a restatement only: it is off until a site switches it on.

Left out, with reasons:
    Doses of vasopressors: a record of a ward seldom has them by weight, so a running one leaves points open.
    Saturation over oxygen, medicines for delirium and mechanical support in SOFA-2: read in notes only.
"""

from datetime import timedelta
from enum import StrEnum
from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.knowledge.scores.point_rows import point_rows
from weatherglass.model.clauses import Clause, Window
from weatherglass.model.quantities import Unit
from weatherglass.model.sources import Mark, our_choice

PUBLIC_KEY: Final = "organ-failure"
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
A_DAY: Final = Window(
    length=timedelta(hours=24),
    source=our_choice("the worst value of the last 24 hours counts for an organ"),
)
#: What a running infusion brings at least; the dose decides how much more.
VASOPRESSORS: Final = {
    SOFA: {"noradrenaline": 3, "adrenaline": 3, "dopamine": 2, "dobutamine": 2},
    SOFA_2: {"noradrenaline": 2, "adrenaline": 2, "dopamine": 2, "dobutamine": 2, "vasopressin": 2},
}
CHANGE: Final = 2
SEPSIS_3: Final = Clause(
    text="Two points or more above the own baseline with infection are sepsis; an unknown baseline is 0.",
    source=publication("sepsis-3-2016").at("box 3: a change of 2 points or more, baseline 0 if unknown"),
)
URGENT: Final = Clause(
    text="Organ failure with infection asks for a senior within the hour.",
    source=our_choice("two points of SOFA above the own baseline with infection are 'urgent'"),
)
ALERT_IS_15: Final = Clause(
    text="Alert without a recorded coma scale is read as 15.",
    source=our_choice("alert is read as a coma scale of 15, anything else leaves its points open"),
)
SOFA_2_READ: Final = publication("sofa-2-2025").at("table of points, read in notes only", Mark.SECONDARY)
BASELINE_FROM: Final = Window(
    length=timedelta(days=365),
    source=our_choice("the own baseline of an organ is its newest result 8 to 365 days old"),
)
BASELINE_UNTIL: Final = Window(length=timedelta(days=8), source=BASELINE_FROM.source)
