"""Units as they are sent, turned once into the one unit the core knows.

Factors are exact decimals. UCUM codes are matched letter by letter; the short list of
non-UCUM spellings that laboratories and monitors really send is matched by name and
reported. A unit is never guessed from the size of a number.

Sources of the factors:
    creatinine 88.4: BMC Geriatr 2021, table 1 (1 mg/dL = 88.4 umol/L), and the pair
    4.0 mg/dL = 353.6 umol/L printed by KDIGO 2012. Pressure 7.50062 mmHg per kPa,
    glucose 18.016, urea nitrogen 0.357, urea 6.006, bilirubin 17.1, calcium 4.008,
    magnesium 2.4305 and lactate 9.01 are from memory; tests check every one of them
    against an independent UCUM library with the molar mass.
"""

from decimal import Decimal
from typing import NamedTuple

from weatherglass.clinical.quantities import Unit
from weatherglass.clinical.signals import FACTS, Signal

UCUM = "http://unitsofmeasure.org"


class Conversion(NamedTuple):
    """value x multiply / divide + add, exactly; `by_name` marks a non-UCUM spelling."""

    multiply: Decimal = Decimal(1)
    divide: Decimal = Decimal(1)
    subtract_first: Decimal = Decimal(0)
    by_name: bool = False
    printed: bool = False  # The unsent unit is one a publication prints thresholds in.

    def apply(self, value: Decimal) -> Decimal:
        """Convert one value."""
        if self.subtract_first:
            value -= self.subtract_first
        if self.multiply != 1:
            value *= self.multiply
        if self.divide != 1:
            value /= self.divide
        return value


SAME = Conversion()
_BY_NAME = Conversion(by_name=True)


def _times(factor: str) -> Conversion:
    return Conversion(multiply=Decimal(factor))


def _over(factor: str) -> Conversion:
    return Conversion(divide=Decimal(factor))


_PER_MINUTE = {
    "/min": SAME,
    "{beats}/min": SAME,
    "{Beats}/min": SAME,
    "{breaths}/min": SAME,
    "{Breaths}/min": SAME,
    "{beat}/min": SAME,
    "{breath}/min": SAME,
    "1/min": SAME,
    "bpm": _BY_NAME,
    "beats/minute": _BY_NAME,
    "beats/min": _BY_NAME,
    "breaths/minute": _BY_NAME,
    "breaths/min": _BY_NAME,
    "/minute": _BY_NAME,
    "per minute": _BY_NAME,
}
_PRESSURE = {
    "mm[Hg]": SAME,
    "kPa": Conversion(multiply=Decimal("7.50062")),
    "mmHg": _BY_NAME,
    "mm Hg": _BY_NAME,
}
_GAS_PRESSURE = {
    "kPa": SAME,
    "mm[Hg]": Conversion(divide=Decimal("7.50062")),
    "mmHg": Conversion(divide=Decimal("7.50062"), by_name=True),
}
_PERCENT = {
    "%": SAME,
    "percent": _BY_NAME,
    "%{Oxygen}": SAME,
    "%{O2}": SAME,
    # A fraction sent as such; a percentage wrongly sent as one lands far outside any saturation.
    "1": _times("100"),
}
_TEMPERATURE = {
    "Cel": SAME,
    "[degF]": Conversion(subtract_first=Decimal(32), divide=Decimal("1.8")),
    "K": Conversion(subtract_first=Decimal("273.15")),
    "degC": _BY_NAME,
    "\u00b0C": _BY_NAME,
    "Celsius": _BY_NAME,
    "degF": Conversion(subtract_first=Decimal(32), divide=Decimal("1.8"), by_name=True),
    "\u00b0F": Conversion(subtract_first=Decimal(32), divide=Decimal("1.8"), by_name=True),
}
_MILLIMOLE = {
    "mmol/L": SAME,
    "mmol/l": SAME,
    "meq/L": SAME,
    "meq/l": SAME,
    "mEq/L": _BY_NAME,
}


def _mole_or_mass(milligram_per_decilitre: str) -> dict[str, Conversion]:
    """Millimole per litre, or a mass that is divided by its own factor."""
    per = Decimal(milligram_per_decilitre)
    return {
        "mmol/L": SAME,
        "mmol/l": SAME,
        "umol/L": _over("1000"),
        "mg/dL": Conversion(divide=per),
        "mg/dl": Conversion(divide=per),
    }


