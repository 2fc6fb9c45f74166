"""Conditions to show beside every hold of a medicine that keeps blood from clotting."""

from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from weatherglass.knowledge import publications as cited
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.record import ConditionKind
from weatherglass.model.sources import Source

_C = MedicineClass

#: Classes that the list belongs to.
ANTITHROMBOTICS: Final = (
    _C.VITAMIN_K_ANTAGONIST,
    _C.FACTOR_XA_INHIBITOR,
    _C.DIRECT_THROMBIN_INHIBITOR,
    _C.HEPARIN,
    _C.FONDAPARINUX,
    _C.ANTIPLATELET,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ThrombosisRisk:
    """One condition that makes leaving out an antithrombotic dangerous.

    Attributes:
        kinds: Recorded conditions; all of them must be present.
        within: Only counts this long after it began; None counts always. An undated
            condition counts, because the record does not say that it is old.
        text: What the reader sees.
    """

    kinds: tuple[ConditionKind, ...]
    text: str
    source: Source
    within: timedelta | None = None


_LIST: Final = cited.memory("conditions with a high risk of thrombosis")

THROMBOSIS_RISKS: Final = (
    ThrombosisRisk(kinds=(ConditionKind.MECHANICAL_VALVE,), text="mechanical heart valve", source=_LIST),
    ThrombosisRisk(
        kinds=(ConditionKind.ATRIAL_FIBRILLATION, ConditionKind.STROKE),
        text="atrial fibrillation with a previous stroke",
        source=_LIST,
    ),
    ThrombosisRisk(
        kinds=(ConditionKind.ATRIAL_FIBRILLATION,),
        text="atrial fibrillation: high risk at CHA2DS2-VASc 2 or more in men, 3 or more in women",
        source=_LIST,
    ),
    ThrombosisRisk(
        kinds=(ConditionKind.VENOUS_THROMBOEMBOLISM,),
        text="venous thromboembolism within 3 months",
        within=timedelta(days=92),
        source=_LIST,
    ),
    ThrombosisRisk(
        kinds=(ConditionKind.CORONARY_STENT,),
        text="coronary stent: bare metal within 1 month, drug-eluting within 6 to 12 months",
        within=timedelta(days=366),
        source=_LIST,
    ),
    ThrombosisRisk(
        kinds=(ConditionKind.ACUTE_CORONARY_SYNDROME,),
        text="acute coronary syndrome within 12 months",
        within=timedelta(days=366),
        source=_LIST,
    ),
    ThrombosisRisk(
        kinds=(ConditionKind.STROKE,),
        text="stroke within 3 months",
        within=timedelta(days=92),
        source=_LIST,
    ),
    ThrombosisRisk(kinds=(ConditionKind.ANTIPHOSPHOLIPID,), text="antiphospholipid syndrome", source=_LIST),
    ThrombosisRisk(
        kinds=(ConditionKind.CANCER, ConditionKind.VENOUS_THROMBOEMBOLISM),
        text="venous thromboembolism with cancer",
        source=_LIST,
    ),
    ThrombosisRisk(kinds=(ConditionKind.LV_THROMBUS,), text="thrombus in the left ventricle", source=_LIST),
)

#: What is suggested beside the list.
DISCUSS: Final = "Discuss with haematology or cardiology, and write down who restarts it and when."
