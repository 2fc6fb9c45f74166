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

from weatherglass.model.clauses import AgeLimit, Clause
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.sources import Publication, our_choice
from weatherglass.model.tables.bands import Compare, Cutoff

KEY: Final = "shock-index"
AGE_KEY: Final = "age-shock-index"
PUBLIC_KEY: Final = "shock-index-2019"

PUBLICATION: Final = Publication(
    key="koch-2019",
    citation=(
        "Koch E, Lovett S, Nghiem T, Riggs RA, Rech MA. Shock index in the emergency department: "
        "utility and limitations. Open Access Emerg Med 2019;11:179-199"
    ),
    address="https://doi.org/10.2147/OAEM.S178358",
)

RAISED: Final = Cutoff(
    compare=Compare.AT_LEAST,
    limit=Quantity(Decimal("0.9"), Unit.RATIO),
    source=Publication(
        key="shibahashi-2019",
        citation=(
            "Shibahashi K, Sugiyama K, Okura Y, Hoda H, Hamabe Y. Can the shock index be a "
            "reliable predictor of early mortality after trauma in older patients? A "
            "retrospective cohort study. Acute Med Surg 2019;6:385-391"
        ),
    ).at("traditional cut-off of 0.9 in trauma"),
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
    source=Publication(
        key="sotello-2019",
        citation=(
            "Sotello D, Yang S, Nugent K. Comparison of the shock index, modified shock index, "
            "and age shock index in adult admissions to a tertiary hospital. "
            "Southwest Respir Crit Care Chron 2019;7(28)"
        ),
        address="https://pulmonarychronicles.com/index.php/pulmonarychronicles/article/view/539",
    ).at("Methods, age shock index, cut-off 50"),
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
