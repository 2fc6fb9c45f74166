"""Intensive care, theatre, the ventilated patient: who is called, and what means something else there.

Early-warning scores were made to bring a team to the bed; in intensive care it stands there. The
publications exclude critical care and give nothing in the place of a score, so the rest is our choice.
"""

from datetime import timedelta
from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.model.clauses import Clause, Window
from weatherglass.model.sources import our_choice

PUBLIC_KEY: Final = "intensive-care"

WARD_SCORES: Final = Clause(
    text="Made for wards: {} the total calls nobody by itself.",
    source=publication("nice-cg50-2007").at("what is not covered: patients in critical care areas"),
)
AT_MOST_PROMPT: Final = Clause(
    text=(
        "In intensive care and theatre a ward's score, or its trend, asks at most for a prompt look of the "
        "own team, and of somebody ventilated for nothing; the sepsis stratum that it gives is at most "
        "urgent; signs, results and gases call as everywhere."
    ),
    source=our_choice("in intensive care single signs and results call, and totals made for wards do not"),
)
OWN_TEAM: Final = Clause(
    text=(
        "In intensive care its own doctor is called, in theatre the anaesthetist; nobody is sent for who "
        "would bring what is there already."
    ),
    source=our_choice("whoever is at the bedside already is the one to call"),
)
DEVICE_COUNTS_FOR: Final = Window(
    length=timedelta(hours=24),
    source=our_choice("a recorded ventilator speaks for 24 hours"),
)
TUBE_COUNTS_FOR: Final = Window(
    length=timedelta(hours=24),
    source=our_choice(
        "a tube that was put in counts for 24 hours, in intensive care for the stay there, until its "
        "removal, another device or speech is recorded; on a ward it never counts"
    ),
)
SEDATION_LASTS: Final = Window(
    length=timedelta(hours=6),
    source=our_choice("what sedates by the vein explains a low coma scale for 6 hours after it ended"),
)
COMA_UNDER_SEDATION: Final = Clause(
    text=(
        "On a ventilator and with what sedates by the vein the coma scale is told and calls nobody; without "
        "sedation on record it calls within the hour where it is low, and at once where it falls by 3."
    ),
    source=our_choice("a low coma scale that is meant to be low is no emergency"),
)
