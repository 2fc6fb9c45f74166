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
from typing import Final

from weatherglass.knowledge import publications as cited
from weatherglass.knowledge.data_files import publication
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.plain import Plain
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Skin
from weatherglass.model.sources import Mark, Source
from weatherglass.model.tables.scores import UrgencyWord

PUBLIC_KEY: Final = "sepsis-strata-2024"
_ROWS: Final = PrintedRows("sepsis/sepsis-strata-rows", globals())
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

#: From memory: skin that raises the risk whatever the score.
SKIN_RAISES_RISK: Final = frozenset(Skin)
NAMED_SEVERE: Final = _ROWS.members("named-severe", ConditionKind)
EXPLAINS: Final = _ROWS.members("explains", ConditionKind)
EXPLAINS_AT_FIRST: Final = _ROWS.members("explains-at-first", ConditionKind)
