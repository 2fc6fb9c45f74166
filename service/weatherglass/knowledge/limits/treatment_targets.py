"""Which sign shows what a treatment, or leaving one out, has done.

Data only; all of it is our choice. It decides what is shown before and after, never
whether a treatment worked.
"""

from typing import Final

from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.plain import Plain
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source, our_choice

PUBLIC_KEY: Final = "treatment-targets"
_WHY: Final = our_choice("what to look at before and after a treatment")


class TreatmentTarget(Plain, frozen=True, kw_only=True):
    """The signs to look at for one group of medicines, the first recorded one is said first."""

    label: str
    classes: frozenset[MedicineClass]
    signals: tuple[Signal, ...]
    source: Source = _WHY


_M, _S = MedicineClass, Signal

OXYGEN_SIGNALS: Final = (_S.SPO2, _S.RESPIRATION_RATE)
FLUID_SIGNALS: Final = (_S.SYSTOLIC_PRESSURE, _S.PULSE)
#: For medicines held; the first group that a medicine belongs to holds.
HELD: Final = (
    TreatmentTarget(
        label="what the kidneys and the pressure do",
        classes=frozenset(
            {
                _M.ACE_INHIBITOR,
                _M.ARB,
                _M.ARNI,
                _M.RENIN_INHIBITOR,
                _M.MRA,
                _M.POTASSIUM_SPARING,
                _M.THIAZIDE,
                _M.LOOP_DIURETIC,
            }
        ),
        signals=(_S.CREATININE, _S.POTASSIUM, _S.SYSTOLIC_PRESSURE),
    ),
    TreatmentTarget(
        label="what the kidneys do",
        classes=frozenset({_M.NSAID, _M.TRIMETHOPRIM, _M.AMINOGLYCOSIDE, _M.GLYCOPEPTIDE, _M.METFORMIN}),
        signals=(_S.CREATININE, _S.POTASSIUM),
    ),
    TreatmentTarget(
        label="what pulse and pressure do",
        classes=frozenset({_M.BETA_BLOCKER, _M.RATE_LIMITING_CALCIUM_BLOCKER, _M.DIGITALIS, _M.IVABRADINE}),
        signals=(_S.PULSE, _S.SYSTOLIC_PRESSURE),
    ),
    TreatmentTarget(
        label="what the pressure does",
        classes=frozenset(
            {
                _M.DIHYDROPYRIDINE,
                _M.NITRATE,
                _M.NICORANDIL,
                _M.ALPHA_BLOCKER,
                _M.CENTRAL_ANTIHYPERTENSIVE,
                _M.ARTERIOLAR_VASODILATOR,
                _M.OTHER_ANTIHYPERTENSIVE,
            }
        ),
        signals=(_S.SYSTOLIC_PRESSURE,),
    ),
    TreatmentTarget(
        label="what breathing and consciousness do",
        classes=frozenset({_M.OPIOID, _M.BENZODIAZEPINE, _M.Z_DRUG, _M.BARBITURATE, _M.GABAPENTINOID}),
        signals=(_S.RESPIRATION_RATE, _S.GCS_TOTAL, _S.SPO2),
    ),
    TreatmentTarget(
        label="what glucose does",
        classes=frozenset({_M.INSULIN, _M.SULFONYLUREA, _M.GLINIDE, _M.SGLT2_INHIBITOR}),
        signals=(_S.GLUCOSE,),
    ),
    TreatmentTarget(
        label="what haemoglobin does",
        classes=frozenset(
            {
                _M.VITAMIN_K_ANTAGONIST,
                _M.HEPARIN,
                _M.LMWH,
                _M.FONDAPARINUX,
                _M.DIRECT_THROMBIN_INHIBITOR,
                _M.FACTOR_XA_INHIBITOR,
                _M.ANTIPLATELET,
                _M.ASPIRIN,
                _M.P2Y12_INHIBITOR,
            }
        ),
        signals=(_S.HAEMOGLOBIN, _S.INR),
    ),
)
