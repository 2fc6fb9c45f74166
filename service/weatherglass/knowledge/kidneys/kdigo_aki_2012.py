"""KDIGO acute kidney injury: definition and stages, 2012 edition.

Data only, in the order of Table 2. Staging lives in
`weatherglass.assessments`.

The table prints 1.5-1.9, 2.0-2.9 and 3.0. Ours: half-open intervals, so that 1.95
has not reached "2.0 times baseline". The same amounts are printed in two units
(0.3 mg/dL and 26.5 umol/L, which is 0.29977 mg/dL); each value meets the number of
its own unit, and neither is converted into the other.

Left out, with reasons:
    Which weight to use for urine output: the guideline does not say. Ours is the
    recorded actual weight, stated with the result.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.knowledge.plain import Plain
from weatherglass.model.clauses import AgeLimit, Clause, Share, Window
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.sources import Mark, Source, our_choice
from weatherglass.model.tables.bands import BandTable, Compare, Cutoff, GapRule, band

PUBLICATION: Final = publication("kdigo-aki-2012")

PUBLIC_KEY: Final = "kdigo-aki-2012"
_CREATININE = "Section 2, Table 2, serum creatinine"
_URINE = "Section 2, Table 2, urine output"

#: Stage by creatinine over baseline; 0 means that no stage is reached.
STAGE_BY_RATIO: Final = BandTable(
    unit=Unit.RATIO,
    step=Decimal("0.1"),
    gap_rule=GapRule.KEEP_LOWER_ROW,  # Ours: half-open intervals.
    bands=(
        band(None, "1.4", 0),  # Not printed: everything below stage 1.
        band("1.5", "1.9", 1),
        band("2.0", "2.9", 2),
        band("3.0", None, 3),
    ),
    source=PUBLICATION.at(f"{_CREATININE}, times baseline"),
)

#: A rise within 48 hours that is stage 1 on its own, for results reported in umol/L.
STAGE_1_RISE: Final = Cutoff(
    compare=Compare.AT_LEAST,
    limit=Quantity(Decimal("26.5"), Unit.MICROMOLE_PER_LITRE),
    source=PUBLICATION.at(f"{_CREATININE}, stage 1, increase in umol/L"),
)
#: The same criterion for results reported in mg/dL.
STAGE_1_RISE_MASS: Final = Cutoff(
    compare=Compare.AT_LEAST,
    limit=Quantity(Decimal("0.3"), Unit.MILLIGRAM_PER_DECILITRE),
    source=PUBLICATION.at(f"{_CREATININE}, stage 1, increase in mg/dL"),
)

#: A creatinine that is stage 3 once an acute rise has been shown.
STAGE_3_CREATININE: Final = Cutoff(
    compare=Compare.AT_LEAST,
    limit=Quantity(Decimal("353.6"), Unit.MICROMOLE_PER_LITRE),
    source=PUBLICATION.at(f"{_CREATININE}, stage 3, increase to umol/L"),
)
STAGE_3_CREATININE_MASS: Final = Cutoff(
    compare=Compare.AT_LEAST,
    limit=Quantity(Decimal("4.0"), Unit.MILLIGRAM_PER_DECILITRE),
    source=PUBLICATION.at(f"{_CREATININE}, stage 3, increase to mg/dL"),
)
STAGE_3_NEEDS_ACUTE_RISE: Final = Clause(
    text=(
        "A creatinine of 353.6 umol/L or more is stage 3 only when the rise within 48 hours "
        "or the ratio of 1.5 is met as well; a stable high value is not acute injury."
    ),
    source=PUBLICATION.at("Section 2, text beside Table 2", Mark.FROM_MEMORY),
)
STAGE_3_RENAL_REPLACEMENT: Final = Clause(
    text="The start of renal replacement therapy is stage 3.",
    source=PUBLICATION.at(f"{_CREATININE}, stage 3, renal replacement therapy"),
)

#: In the young, a fall of the estimated filtration rate below this is stage 3.
STAGE_3_CHILD_EGFR: Final = Cutoff(
    compare=Compare.BELOW,
    limit=Quantity(Decimal(35), Unit.EGFR),
    source=PUBLICATION.at(f"{_CREATININE}, stage 3, patients younger than 18 years"),
)
ADULT_AGE: Final = AgeLimit(
    years=18, source=PUBLICATION.at(f"{_CREATININE}, stage 3, patients younger than 18 years")
)

#: The rise counts against any earlier result that is at most this old.
RISE_WINDOW: Final = Window(
    length=timedelta(hours=48), source=PUBLICATION.at("Section 2, definition, within 48 hours")
)
#: The ratio is known or presumed to have been reached within this time.
RATIO_WINDOW: Final = Window(
    length=timedelta(days=7),
    source=PUBLICATION.at("Section 2, definition, within the prior 7 days", Mark.SECONDARY),
)
LOWEST_EARLIER_RESULT: Final = Clause(
    text="Of the results of 48 hours, and of those of 7 days, the lowest earlier one is the reference.",
    source=our_choice("the lowest earlier result of the window is the reference"),
)


class UrineCriterion(Plain, frozen=True, kw_only=True):
    """One urine row: a rate below the printed limit for at least the printed time."""

    stage: int
    rate: Cutoff
    window: Window

    @property
    def source(self) -> Source:
        """Where the row is printed."""
        return self.rate.source


def _below(rate: str, stage: int, hours: int) -> UrineCriterion:
    place = PUBLICATION.at(f"{_URINE}, stage {stage}")
    limit = Quantity(Decimal(rate), Unit.MILLILITRE_PER_KILOGRAM_HOUR)
    return UrineCriterion(
        stage=stage,
        rate=Cutoff(compare=Compare.BELOW, limit=limit, source=place),
        window=Window(length=timedelta(hours=hours), source=place),
    )


#: The rows, highest stage first. Stage 1 is printed "for 6-12 hours".
URINE_CRITERIA: Final = (
    _below("0.3", 3, 24),
    _below("0.5", 2, 12),
    _below("0.5", 1, 6),
)
#: Below this rate urine is low, by the first stage.
LEAST_RATE: Final = URINE_CRITERIA[-1].rate

STAGE_3: Final = 3
ANURIA_STAGE: Final = STAGE_3
ANURIA_WINDOW: Final = Window(length=timedelta(hours=12), source=PUBLICATION.at(f"{_URINE}, stage 3, anuria"))
#: Ours: the guideline does not say how little is none.
ANURIA_VOLUME: Final = Cutoff(
    compare=Compare.AT_MOST,
    limit=Quantity(Decimal(50), Unit.MILLILITRE),
    source=our_choice("anuria is at most 50 mL in 12 hours; the guideline does not define it"),
)
#: Ours: below this share of charted hours the urine criteria cannot be judged.
URINE_COVERAGE: Final = Share(
    value=Decimal("0.8"),
    source=our_choice("at least 80% of the window must be charted"),
)

# What follows the stage: recovery, persistence, acute kidney disease.

ADQI_2017: Final = publication("adqi-akd-2017")
#: Injury that outlasts this is acute kidney disease.
INJURY_LASTS: Final = Window(
    length=timedelta(days=7), source=ADQI_2017.at("Definition of AKI and AKD, up to 7 days")
)
#: Beyond this it is chronic kidney disease.
DISEASE_LASTS: Final = Window(
    length=timedelta(days=90), source=ADQI_2017.at("Definition of AKD and CKD, 90 days")
)
#: Criteria still met for longer than this: persistent injury.
PERSISTENT_AFTER: Final = Window(
    length=timedelta(hours=48),
    source=ADQI_2017.at("Persistent AKI, beyond 48 hours", Mark.FROM_MEMORY),
)
#: Ours: creatinine at or below two thirds of the episode's peak is recovering.
RECOVERING_SHARE_OF_PEAK: Final = Cutoff(
    compare=Compare.AT_MOST,
    limit=Quantity(Decimal("0.67"), Unit.RATIO),
    source=our_choice("recovering: creatinine at most 0.67 of the peak of the episode"),
)
#: Ours: or the ratio is below 1.5 in two results at least this far apart.
RECOVERY_CONFIRMED_AFTER: Final = Window(
    length=timedelta(hours=24),
    source=our_choice("recovery needs two results at least 24 hours apart, never one value"),
)
