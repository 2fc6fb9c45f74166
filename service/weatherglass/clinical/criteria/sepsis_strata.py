"""Risk of severe illness or death in suspected sepsis, by NEWS2 (NICE).

Data only. A stratum is said only where infection is suspected; without that, a high
score asks for a search for infection. Shown beside clinical judgement, not instead.

The guideline for people of 16 and over was NG51 (updated January 2024) and is NG253
since 19 November 2025; the strata were read in NG51, 1.11.5.

Left out, with reasons:
    Strata for children and in pregnancy: separate guidelines, not read. The single
    values for children under 5 of the 2016 guideline stand in `UNDER_5_HIGH_RISK`.
"""

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from typing import Final, NamedTuple

from weatherglass.clinical.clauses import Clause
from weatherglass.clinical.criteria import publications as cited
from weatherglass.clinical.quantities import Quantity, Unit
from weatherglass.clinical.scores import UrgencyWord
from weatherglass.clinical.signals import Skin
from weatherglass.clinical.sources import Mark, Publication, Source, our_choice
from weatherglass.clinical.tables import Compare, Cutoff

PUBLIC_KEY: Final = "sepsis-strata-2024"
TIMING: Final = Publication(
    key="aomrc-2022",
    citation=(
        "Academy of Medical Royal Colleges. Statement on the initial antimicrobial treatment of "
        "sepsis, 2022, as adopted by SIGN, Care of deteriorating patients, recommendation 11"
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SepsisStratum:
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
        "problem list, an antibiotic on the chart, or infection stated as suspected."
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
NO_IMPROVEMENT_RAISES_RISK: Final = Clause(
    text="Deterioration, or no improvement after treatment, raises the risk whatever the score.",
    source=cited.SEPSIS.at("features that raise the risk", Mark.FROM_MEMORY),
)
IN_CONTEXT: Final = Clause(
    text="The score is read together with history, examination and what is usual for the person.",
    source=cited.SEPSIS.at("1.11.4"),
)


class ChildCutoffs(NamedTuple):
    """Single high-risk values of one age group, in completed years."""

    from_years: int
    below_years: int
    respiration: Cutoff
    pulse: Cutoff


def _child(unit: Unit, number: str, row: str, compare: Compare = Compare.AT_LEAST) -> Cutoff:
    return Cutoff(
        compare=compare,
        limit=Quantity(Decimal(number), unit),
        source=cited.SEPSIS_2016.at(f"Children under 5, {row}"),
    )


_RATE = Unit.PER_MINUTE
UNDER_5_HIGH_RISK: Final = (
    ChildCutoffs(
        0,
        1,
        _child(_RATE, "60", "high risk, breathing, under 1 year"),
        _child(_RATE, "160", "high risk, heart rate, under 1 year"),
    ),
    ChildCutoffs(
        1,
        3,
        _child(_RATE, "50", "high risk, breathing, 1-2 years"),
        _child(_RATE, "150", "high risk, heart rate, 1-2 years"),
    ),
    ChildCutoffs(
        3,
        5,
        _child(_RATE, "40", "high risk, breathing, 3-4 years"),
        _child(_RATE, "140", "high risk, heart rate, 3-4 years"),
    ),
)
UNDER_5_SLOW_PULSE: Final = _child(_RATE, "60", "high risk, heart rate, any age", Compare.BELOW)
UNDER_5_SATURATION_ON_AIR: Final = _child(Unit.PERCENT, "90", "high risk, saturation on air", Compare.BELOW)
UNDER_5_CAPILLARY_REFILL: Final = _child(Unit.SECOND, "3", "moderate to high risk, capillary refill")
