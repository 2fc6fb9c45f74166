"""Units as they are sent, turned once into the one unit the core knows.

Factors are exact decimals. UCUM codes are matched letter by letter; the short list of
non-UCUM spellings that laboratories and monitors really send is matched by name and
reported. A unit is never guessed from the size of a number.

Sources of the factors:
    creatinine 88.4: BMC Geriatr 2021, table 1 (1 mg/dL = 88.4 umol/L), and the pair
    4.0 mg/dL = 353.6 umol/L printed by KDIGO 2012. Pressure 7.50062 mmHg per kPa,
    glucose 18.016, urea nitrogen 0.357, urea 6.006, bilirubin 17.1, calcium 4.008,
    magnesium 2.4305 and lactate 9.01 are from memory; tests check every one of them
    against an independent UCUM library with the molar mass. From memory, and checked by a
    second typing only: phosphorus 3.0974, haemoglobin 16.114 (one chain with its iron), and
    the molar masses of phenytoin 252.27, vancomycin 1449.3, tacrolimus 804.02 and
    ciclosporin 1202.61. An outside table gives tacrolimus 1.24 nmol/L for 1 ug/L.
"""

from collections.abc import Iterable
from decimal import Decimal
from typing import NamedTuple

from weatherglass.model.quantities import Unit
from weatherglass.model.signals import FACTS, Signal

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
# One table of spellings for each dimension: what is UCUM first, then what is only sent by name.
_MOLE_SPELLINGS = {
    "mmol/L": SAME,
    "mmol/l": SAME,
    "mMol/L": _BY_NAME,
    "MMOL/L": _BY_NAME,
    "mmole/L": _BY_NAME,
}
_EQUIVALENT_SPELLINGS = ("meq/L", "meq/l", "mEq/L", "mEq/l", "MEQ/L", "meq/dm3")
_MICROMOLE_SPELLINGS = ("umol/L", "umol/l")
_MICROMOLE_NAMES = (
    "\u00b5mol/L",
    "\u03bcmol/L",
    "\u00b5mol/l",
    "\u03bcmol/l",
    "micromol/L",
    "uMol/L",
    "UMOL/L",
    "umole/L",
)


def _named(spellings: Iterable[str], conversion: Conversion) -> dict[str, Conversion]:
    return dict.fromkeys(spellings, conversion._replace(by_name=True))


def _equivalents(charge: int) -> dict[str, Conversion]:
    """Milliequivalents of an ion of this charge; UCUM writes the equivalent with a small e."""
    conversion = SAME if charge == 1 else _over(str(charge))
    return {
        name: conversion if name.startswith("meq") else conversion._replace(by_name=True)
        for name in _EQUIVALENT_SPELLINGS
    }


_MILLIMOLE = {**_MOLE_SPELLINGS, **_equivalents(1)}


def _mole_or_mass(milligram_per_decilitre: str) -> dict[str, Conversion]:
    """Millimole per litre, or a mass that is divided by its own factor."""
    mass = Conversion(divide=Decimal(milligram_per_decilitre))
    return {
        **_MOLE_SPELLINGS,
        **dict.fromkeys(_MICROMOLE_SPELLINGS, _over("1000")),
        **_named(_MICROMOLE_NAMES, _over("1000")),
        "mg/dL": mass,
        "mg/dl": mass,
        **_named(("MG/DL", "mg%"), mass),
        "mg/L": Conversion(divide=mass.divide * 10),
    }


def _micromole_or_mass(factor: str, *, printed: bool) -> dict[str, Conversion]:
    """Micromole per litre, or milligram per decilitre times a factor."""
    mass = Conversion(multiply=Decimal(factor), printed=printed)
    return {
        **dict.fromkeys(_MICROMOLE_SPELLINGS, SAME),
        **_named(_MICROMOLE_NAMES, SAME),
        "mmol/L": _times("1000"),
        "mg/dL": mass,
        "mg/dl": mass,
        **_named(("MG/DL", "mg%"), mass),
        "mg/L": Conversion(multiply=Decimal(factor) / 10),
    }


