"""Immediate investigations worth having, by what was found.

Data only. Common practice at the bedside, no publication prints this list: a row says
what is worth having beside a finding, never that it must be done.
"""

from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from weatherglass.model.clauses import Window
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.sources import Source, common_practice, our_choice

PUBLIC_KEY: Final = "investigations"


@dataclass(frozen=True, slots=True, kw_only=True)
class Investigation:
    """What is worth having beside findings of some kinds, from an urgency upwards.

    Attributes:
        name: Without a comma or an "and": several are read out in a row.
        keys: Beginnings of the keys of findings, when only some of a kind ask for it.
        once_treated: Its name where antimicrobials were given already, when that is another one.
    """

    name: str
    kinds: frozenset[Kind]
    keys: tuple[str, ...] = ()
    at_least: Urgency = Urgency.PROMPT
    once_treated: str = ""
    source: Source

    def is_worth_having_for(self, finding: Finding) -> bool:
        """Tell whether a finding asks for it."""
        if finding.kind not in self.kinds or finding.urgency < self.at_least:
            return False
        return not self.keys or finding.key.startswith(self.keys)


def _worth(
    name: str,
    *kinds: Kind,
    keys: tuple[str, ...] = (),
    at_least: Urgency = Urgency.PROMPT,
    once_treated: str = "",
) -> Investigation:
    return Investigation(
        name=name,
        kinds=frozenset(kinds),
        keys=keys,
        at_least=at_least,
        once_treated=once_treated,
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
    _worth(
        "blood gas with lactate",
        Kind.SINGLE_SIGN,
        keys=("consciousness", "respiration", "spo2", "systolic"),
        at_least=Urgency.EMERGENCY,
    ),
    _worth("capillary glucose", Kind.SCORE, Kind.SEPSIS_RISK, at_least=Urgency.URGENT),
    _worth("capillary glucose", Kind.SINGLE_SIGN, keys=("consciousness",), at_least=Urgency.URGENT),
    _worth("capillary glucose", Kind.HEAD_INJURY),
    _worth(
        "CT of the head to be considered",
        Kind.SINGLE_SIGN,
        keys=("consciousness",),
        at_least=Urgency.URGENT,
    ),
    _worth("coagulation screen", Kind.HEAD_INJURY),
    _worth("blood gas with lactate", Kind.METABOLIC, at_least=Urgency.URGENT),
    _worth("capillary glucose", Kind.METABOLIC),
    _worth("blood ketones", Kind.METABOLIC, keys=("ketoacidosis",)),
    _worth("renal profile (urea/creatinine/electrolytes)", Kind.METABOLIC),
    _worth("12-lead ECG", Kind.CRITICAL_RESULT, keys=("calcium",), at_least=Urgency.URGENT),
    _worth("capillary glucose again in 15 minutes", Kind.CRITICAL_RESULT, keys=("glucose-low",)),
    _worth("12-lead ECG", Kind.CRITICAL_RESULT, keys=("potassium",), at_least=Urgency.URGENT),
    _worth("12-lead ECG", Kind.CARDIAC, Kind.HIGH_PRESSURE, at_least=Urgency.URGENT),
    _worth("troponin", Kind.HIGH_PRESSURE, keys=("high-pressure",), at_least=Urgency.URGENT),
    _worth("renal profile (urea/creatinine/electrolytes)", Kind.HIGH_PRESSURE),
    _worth("urine dipstick", Kind.HIGH_PRESSURE),
    _worth("full blood count", Kind.HIGH_PRESSURE, keys=("pregnancy",)),
    _worth("liver profile", Kind.HIGH_PRESSURE, keys=("pregnancy",)),
    _worth("CT of the head to be considered", Kind.HEAD_INJURY, at_least=Urgency.URGENT),
    _worth("troponin again in 3 hours", Kind.CARDIAC, keys=("troponin",), at_least=Urgency.URGENT),
    _worth("12-lead ECG", Kind.SCORE, Kind.VITAL_SIGN_TREND, at_least=Urgency.EMERGENCY),
    _worth("12-lead ECG", Kind.SINGLE_SIGN, keys=("pulse", "systolic"), at_least=Urgency.EMERGENCY),
    _worth("repeat potassium", Kind.CRITICAL_RESULT, keys=("potassium",), at_least=Urgency.URGENT),
    _worth("full blood count", Kind.SEPSIS_RISK, Kind.POSSIBLE_BLEEDING, at_least=Urgency.URGENT),
    _worth("C-reactive protein", Kind.SEPSIS_RISK, at_least=Urgency.URGENT),
    _worth("renal profile (urea/creatinine/electrolytes)", Kind.AKI_STAGE, Kind.SEPSIS_RISK),
    _worth(
        "blood cultures (before antimicrobials if that delays nothing)",
        Kind.SEPSIS_RISK,
        at_least=Urgency.URGENT,
        once_treated="blood cultures",
    ),
    _worth("chest X-ray", Kind.OXYGEN_REQUIREMENT, at_least=Urgency.URGENT),
    _worth("coagulation screen", Kind.POSSIBLE_BLEEDING, at_least=Urgency.URGENT),
    _worth("group-and-save sample", Kind.POSSIBLE_BLEEDING, at_least=Urgency.URGENT),
    _worth("urine dipstick", Kind.AKI_STAGE),
    _worth("bladder scan", Kind.AKI_STAGE),
    _worth("fluid balance with weight", Kind.AKI_STAGE),
)
#: Ours: a dose this recent is treatment that goes on.
TREATED_WITHIN: Final = Window(
    length=timedelta(hours=24),
    source=our_choice("antimicrobials given in the last 24 hours count as given, for blood cultures"),
)
