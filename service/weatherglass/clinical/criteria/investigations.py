"""Immediate investigations worth having, by what was found.

Data only. Common practice at the bedside, no publication prints this list: a row says
what is worth having beside a finding, never that it must be done.
"""

from dataclasses import dataclass
from typing import Final

from weatherglass.clinical.findings import Finding, Kind, Urgency
from weatherglass.clinical.sources import Source, common_practice

PUBLIC_KEY: Final = "investigations"


@dataclass(frozen=True, slots=True, kw_only=True)
class Investigation:
    """What is worth having beside findings of some kinds, from an urgency upwards.

    Attributes:
        keys: Beginnings of the keys of findings, when only some of a kind ask for it.
    """

    name: str
    kinds: frozenset[Kind]
    keys: tuple[str, ...] = ()
    at_least: Urgency = Urgency.PROMPT
    source: Source

    def is_worth_having_for(self, finding: Finding) -> bool:
        """Tell whether a finding asks for it."""
        if finding.kind not in self.kinds or finding.urgency < self.at_least:
            return False
        return not self.keys or finding.key.startswith(self.keys)


def _worth(
    name: str, *kinds: Kind, keys: tuple[str, ...] = (), at_least: Urgency = Urgency.PROMPT
) -> Investigation:
    return Investigation(
        name=name,
        kinds=frozenset(kinds),
        keys=keys,
        at_least=at_least,
        source=common_practice(f"at the bedside: {name}"),
    )


INVESTIGATIONS: Final = (
    _worth(
        "blood gas with lactate",
        Kind.SCORE,
        Kind.SEPSIS_RISK,
        Kind.BLOOD_GAS,
        Kind.POSSIBLE_BLEEDING,
        at_least=Urgency.URGENT,
    ),
    _worth("capillary glucose", Kind.SCORE, Kind.SEPSIS_RISK, at_least=Urgency.URGENT),
    _worth("capillary glucose again in 15 minutes", Kind.CRITICAL_RESULT, keys=("glucose-low",)),
    _worth(
        "12-lead ECG and a repeat potassium",
        Kind.CRITICAL_RESULT,
        keys=("potassium",),
        at_least=Urgency.URGENT,
    ),
    _worth("12-lead ECG", Kind.SCORE, Kind.VITAL_SIGN_TREND, at_least=Urgency.EMERGENCY),
    _worth(
        "full blood count and C-reactive protein",
        Kind.SEPSIS_RISK,
        Kind.POSSIBLE_BLEEDING,
        at_least=Urgency.URGENT,
    ),
    _worth("urea, creatinine and electrolytes", Kind.AKI_STAGE, Kind.SEPSIS_RISK),
    _worth(
        "blood cultures before antimicrobials, if that delays nothing",
        Kind.SEPSIS_RISK,
        at_least=Urgency.URGENT,
    ),
    _worth("chest X-ray", Kind.OXYGEN_REQUIREMENT, at_least=Urgency.URGENT),
    _worth("coagulation screen and group and save", Kind.POSSIBLE_BLEEDING, at_least=Urgency.URGENT),
    _worth("urine dipstick and bladder scan", Kind.AKI_STAGE),
    _worth("fluid balance: intake, urine output, weight", Kind.AKI_STAGE),
)
