"""Head injury in adults: when the head is imaged, and what an anticoagulant adds.

NICE NG232 as restated; the wording for anticoagulants of its present edition was not read, so
imaging is "to be considered" there. Which of it a ward record can tell is our choice.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.model.clauses import Clause, Window
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.sources import Mark, our_choice
from weatherglass.model.tables.bands import Compare, Cutoff

PUBLIC_KEY: Final = "head-injury"
NICE: Final = publication("nice-ng232")
COMA_AT_ONCE: Final = Cutoff(
    compare=Compare.AT_MOST,
    limit=Quantity(Decimal(12), Unit.SCORE),
    source=NICE.at("adults, CT within 1 hour, coma scale 12 or less", Mark.SECONDARY),
)
COMA_LATER: Final = Cutoff(
    compare=Compare.BELOW,
    limit=Quantity(Decimal(15), Unit.SCORE),
    source=NICE.at("adults, CT within 1 hour, coma scale below 15 at 2 hours", Mark.SECONDARY),
)
TWO_HOURS: Final = Window(length=timedelta(hours=2), source=COMA_LATER.source)
ANTICOAGULANT: Final = Clause(
    text="On an anticoagulant, or an antiplatelet other than aspirin alone, CT within 8 hours is considered.",
    source=NICE.at("adults, anticoagulant or antiplatelet treatment, CT within 8 hours", Mark.SECONDARY),
)
OTHER_REASONS: Final = Clause(
    text=(
        "A fit, a focal deficit, more than one vomit or signs of a skull fracture ask for CT within 1 hour: "
        "the record may not hold them."
    ),
    source=NICE.at("adults, CT within 1 hour, other risk factors", Mark.SECONDARY),
)
INJURY_COUNTS_FOR: Final = Window(
    length=timedelta(hours=72), source=our_choice("a head injury or a fall counts for 72 hours from its date")
)
FALLING_COMA: Final = Clause(
    text="A coma scale that falls by 2 or more on an anticoagulant is an emergency.",
    source=our_choice("a falling coma scale on an anticoagulant is an emergency, injured or not"),
)
THROMBOLYSIS_COUNTS_FOR: Final = Window(
    length=timedelta(hours=24),
    source=our_choice(
        "thrombolysis of the last 24 hours counts as an anticoagulant when the coma scale falls"
    ),
)