_THOUSANDS_BY_NAME = (
    "G/L",
    "10^9/L",
    "10^9/l",
    "x10^9/L",
    "x10^9/l",
    "x 10^9/L",
    "X10^9/L",
    "10E9/L",
    "x10e9/L",
    "x10(9)/L",
    "10\u2079/L",
    "\u00d710\u2079/L",
    "10^3/uL",
    "10^3/ul",
    "x10^3/uL",
    "X10^3/uL",
    "x10E3/uL",
    "10E3/uL",
    "10*3/mcL",
    "10^3/mcL",
    "x10^3/mcL",
    "10^3/mm3",
    "K/uL",  # UCUM reads this as kelvin per microlitre; laboratories mean thousands.
    "K/mcL",
    "thou/uL",
    "Thousand/uL",
)
_COUNT = {
    "10*9/L": SAME,
    "10*9/l": SAME,
    "10*3/uL": SAME,
    "10*3/ul": SAME,
    "10*3/mm3": SAME,
    "10*6/L": _over("1000"),
    "10*6/l": _over("1000"),
    "/uL": _over("1000"),
    "/mm3": _over("1000"),
    "{cells}/uL": _over("1000"),
    **_named(("10^6/L", "x10^6/L", "cells/uL", "cells/mcL", "/mcL", "cells/mm3"), _over("1000")),
    **_named(_THOUSANDS_BY_NAME, SAME),
}
_GRAM = {
    "g/L": SAME,
    "g/l": SAME,
    "g/dL": _times("10"),
    "g/dl": _times("10"),
    "mg/dL": _over("100"),
    **_named(("G/L",), SAME),
    **_named(("G/DL", "gm/dL", "gm/dl", "g%"), _times("10")),
}
_MILLIGRAM = {
    "mg/L": SAME,
    "mg/l": SAME,
    "ug/mL": SAME,
    "ug/ml": SAME,
    "mg/dL": _times("10"),
    "mg/dl": _times("10"),
    "ug/L": _over("1000"),
    **_named(("MG/L", "mcg/mL", "\u00b5g/mL", "\u03bcg/mL", "UG/ML"), SAME),
    **_named(("MG/DL",), _times("10")),
}
#: Units of fibrinogen equivalents: the one way of counting that is read.
_D_DIMER = {
    **_MILLIGRAM,
    "ng/mL": _over("1000"),
    "ng/ml": _over("1000"),
    **{f"{unit}{{FEU}}": SAME for unit in ("mg/L", "ug/mL")},
    **{f"{unit}{{FEU}}": _over("1000") for unit in ("ug/L", "ng/mL")},
    "{FEU}mg/L": SAME,
}
_MICROGRAM_NAMES = ("mcg/L", "\u00b5g/L", "\u03bcg/L", "UG/L", "NG/ML")
_MICROGRAM = {
    "ug/L": SAME,
    "ug/l": SAME,
    "ng/mL": SAME,
    "ng/ml": SAME,
    "ng/dL": _over("100"),
    **_named(_MICROGRAM_NAMES, SAME),
}
_NANOGRAM = {
    "ng/L": SAME,
    "ng/l": SAME,
    "pg/mL": SAME,
    "pg/ml": SAME,
    "ng/mL": _times("1000"),
    "ng/ml": _times("1000"),
    "ug/L": _times("1000"),
    "ug/l": _times("1000"),
    **_named(("NG/L", "PG/ML"), SAME),
    **_named(_MICROGRAM_NAMES, _times("1000")),
}
_ENZYME = {
    "U/L": SAME,
    "U/l": SAME,
    "[iU]/L": SAME,
    "[IU]/L": SAME,
    **_named(("IU/L", "IU/l", "units/L"), SAME),
}
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
    Signal.GESTATION: {"wk": SAME, "d": _over("7"), "weeks": _BY_NAME, "week": _BY_NAME},
    Signal.URINE_VOLUME: {"mL": SAME, "ml": SAME, "L": _times("1000"), "l": _times("1000")},
    Signal.FLUID_INTAKE: {"mL": SAME, "ml": SAME, "L": _times("1000"), "l": _times("1000")},
    Signal.FLUID_OUTPUT: {"mL": SAME, "ml": SAME, "L": _times("1000"), "l": _times("1000")},
    Signal.URINE_RATE: {
        "mL/h": SAME,
        "ml/h": SAME,
        "mL/(24.h)": _over("24"),
        "mL/d": _over("24"),
        "mL/(8.h)": _over("8"),
        "mL/24h": Conversion(divide=Decimal(24), by_name=True),
        "mL/hr": _BY_NAME,
        "ml/hr": _BY_NAME,
    },
    Signal.URINE_RATE_FOR_WEIGHT: {
        "mL/kg/h": SAME,
        "ml/kg/h": SAME,
        "mL/h/kg": SAME,
        "mL/(kg.h)": SAME,
        "mL/(h.kg)": SAME,
        "mL/kg/hr": _BY_NAME,
        "ml/kg/hr": _BY_NAME,
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
    # Of one chain with its iron (16.114 g/mmol), as laboratories report it; not of the whole molecule.
    Signal.HAEMOGLOBIN: {
        **_GRAM,
        "mmol/L": _times("16.114"),
        "mmol/l": _times("16.114"),
    },
    Signal.ALBUMIN: _GRAM,
    Signal.FIBRINOGEN: _GRAM,
    Signal.PROTHROMBIN_TIME: {"s": SAME, "sec": _BY_NAME},
    Signal.D_DIMER: _D_DIMER,
    Signal.PLATELETS: _COUNT,
    Signal.WHITE_CELLS: _COUNT,
    Signal.NEUTROPHILS: _COUNT,
    Signal.INR: {"{INR}": SAME, "": SAME, "1": SAME, "INR": _BY_NAME, "{ratio}": SAME},
    Signal.APTT: {"s": SAME, "sec": _BY_NAME},
    Signal.CORRECTED_QT: {"ms": SAME, "s": _times("1000"), **_named(("msec", "milliseconds"), SAME)},
    Signal.GLUCOSE: _mole_or_mass("18.016"),
    Signal.CRP: _MILLIGRAM,
    Signal.PROCALCITONIN: _MICROGRAM,
    Signal.BILIRUBIN: _micromole_or_mass("17.1", printed=False),
    Signal.TROPONIN: _NANOGRAM,
    Signal.CREATINE_KINASE: _ENZYME,
    Signal.ALT: _ENZYME,
    Signal.AST: _ENZYME,
    Signal.CALCIUM_TOTAL: {**_mole_or_mass("4.008"), **_equivalents(2)},
    Signal.CALCIUM_ADJUSTED: {**_mole_or_mass("4.008"), **_equivalents(2)},
    Signal.CALCIUM_IONISED: {**_mole_or_mass("4.008"), **_equivalents(2)},
    # Mass of phosphate is sent as the mass of its phosphorus.
    Signal.PHOSPHATE: _mole_or_mass("3.0974"),
    Signal.CHLORIDE: _MILLIMOLE,
    Signal.MAGNESIUM: {**_mole_or_mass("2.4305"), **_equivalents(2)},
    Signal.KETONES: _MOLE_SPELLINGS,
    Signal.LACTATE: {**_mole_or_mass("9.01"), **_equivalents(1)},
    Signal.PH_ARTERIAL: {"[pH]": SAME, "": SAME, "1": SAME, "pH": _BY_NAME},
    Signal.PH_VENOUS: {"[pH]": SAME, "": SAME, "1": SAME, "pH": _BY_NAME},
    Signal.PCO2_ARTERIAL: _GAS_PRESSURE,
    Signal.PCO2_VENOUS: _GAS_PRESSURE,
    Signal.PO2_ARTERIAL: _GAS_PRESSURE,
    Signal.BICARBONATE: _MILLIMOLE,
    Signal.BASE_EXCESS: _MILLIMOLE,
    Signal.DIGOXIN_LEVEL: {**_MICROGRAM, "nmol/L": _times("0.78094")},
    Signal.LITHIUM_LEVEL: _MILLIMOLE,
    Signal.VANCOMYCIN_LEVEL: {**_MILLIGRAM, "umol/L": _times("1.4493")},
    Signal.GENTAMICIN_LEVEL: _MILLIGRAM,
    Signal.TOBRAMYCIN_LEVEL: _MILLIGRAM,
    Signal.PHENYTOIN_LEVEL: {**_MILLIGRAM, "umol/L": _times("0.25227")},
    Signal.TACROLIMUS_LEVEL: {**_MICROGRAM, "nmol/L": _times("0.80402")},
    Signal.CICLOSPORIN_LEVEL: {**_MICROGRAM, "nmol/L": _times("1.20261")},
    # Molar masses 180.16, 236.27, 144.21, 232.24, 151.16 and 138.12 g/mol.
    Signal.THEOPHYLLINE_LEVEL: {**_MILLIGRAM, "umol/L": _times("0.18016")},
    Signal.CARBAMAZEPINE_LEVEL: {**_MILLIGRAM, "umol/L": _times("0.23627")},
    Signal.VALPROATE_LEVEL: {**_MILLIGRAM, "umol/L": _times("0.14421")},
    Signal.PHENOBARBITAL_LEVEL: {**_MILLIGRAM, "umol/L": _times("0.23224")},
    Signal.AMIKACIN_LEVEL: _MILLIGRAM,
    Signal.METHOTREXATE_LEVEL: {"umol/L": SAME, "umol/l": SAME, "nmol/L": _times("0.001")},
    Signal.PARACETAMOL_LEVEL: {
        **_MILLIGRAM,
        "umol/L": _times("0.15116"),
        "mmol/L": _times("151.16"),
    },
    Signal.SALICYLATE_LEVEL: {**_MILLIGRAM, "mmol/L": _times("138.12")},
    Signal.GCS_TOTAL: _SCORE,
    Signal.GCS_EYE: _SCORE,
    Signal.GCS_MOTOR: _SCORE,
    Signal.GCS_VERBAL: _SCORE,
    Signal.REPORTED_NEWS2: _SCORE,
    Signal.REPORTED_PAEDIATRIC_SCORE: _SCORE,
    Signal.REPORTED_MATERNITY_SCORE: _SCORE,
    Signal.REPORTED_4AT: _SCORE,
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