def _micromole_or_mass(factor: str, *, printed: bool) -> dict[str, Conversion]:
    """Micromole per litre, or milligram per decilitre times a factor."""
    mass = Conversion(multiply=Decimal(factor), printed=printed)
    micro = dict.fromkeys(("µmol/L", "μmol/L", "µmol/l", "μmol/l", "micromol/L", "uMol/L"), _BY_NAME)
    return {
        "umol/L": SAME,
        "umol/l": SAME,
        "mmol/L": _times("1000"),
        "mg/dL": mass,
        "mg/dl": mass,
        "MG/DL": mass._replace(by_name=True),
        "mg/L": Conversion(multiply=Decimal(factor) / 10),
        **micro,
    }


_COUNT = {
    "10*9/L": SAME,
    "10*9/l": SAME,
    "10*3/uL": SAME,
    "10*3/ul": SAME,
    "10*3/mm3": SAME,
    "/uL": _over("1000"),
    "{cells}/uL": _over("1000"),
    "G/L": _BY_NAME,
    "10^9/L": _BY_NAME,
    "x10^9/L": _BY_NAME,
    "10^3/uL": _BY_NAME,
    "K/uL": _BY_NAME,  # UCUM reads this as kelvin per microlitre; laboratories mean thousands.
}
_GRAM = {"g/L": SAME, "g/l": SAME, "g/dL": _times("10"), "g/dl": _times("10"), "mg/dL": _over("100")}
_MILLIGRAM = {
    "mg/L": SAME,
    "mg/l": SAME,
    "ug/mL": SAME,
    "mg/dL": _times("10"),
    "mg/dl": _times("10"),
    "ug/L": _over("1000"),
}
_MICROGRAM = {"ug/L": SAME, "ug/l": SAME, "ng/mL": SAME, "ng/ml": SAME, "ng/dL": _over("100")}
_NONE_NEEDED = {"": SAME, "1": SAME, "{score}": SAME, "score": _BY_NAME}
_SCORE = {**_NONE_NEEDED, "{ScoreOf}": SAME, "{Score}": SAME, "{points}": SAME, "points": _BY_NAME}

