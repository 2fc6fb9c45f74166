"""Immediate investigations worth having, by what was found.

Data only. Common practice at the bedside, no publication prints this list: a row says
what is worth having beside a finding, never that it must be done.
"""

from dataclasses import dataclass
from typing import Final

from weatherglass.clinical.findings import Kind
from weatherglass.clinical.sources import Source, common_practice

PUBLIC_KEY: Final = "investigations"


@dataclass(frozen=True, slots=True, kw_only=True)
class Investigation:
    """What is worth having when one of these kinds of finding is at least prompt."""

    name: str
    kinds: frozenset[Kind]
    source: Source


def _worth(name: str, *kinds: Kind) -> Investigation:
    return Investigation(name=name, kinds=frozenset(kinds), source=common_practice(f"beside: {name}"))


INVESTIGATIONS: Final = (
    _worth("blood gas with lactate", Kind.SCORE, Kind.SEPSIS_RISK, Kind.BLOOD_GAS, Kind.POSSIBLE_BLEEDING),
    _worth("capillary glucose", Kind.SCORE, Kind.SEPSIS_RISK),
    _worth("full blood count and C-reactive protein", Kind.SEPSIS_RISK, Kind.POSSIBLE_BLEEDING),
    _worth("urea, creatinine and electrolytes", Kind.AKI_STAGE, Kind.SEPSIS_RISK),
    _worth("blood cultures before antimicrobials, if that delays nothing", Kind.SEPSIS_RISK),
    _worth("chest X-ray", Kind.OXYGEN_REQUIREMENT, Kind.OXYGEN_TARGET),
    _worth("12-lead ECG", Kind.SCORE, Kind.VITAL_SIGN_TREND),
    _worth("coagulation screen and group and save", Kind.POSSIBLE_BLEEDING),
    _worth("urine dipstick and bladder scan", Kind.AKI_STAGE),
    _worth("fluid balance: intake, urine output, weight", Kind.AKI_STAGE),
)
