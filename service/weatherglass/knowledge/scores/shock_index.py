"""Shock index and age shock index: two quotients and their cut-offs.

Data only. Shock index is pulse over systolic pressure; age shock index is age in years
times shock index. Published cut-offs differ (0.7, 0.9, 1.0). Ours: 0.9 is raised and 1.0
is high, and neither triggers anything by itself.

Left out, with reasons:
    Modified shock index (pulse over mean pressure, 1.3): one cohort; mean pressure is
    seldom recorded on a ward.
"""

from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.model.clauses import AgeLimit, Clause
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.sources import our_choice
from weatherglass.model.tables.bands import Compare, Cutoff

KEY: Final = "shock-index"
AGE_KEY: Final = "age-shock-index"
PUBLIC_KEY: Final = "shock-index-2019"

PUBLICATION: Final = publication("koch-2019")

RAISED: Final = Cutoff(
    compare=Compare.AT_LEAST,
    limit=Quantity(Decimal("0.9"), Unit.RATIO),
    source=publication("shibahashi-2019").at("traditional cut-off of 0.9 in trauma"),
)
#: Ours: the review says "above 1.0"; here the number itself counts.
HIGH: Final = Cutoff(
    compare=Compare.AT_LEAST,
    limit=Quantity(Decimal("1.0"), Unit.RATIO),
    source=PUBLICATION.at("Abstract, shock index above 1.0; that 1.0 itself counts is our choice"),
)
AGE_HIGH: Final = Cutoff(
    compare=Compare.AT_LEAST,
    limit=Quantity(Decimal(50), Unit.RATIO),
    source=publication("sotello-2019").at("Methods, age shock index, cut-off 50"),
)
#: Age times a quotient that is normal is high in every well person of eighty.
AGE_COUNTS_FROM: Final = Cutoff(
    compare=Compare.AT_LEAST,
    limit=Quantity(Decimal("0.7"), Unit.RATIO),
    source=our_choice("an age shock index is called high only from a shock index of 0.7"),
)
MINIMUM_AGE: Final = AgeLimit(
    years=16, source=our_choice("children have other normal values; from 16 years only")
)
NEVER_ALONE: Final = Clause(
    text="A shock index never triggers anything by itself; it supports another finding.",
    source=our_choice("cohorts disagree on the shock index; it is never a sole trigger"),
)
UNRELIABLE_WITH_RATE_CONTROL: Final = Clause(
    text="Beta-blockers and pacing hold the pulse down: a normal shock index means nothing then.",
    source=our_choice("marked unreliable under beta-blockade or pacing"),
)
