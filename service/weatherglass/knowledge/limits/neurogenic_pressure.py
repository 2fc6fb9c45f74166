"""A sudden high pressure after an injury of the spinal cord.

Data only. The rise is against the own normal, which lies low in these people; below the level of an
injury at or above T6 something hurts that they may not feel.
"""

from typing import Final

from weatherglass.knowledge.data_files import cutoff, publication
from weatherglass.model.clauses import Clause
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Mark, our_choice
from weatherglass.model.tables.bands import Cutoff

PUBLIC_KEY: Final = "neurogenic-pressure"

_REVIEW: Final = publication("bycroft-2005")
RISE: Final[Cutoff] = cutoff(
    Signal.SYSTOLIC_PRESSURE,
    "> 20",
    _REVIEW.at("a sudden rise, as a rule of more than 20 mmHg above the baseline", Mark.SECONDARY),
)
HIGH: Final[Cutoff] = cutoff(
    Signal.SYSTOLIC_PRESSURE,
    ">= 150",
    _REVIEW.at("systolic of 150 or more is lowered if the cause is not found", Mark.SECONDARY),
)
ASKS: Final = Clause(
    text="sit the patient up, loosen what is tight, and look at catheter, bladder and bowel now",
    source=our_choice(
        "a systolic of 150 or more, more than 20 above the own normal where that is known, is an emergency "
        "with a spinal cord injury at or above T6 or of a level not recorded"
    ),
)
