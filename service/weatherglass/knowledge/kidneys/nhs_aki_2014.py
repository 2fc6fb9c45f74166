"""NHS England's laboratory algorithm for acute kidney injury, 2014.

Data only, in the order of the algorithm's flow: which earlier results count, the
ratios, the two absolute numbers, what is said when there is no earlier result.
The flow lives in `weatherglass.assessments`.

The flow chart itself was not read; the numbers come from two independent public
restatements of it and the marks say so. Its result is a laboratory warning, called
"AKI warning stage", and is kept apart from the KDIGO stage.

Left out, with reasons:
    Urine output and renal replacement: not part of a laboratory algorithm.
    Adult results compared with the reference range as if it were a baseline: the
    algorithm does so in children only.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.model.clauses import AgeLimit, Clause, Window
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.sources import Mark, our_choice
from weatherglass.model.tables.bands import BandTable, Compare, Cutoff, GapRule, band

PUBLICATION: Final = publication("nhs-england-aki-2014")
PUBLIC_KEY: Final = "nhs-aki-2014"
_FLOW = "Algorithm"

#: Stage by the newest result over the reference value; 0 means no warning by ratio.
STAGE_BY_RATIO: Final = BandTable(
    unit=Unit.RATIO,
    step=Decimal("0.1"),
    gap_rule=GapRule.KEEP_LOWER_ROW,  # Ours: half-open, "at least 1.5" begins at 1.5.
    bands=(
        band(None, "1.4", 0),  # Not printed: everything below 1.5.
        band("1.5", "1.9", 1),
        band("2.0", "2.9", 2),
        band("3.0", None, 3),
    ),
    source=PUBLICATION.at(f"{_FLOW}, RV ratio", Mark.SECONDARY),
)

#: Stage 1 without a ratio of 1.5: the difference from the lowest result of 48 hours.
STAGE_1_RISE: Final = Cutoff(
    compare=Compare.ABOVE,
    limit=Quantity(Decimal(26), Unit.MICROMOLE_PER_LITRE),
    source=PUBLICATION.at(f"{_FLOW}, D greater than 26 umol/L within 48 hours", Mark.SECONDARY),
)

#: In adults whose ratio has reached 1.5, a result above this is stage 3.
STAGE_3_CREATININE: Final = Cutoff(
    compare=Compare.ABOVE,
    limit=Quantity(Decimal(354), Unit.MICROMOLE_PER_LITRE),
    source=PUBLICATION.at(f"{_FLOW}, stage 3, greater than 354 umol/L", Mark.SECONDARY),
)
#: In children whose ratio has reached 1.5: the result over the upper reference limit for age.
STAGE_3_CHILD_TIMES_UPPER_LIMIT: Final = Cutoff(
    compare=Compare.ABOVE,
    limit=Quantity(Decimal(3), Unit.RATIO),
    source=PUBLICATION.at(f"{_FLOW}, stage 3, under 18, 3 x ULRI", Mark.FROM_MEMORY),
)
ADULT_AGE: Final = AgeLimit(years=18, source=PUBLICATION.at(f"{_FLOW}, age 18 and over", Mark.FROM_MEMORY))

#: RV1 is the lowest earlier result that is at most this old.
RECENT_WINDOW: Final = Window(
    length=timedelta(hours=168),
    source=PUBLICATION.at(f"{_FLOW}, RV1, lowest within 0-7 days", Mark.SECONDARY),
)
#: RV2 is the median of the results that are older than that and at most this old.
YEAR_WINDOW: Final = Window(
    length=timedelta(days=365),
    source=PUBLICATION.at(f"{_FLOW}, RV2, median of 8-365 days", Mark.SECONDARY),
)
RISE_WINDOW: Final = Window(
    length=timedelta(hours=48),
    source=PUBLICATION.at(f"{_FLOW}, D, lowest within 48 hours", Mark.SECONDARY),
)
#: Ours: no result may fall between "7 days" and "8 days".
ELAPSED_TIME: Final = Clause(
    text=(
        "Elapsed time decides, not the calendar day: up to 168 hours is RV1, beyond that and "
        "up to 365 times 24 hours is RV2."
    ),
    source=our_choice("0-7 and 8-365 days are read as elapsed hours"),
)
MEDIAN_OF_EVEN_COUNT: Final = Clause(
    text="The median of an even number of results is the mean of the middle two.",
    source=our_choice("the algorithm does not say how to take an even median"),
)
HIGHER_RATIO: Final = Clause(
    text="When RV1 and RV2 both exist the higher ratio decides, and both are shown.",
    source=our_choice("published evaluations treat the rules as alternatives; readings differ"),
)
RISE_ALONE_IS_STAGE_1: Final = Clause(
    text=(
        "When only the rise is met, the warning stage is 1 even above 354 umol/L; the KDIGO "
        "stage beside it is 3 and the higher of the two is shown first."
    ),
    source=our_choice("the flow reaches the 354 rule only from a ratio of 1.5"),
)

#: Children without an earlier result: the upper reference limit stands in for it.
CHILD_WITHOUT_EARLIER_RESULT: Final = Clause(
    text=(
        "Under 18 without an earlier result, the upper reference limit for age is taken as "
        "the reference value."
    ),
    source=publication("rcem-aki-children").at("Table 1", Mark.SECONDARY),
)

#: The algorithm is not used below this age.
MINIMUM_AGE: Final = AgeLimit(
    days=29,
    source=publication("bhojani-2020").at("Methods, ages from 29 days to 17 years"),
)
NOT_ON_DIALYSIS: Final = Clause(
    text="Results taken on renal replacement therapy are left out.",
    source=PUBLICATION.at(f"{_FLOW}, exclusions", Mark.FROM_MEMORY),
)

#: The term of QS76, statement 3.
RESULT_NAME: Final = "AKI warning stage"
QS76: Final = publication("nice-qs76")
STAGE_WORDING: Final = {
    1: f"{RESULT_NAME} 1",
    2: f"{RESULT_NAME} 2",
    3: f"{RESULT_NAME} 3",
}

#: Without an earlier result there is no stage, only a flag against the reference range.
HIGH_WITHOUT_EARLIER_RESULT: Final = Clause(
    text=(
        "Creatinine is above the reference range and there is no earlier result: acute or "
        "chronic kidney disease cannot be told apart, repeat."
    ),
    source=PUBLICATION.at(f"{_FLOW}, no previous result, above ULRI", Mark.FROM_MEMORY),
)
LOW_WITHOUT_EARLIER_RESULT: Final = Clause(
    text="Creatinine is below the reference range and there is no earlier result.",
    source=PUBLICATION.at(f"{_FLOW}, no previous result, below LLRI", Mark.FROM_MEMORY),
)

#: Clinical review after a warning stage 2, by how ill the patient is.
STAGE_2_REVIEW_IF_ACUTELY_ILL: Final = Window(
    length=timedelta(hours=6),
    source=QS76.at("Statement 3, acutely ill or admitted to hospital"),
)
STAGE_2_REVIEW_IF_STABLE: Final = Window(
    length=timedelta(hours=24), source=QS76.at("Statement 3, clinically stable")
)
#: Discussion with a nephrologist in stage 3, or with a kidney transplant.
STAGE_3_NEPHROLOGY: Final = Window(length=timedelta(hours=24), source=QS76.at("Statement 5"))

#: How often the warning is wrong where the kidneys are already known to be damaged.
CHRONIC_DISEASE_CAUTION: Final = Clause(
    text=(
        "Chronic kidney disease, recorded or by earlier results: false warnings are likely (14.0% of people "
        "with stable disease were flagged in one evaluation)."
    ),
    source=publication("sawhney-2015").at("Results, stable chronic kidney disease"),
)
