"""What no publication fixes about scores: whom they are for, and what belongs to a round.

Data only. Every number here is ours, says why, and is listed in the catalogue for a site
to judge.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.model.clauses import AgeLimit, Clause, Window
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.sources import Mark, Source, our_choice
from weatherglass.model.tables.bands import Compare, Cutoff

PUBLIC_KEY: Final = "score-choices"

ADULT_FROM: Final = AgeLimit(
    years=16, source=our_choice("scores published for adults are used from 16 years, as NEWS2 is")
)
NOT_IN_PREGNANCY: Final = Clause(
    text="Scores published for adults in general are not used in pregnancy and the 42 days after it.",
    source=our_choice("pregnancy changes pulse, pressure and breathing; maternity criteria are used"),
)
CHILD_UNTIL: Final = AgeLimit(
    years=18,
    source=our_choice(
        "Bedside PEWS below 16 years, where NEWS2 does not apply; to 17 where a site asks for it"
    ),
)
MATERNITY: Final = Clause(
    text="Maternity criteria are used in pregnancy and up to 42 days after it, as recorded.",
    source=our_choice(
        "a birth, a pregnancy or its end decides: a problem, a reason of the stay, a status or a gestation"
    ),
)
LONGEST_PREGNANCY: Final = Window(
    length=timedelta(weeks=45),
    source=our_choice("a pregnancy that began longer ago was left open on the problem list"),
)
YOUNGEST_PREGNANT: Final = AgeLimit(
    years=10, source=our_choice("a gestation in the record of a younger child is that of its own birth")
)
SATURATION_ON_OXYGEN: Final = Clause(
    text=(
        "A saturation below 95% meets the maternity criterion on oxygen too; at 95% or more a need of 40 % "
        "oxygen or a reservoir mask or more meets it."
    ),
    source=our_choice("the criterion is printed for room air, on which the value would be no higher"),
)
OXYGEN_WITHOUT_AMOUNT: Final = Clause(
    text="In Bedside PEWS a device without a flow or a fraction scores 2 or 4, and the total stays open.",
    source=our_choice("how much oxygen is given is not guessed from the device"),
)
COMA_SCALE_BESIDE_ACVPU: Final = Clause(
    text="Where a coma scale and ACVPU are both recorded, either of them is enough for altered mentation.",
    source=our_choice("a full coma scale does not clear a recorded change"),
)
RESULTS_IN_A_ROUND: Final = Clause(
    text="A laboratory result counts in a round until the next round, for the look-back of 24 hours at most.",
    source=our_choice("SIRS mixes bedside and laboratory values and does not say how far apart"),
)
NEEDS_INFECTION: Final = Clause(
    text="Without suspected infection a positive qSOFA or SIRS is shown and never ranked.",
    source=our_choice("both are published for suspected infection"),
)
SECONDARY_HISTORY: Final = Window(
    length=timedelta(hours=72),
    source=our_choice(
        "a score shown beside the chosen one is followed for 72 hours, longer while a run goes on"
    ),
)
_PAEDIATRIC_LEVELS = publication("national-paediatric-score").at(
    "5 and 9, which could not be read in its own documents; their urgencies are ours, and a level from "
    "memory makes no emergency",
    Mark.FROM_MEMORY,
)
_MATERNITY_LEVEL = our_choice(
    "the national maternity score escalates from a total of 2 (its abstract); that this is 'prompt' is ours"
)


def _total(number: str, source: Source) -> Cutoff:
    return Cutoff(compare=Compare.AT_LEAST, limit=Quantity(Decimal(number), Unit.SCORE), source=source)


#: The most urgent first.
REPORTED_PAEDIATRIC_URGENT: Final = _total("9", _PAEDIATRIC_LEVELS)
REPORTED_PAEDIATRIC_PROMPT: Final = _total("5", _PAEDIATRIC_LEVELS)
REPORTED_MATERNITY_PROMPT: Final = _total("2", _MATERNITY_LEVEL)
REPORTED_RISE: Final = Clause(
    text="A reported paediatric or maternity total rises by the limits of a rise of NEWS2.",
    source=our_choice("its own table is not computed, so its own limits are not known"),
)
