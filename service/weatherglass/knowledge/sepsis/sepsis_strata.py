"""Risk of severe illness or death in suspected sepsis, by NEWS2 (NICE).

Data only. A stratum is said only where infection is suspected; without that, a high
score asks for a search for infection. Shown beside clinical judgement, not instead.

The guideline for people of 16 and over was NG51 (updated January 2024) and is NG253
since 19 November 2025; the strata were read in NG51, 1.11.5.

Left out, with reasons:
    Children and pregnancy: guidelines of their own, with tables of single signs. They stand
    in `paediatric_sepsis` and `maternal_sepsis`.
    Neutropenic sepsis: a guideline of its own, in `neutropenic_sepsis`.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Final

from weatherglass.knowledge import publications as cited
from weatherglass.knowledge.data_files import publication
from weatherglass.knowledge.plain import Plain
from weatherglass.model.clauses import Clause, Window
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.signals import Skin
from weatherglass.model.sources import Mark, Source, our_choice
from weatherglass.model.tables.bands import Compare, Cutoff
from weatherglass.model.tables.scores import UrgencyWord

PUBLIC_KEY: Final = "sepsis-strata-2024"
TIMING: Final = publication("aomrc-2022")


class SepsisStratum(Plain, frozen=True, kw_only=True):
    """One stratum of risk.

    Attributes:
        at_least: The NEWS2 total from which it holds.
        label: The risk in words.
        antimicrobial_within: By when the first dose should be complete, from the score;
            `None` where none is given.
        urgency: Our ranking.
        source: Where the stratum is printed.
        timing_source: Where the time is printed.
    """

    at_least: int
    label: str
    antimicrobial_within: timedelta | None
    urgency: UrgencyWord
    source: Source
    timing_source: Source | None


def _stratum(at_least: int, label: str, hours: int, urgency: UrgencyWord) -> SepsisStratum:
    return SepsisStratum(
        at_least=at_least,
        label=label,
        antimicrobial_within=timedelta(hours=hours) if hours else None,
        urgency=urgency,
        source=cited.SEPSIS.at(f"1.11.5, {label} risk"),
        timing_source=TIMING.at(f"{label} risk, within {hours} h", Mark.SECONDARY) if hours else None,
    )


#: Highest first; the first whose total is reached holds.
STRATA: Final = (
    _stratum(7, "high", 1, "emergency"),
    _stratum(5, "moderate", 3, "urgent"),
    _stratum(1, "low", 6, "prompt"),
    _stratum(0, "very low", 0, "routine"),
)

NEEDS_SUSPECTED_INFECTION: Final = Clause(
    text=(
        "A stratum is given only where infection is suspected: an active infection on the "
        "problem list or as the reason of a stay, a request or an order, or an antibiotic on the "
        "chart that is not for prevention."
    ),
    source=our_choice("no sepsis stratum without suspected infection"),
)
SCREEN_FOR_INFECTION: Final = Cutoff(
    compare=Compare.AT_LEAST,
    limit=Quantity(Decimal(5), Unit.SCORE),
    source=our_choice("from NEWS2 5, ask whether infection explains it"),
)
#: From memory: a lactate above this re-grades the risk as high.
LACTATE_RAISES_RISK: Final = Cutoff(
    compare=Compare.ABOVE,
    limit=Quantity(Decimal(2), Unit.MILLIMOLE_PER_LITRE),
    source=cited.SEPSIS.at("features that raise the risk, lactate above 2 mmol/L", Mark.FROM_MEMORY),
)
#: From memory: skin that raises the risk whatever the score.
SKIN_RAISES_RISK: Final = frozenset(Skin)
SKIN_RAISES_RISK_SOURCE: Final = cited.SEPSIS.at(
    "features that raise the risk: mottled or ashen, cyanosis, non-blanching rash",
    Mark.FROM_MEMORY,
)
#: From memory: acute kidney injury re-grades the risk as high, as lactate does.
AKI_RAISES_RISK: Final = Clause(
    text="Acute kidney injury in suspected sepsis is high risk, as a lactate above 2 mmol/L is.",
    source=cited.SEPSIS_2016.at("lactate above 2 mmol/L or acute kidney injury: high risk", Mark.FROM_MEMORY),
)
SINGLE_THREE_RAISES_RISK: Final = Clause(
    text=(
        "One sign that scores 3 makes the risk at least moderate whatever the total; answering to "
        "pain alone or to nothing, or a coma scale of 8 or less, makes it high."
    ),
    source=our_choice("a single 3 of NEWS2 with suspected infection is at least moderate risk"),
)
#: From memory: a single 3 asks for a clinician's review with high priority.
SINGLE_THREE_IS_REVIEWED: Final = Clause(
    text="Where one sign scores 3 a clinician reviews with high priority.",
    source=cited.SEPSIS.at("one parameter that scores 3 or more, high-priority review", Mark.FROM_MEMORY),
)
RISK_GOES_ON_FOR: Final = Window(
    length=timedelta(hours=24),
    source=our_choice(
        "a risk that falls for 24 hours or less goes on: its deadline is not counted again when it is back"
    ),
)
TOLD_WITH_ITS_TIME: Final = Window(
    length=timedelta(hours=6),
    source=our_choice("a reason older than 6 hours is said in the past tense, with its time"),
)
ASKED_UNLESS_EXPLAINED: Final = Clause(
    text=(
        "Whether infection explains a score is not asked at a cardiac arrest, nor beside recorded bleeding, "
        "arrhythmia, overdose or cardiac arrest, or slow breathing, unless the temperature is 38 or more or "
        "below 36."
    ),
    source=our_choice(
        "the question of infection is not asked where another cause is recorded, without fever"
    ),
)
FEVER: Final = Cutoff(
    compare=Compare.AT_LEAST,
    limit=Quantity(Decimal(38), Unit.DEGREE_CELSIUS),
    source=our_choice("a temperature of 38 or more asks about infection"),
)
COLD: Final = Cutoff(
    compare=Compare.BELOW,
    limit=Quantity(Decimal(36), Unit.DEGREE_CELSIUS),
    source=our_choice("a temperature below 36 asks about infection"),
)
_RESULTS: Final = our_choice(
    "a temperature of 38 or more, or two of a temperature below 36, white cells above 12 or below 4 and a "
    "C-reactive protein of 100 or more, make the question of infection 'urgent' from NEWS2 5"
)
WHITE_CELLS_HIGH: Final = Cutoff(
    compare=Compare.ABOVE, limit=Quantity(Decimal(12), Unit.BILLION_PER_LITRE), source=_RESULTS
)
WHITE_CELLS_LOW: Final = Cutoff(
    compare=Compare.BELOW, limit=Quantity(Decimal(4), Unit.BILLION_PER_LITRE), source=_RESULTS
)
CRP_HIGH: Final = Cutoff(
    compare=Compare.AT_LEAST, limit=Quantity(Decimal(100), Unit.MILLIGRAM_PER_LITRE), source=_RESULTS
)
SIGNS_COUNT_FOR: Final = Window(
    length=timedelta(hours=24),
    source=our_choice("results of 24 hours are read beside the question of infection"),
)
SLOW_BREATHING: Final = Cutoff(
    compare=Compare.AT_MOST,
    limit=Quantity(Decimal(8), Unit.PER_MINUTE),
    source=our_choice("breathing of 8 or less speaks of a medicine or of exhaustion first"),
)
NO_IMPROVEMENT_RAISES_RISK: Final = Clause(
    text="Deterioration, or no improvement after treatment, raises the risk whatever the score.",
    source=cited.SEPSIS.at("features that raise the risk", Mark.FROM_MEMORY),
)
IN_CONTEXT: Final = Clause(
    text="The score is read together with history, examination and what is usual for the person.",
    source=cited.SEPSIS.at("1.11.4"),
)