#: What each signal may be sent in. The key is the UCUM code, or a named spelling.
ACCEPTED: dict[Signal, dict[str, Conversion]] = {
    Signal.RESPIRATION_RATE: _PER_MINUTE,
    Signal.PULSE: _PER_MINUTE,
    Signal.SPO2: _PERCENT,
    Signal.OXYGEN_FLOW: {"L/min": SAME, "l/min": SAME, "mL/min": _over("1000"), "LPM": _BY_NAME},
    Signal.FIO2: {"%": _over("100"), "1": SAME, "{fraction}": SAME, "": SAME},
    Signal.SYSTOLIC_PRESSURE: _PRESSURE,
    Signal.DIASTOLIC_PRESSURE: _PRESSURE,
    Signal.MEAN_PRESSURE: _PRESSURE,
    Signal.TEMPERATURE: _TEMPERATURE,
    Signal.CAPILLARY_REFILL: {"s": SAME, "sec": _BY_NAME, "seconds": _BY_NAME},
    Signal.WEIGHT: {"kg": SAME, "g": _over("1000"), "[lb_av]": _times("0.45359237")},
    Signal.HEIGHT: {"cm": SAME, "m": _times("100"), "[in_i]": _times("2.54")},
    Signal.URINE_VOLUME: {"mL": SAME, "ml": SAME, "L": _times("1000"), "l": _times("1000")},
    Signal.URINE_RATE: {
        "mL/h": SAME,
        "ml/h": SAME,
        "mL/(24.h)": _over("24"),
        "mL/d": _over("24"),
        "mL/(8.h)": _over("8"),
    },
    Signal.CREATININE: _micromole_or_mass("88.4", printed=True),
    Signal.EGFR: {
        "mL/min/{1.73_m2}": SAME,
        "mL/min/1.73.m2": SAME,
        "mL/min/1.73m2": _BY_NAME,
        "mL/min/{1.73m2}": SAME,
        "mL/min": _BY_NAME,
    },
    Signal.POTASSIUM: _MILLIMOLE,
    Signal.POTASSIUM_GAS: _MILLIMOLE,
    Signal.SODIUM: _MILLIMOLE,
    Signal.SODIUM_GAS: _MILLIMOLE,
    Signal.HAEMOGLOBIN: _GRAM,
    Signal.ALBUMIN: _GRAM,
    Signal.FIBRINOGEN: _GRAM,
    Signal.PLATELETS: _COUNT,
    Signal.WHITE_CELLS: _COUNT,
    Signal.NEUTROPHILS: _COUNT,
    Signal.INR: {"{INR}": SAME, "": SAME, "1": SAME, "INR": _BY_NAME, "{ratio}": SAME},
    Signal.APTT: {"s": SAME, "sec": _BY_NAME},
    Signal.GLUCOSE: _mole_or_mass("18.016"),
    Signal.CRP: _MILLIGRAM,
    Signal.PROCALCITONIN: _MICROGRAM,
    Signal.BILIRUBIN: _micromole_or_mass("17.1", printed=False),
    Signal.TROPONIN: {"ng/L": SAME, "ng/l": SAME, "pg/mL": SAME, "ng/mL": _times("1000")},
    Signal.CREATINE_KINASE: {"U/L": SAME, "[iU]/L": SAME, "IU/L": _BY_NAME},
    Signal.CALCIUM_ADJUSTED: _mole_or_mass("4.008"),
    Signal.MAGNESIUM: {**_mole_or_mass("2.4305"), "meq/L": _over("2")},
    Signal.KETONES: {"mmol/L": SAME, "mmol/l": SAME},
    Signal.LACTATE: {**_mole_or_mass("9.01"), "meq/L": SAME},
    Signal.PH_ARTERIAL: {"[pH]": SAME, "": SAME, "1": SAME, "pH": _BY_NAME},
    Signal.PH_VENOUS: {"[pH]": SAME, "": SAME, "1": SAME, "pH": _BY_NAME},
    Signal.PCO2_ARTERIAL: _GAS_PRESSURE,
    Signal.PCO2_VENOUS: _GAS_PRESSURE,
    Signal.PO2_ARTERIAL: _GAS_PRESSURE,
    Signal.BICARBONATE: _MILLIMOLE,
    Signal.BASE_EXCESS: _MILLIMOLE,
    Signal.DIGOXIN_LEVEL: {**_MICROGRAM, "nmol/L": _times("0.78094")},
    Signal.LITHIUM_LEVEL: _MILLIMOLE,
    Signal.VANCOMYCIN_LEVEL: _MILLIGRAM,
    Signal.GENTAMICIN_LEVEL: _MILLIGRAM,
    Signal.TOBRAMYCIN_LEVEL: _MILLIGRAM,
    Signal.PHENYTOIN_LEVEL: _MILLIGRAM,
    Signal.TACROLIMUS_LEVEL: _MICROGRAM,
    Signal.CICLOSPORIN_LEVEL: _MICROGRAM,
    Signal.GCS_TOTAL: _SCORE,
    Signal.GCS_EYE: _SCORE,
    Signal.GCS_MOTOR: _SCORE,
    Signal.GCS_VERBAL: _SCORE,
    Signal.REPORTED_NEWS2: _SCORE,
    Signal.REPORTED_PAEDIATRIC_SCORE: _SCORE,
    Signal.REPORTED_MATERNITY_SCORE: _SCORE,
}

#: Urea is sent as urea or as urea nitrogen; which one is told by the code, not the unit.
UREA_MASS = _mole_or_mass("6.006")
UREA_NITROGEN_MASS = {
    "mmol/L": SAME,
    "mmol/l": SAME,
    "mg/dL": _times("0.357"),
    "mg/dl": _times("0.357"),
    "mg/L": _times("0.0357"),
    "mg/l": _times("0.0357"),
}
ACCEPTED[Signal.UREA] = UREA_MASS


def expected_units(signal: Signal) -> str:
    """Name the units worth sending for a signal, the canonical one first."""
    canonical = FACTS[signal].unit.value
    others = [
        code
        for code, conversion in ACCEPTED[signal].items()
        if code and not conversion.by_name and "{" not in code and code.casefold() != canonical.casefold()
    ]
    return " or ".join([canonical, *others[:3]])


def needs_no_unit(signal: Signal) -> bool:
    """Tell whether a bare number of this signal has only one meaning."""
    return FACTS[signal].unit in {Unit.PH, Unit.INR, Unit.SCORE}
