"""A reaction to a transfusion: which signs, and for how long after it.

Data only. The sizes of the signs are from memory, so nothing here is an emergency by itself: the
signs call by their own rules.
"""

from datetime import timedelta
from typing import Final

from weatherglass.knowledge.data_files import cutoff, publication
from weatherglass.model.clauses import Clause, Window
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Mark, our_choice
from weatherglass.model.tables.bands import Cutoff

PUBLIC_KEY: Final = "transfusion-reaction"

_GUIDELINE: Final = publication("bcsh-transfusion-2012")
_SIGNS: Final = _GUIDELINE.at(
    "temperature of 38 or more with a rise of 1 or more, low pressure, breathlessness", Mark.FROM_MEMORY
)
FEVER: Final[Cutoff] = cutoff(Signal.TEMPERATURE, ">= 38", _SIGNS)
FEVER_RISE: Final[Cutoff] = cutoff(Signal.TEMPERATURE, ">= 1", _SIGNS)
LOW_PRESSURE: Final[Cutoff] = cutoff(Signal.SYSTOLIC_PRESSURE, "<= 100", _SIGNS)
PRESSURE_FALL: Final[Cutoff] = cutoff(Signal.SYSTOLIC_PRESSURE, ">= 30", _SIGNS)
HYPOXIA: Final[Cutoff] = cutoff(Signal.SPO2, "< 92", _SIGNS)
SATURATION_FALL: Final[Cutoff] = cutoff(Signal.SPO2, ">= 3", _SIGNS)
COUNTS_FOR: Final = Window(
    length=timedelta(hours=6), source=our_choice("a transfusion explains new signs for 6 hours after it")
)
READINGS_BEFORE: Final = Window(
    length=timedelta(hours=24), source=our_choice("signs are compared with those of the day before it")
)
_ASSESSMENT: Final = _GUIDELINE.at(
    "initial assessment: stop, keep venous access, check identity", Mark.SECONDARY
)
#: Before anybody comes, while it runs.
STOP: Final = Clause(
    text="stop the transfusion, keep the line open, check identity band and unit", source=_ASSESSMENT
)
#: The same once it has ended.
CHECK: Final = Clause(text="check identity band and unit", source=_ASSESSMENT)
THEN: Final = Clause(
    text="tell the transfusion laboratory; anaphylaxis and overload to be looked for", source=_ASSESSMENT
)
GRADED: Final = our_choice("new signs during a transfusion or within 6 hours of it are 'urgent'")
