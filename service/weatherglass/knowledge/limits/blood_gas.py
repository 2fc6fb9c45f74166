"""Blood gas: alkaline and acid blood, expected compensation, oxygen, venous samples, asthma.

Data only. The limits of respiratory acidosis and of ventilation stand with the other results.
Compensation is compared in mmHg, in which it is printed.

What respiratory disorders do to the bicarbonate is in `gas-compensation.csv`, the limits of high-flow
oxygen in `rox.csv`.

Left out, with reasons:
    Berlin grades of P/F: they need a positive end-expiratory pressure, which a ward record seldom has.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Final, NamedTuple

from weatherglass.knowledge import publications as cited
from weatherglass.knowledge.data_files import Columns, cite, csv_table, publication
from weatherglass.knowledge.limits.oxygen_targets import PUBLICATION as BTS_OXYGEN
from weatherglass.model.clauses import Clause, Share, Window
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.sources import Mark, Source, our_choice
from weatherglass.model.tables.bands import Compare, Cutoff

PUBLIC_KEY: Final = "blood-gas"

KIDNEY_360: Final = publication("kidney360-2022-3-1458")
ANNALS_2019: Final = publication("aic-2019-metabolic-acidosis")
KELLY_2014: Final = publication("kelly-2014")
KELLY_2005: Final = publication("kelly-2005")
ASTHMA: Final = publication("sign-244")


def _cut(compare: Compare, number: str, unit: Unit, source: Source) -> Cutoff:
    return Cutoff(compare=compare, limit=Quantity(Decimal(number), unit), source=source)


_KPA, _PH, _MMOL = Unit.KILOPASCAL, Unit.PH, Unit.MILLIMOLE_PER_LITRE

# Acid and alkaline blood.

SEVERE_ACIDAEMIA: Final = _cut(
    Compare.AT_MOST, "7.20", _PH, ANNALS_2019.at("severe acidaemia, pH 7.20 or less", Mark.SECONDARY)
)
#: Ours: ventilation in a place for it, or the decision against it, does not wait for another gas.
CRITICAL_ACIDAEMIA: Final = _cut(
    Compare.BELOW, "7.15", _PH, our_choice("a pH below 7.15 calls critical care now, before another gas")
)
ALKALAEMIA: Final = _cut(
    Compare.ABOVE, "7.45", _PH, cited.CONVENTION.at("alkalaemia, pH above 7.45", Mark.FROM_MEMORY)
)
SEVERE_ALKALAEMIA: Final = _cut(
    Compare.AT_LEAST, "7.55", _PH, our_choice("a pH of 7.55 or more is 'urgent', whatever the vessel")
)
UNCONSCIOUS: Final = Clause(
    text="Respiratory acidosis with pain alone or nothing rousing the patient calls critical care now.",
    source=our_choice("respiratory acidosis in a patient who is not roused by voice is an emergency"),
)

# Expected compensation, in mmHg.

_CONVENTION: Final = cited.CONVENTION.at("pCO2 40 mmHg and bicarbonate 24 mmol/L as normal", Mark.FROM_MEMORY)

MMHG_IN_KPA: Final = Share(value=Decimal("7.50062"), source=our_choice("1 kPa is 7.50062 mmHg"))
ACIDOSIS_SLOPE: Final = Share(
    value=Decimal("1.5"), source=KIDNEY_360.at("metabolic acidosis, pCO2 = 1.5 x HCO3 + 8, plus or minus 2")
)
ACIDOSIS_CONSTANT: Final = Share(value=Decimal(8), source=ACIDOSIS_SLOPE.source)
ACIDOSIS_WIDTH: Final = Share(value=Decimal(2), source=ACIDOSIS_SLOPE.source)
ALKALOSIS_SLOPE: Final = Share(
    value=Decimal("0.7"), source=KIDNEY_360.at("metabolic alkalosis, pCO2 = 0.7 x HCO3 + 20, plus or minus 5")
)
#: Twenty and the upper end of its width.
ALKALOSIS_HIGHEST: Final = Share(value=Decimal(25), source=ALKALOSIS_SLOPE.source)
BICARBONATE_RAISED: Final = _cut(
    Compare.ABOVE, "26", _MMOL, cited.CONVENTION.at("bicarbonate above 26", Mark.FROM_MEMORY)
)
_HASSELBALCH: Final = cited.CONVENTION.at(
    "Henderson-Hasselbalch equation: 0.0307 mmol/L/mmHg, pK 6.1", Mark.FROM_MEMORY
)
SOLUBILITY: Final = Share(value=Decimal("0.0307"), source=_HASSELBALCH)
PK: Final = Share(value=Decimal("6.1"), source=_HASSELBALCH)
MIXED_IS_URGENT: Final = Clause(
    text="A carbon dioxide outside what the bicarbonate explains is a second disorder.",
    source=our_choice("a mixed disorder is 'urgent'"),
)

NORMAL_PCO2: Final = Share(value=Decimal(40), source=_CONVENTION)
NORMAL_BICARBONATE: Final = Share(value=Decimal(24), source=_CONVENTION)
PCO2_LOW: Final = _cut(
    Compare.BELOW, "4.7", _KPA, cited.CONVENTION.at("pCO2 below 4.7 kPa (35 mmHg)", Mark.FROM_MEMORY)
)
#: Ours: as wide as bicarbonate varies among the well, 22 to 26.
COMPENSATION_WIDTH: Final = Share(
    value=Decimal(2),
    source=our_choice("a second disorder beside a respiratory one is said 2 mmol/L outside the band"),
)


class CompensationRow(Columns, frozen=True):
    """One row of the file."""

    key: str
    label: str
    least: Decimal
    most: Decimal
    source: str


class Compensation(NamedTuple):
    """How far bicarbonate moves for each 10 mmHg of carbon dioxide."""

    key: str
    label: str
    least: Decimal
    most: Decimal
    source: Source


COMPENSATIONS: Final = csv_table(
    "limits/gas-compensation.csv",
    CompensationRow,
    lambda row: Compensation(row.key, row.label, row.least, row.most, cite(row.source)),
)

# Anion gap and osmolality.

ANION_GAP: Final = Clause(
    text="Anion gap: sodium less chloride and bicarbonate.",
    source=cited.CONVENTION.at("anion gap, sodium less chloride and bicarbonate", Mark.FROM_MEMORY),
)
GAP_FOR_ALBUMIN: Final = Share(
    value=Decimal("0.25"),
    source=publication("figge-1998").at("anion gap + 0.25 x (normal albumin - albumin) in g/L"),
)
NORMAL_GAP: Final = Share(
    value=Decimal(12),
    source=cited.CONVENTION.at("anion gap 12, 8 to 16, without potassium", Mark.FROM_MEMORY),
)
GAP_HIGH: Final = _cut(Compare.ABOVE, "16", _MMOL, NORMAL_GAP.source)
_DELTA: Final = our_choice(
    "the delta ratio is said only above 2 and below 0.4: texts differ on what lies between"
)
DELTA_HIGH: Final = Cutoff(compare=Compare.ABOVE, limit=Quantity(Decimal(2), Unit.RATIO), source=_DELTA)
DELTA_LOW: Final = Cutoff(compare=Compare.BELOW, limit=Quantity(Decimal("0.4"), Unit.RATIO), source=_DELTA)
ALBUMIN_NEAR: Final = Window(
    length=timedelta(hours=48),
    source=our_choice("an anion gap is adjusted by an albumin of 48 hours around it"),
)
SAMPLE_IS_OLD: Final = Window(
    length=timedelta(hours=6), source=our_choice("a blood gas of more than 6 hours ago is said to be old")
)
LACTATE_EXPLAINS: Final = Cutoff(
    compare=Compare.AT_LEAST,
    limit=Quantity(Decimal(4), Unit.MILLIMOLE_PER_LITRE),
    source=our_choice("a lactate of tissue hypoperfusion explains an anion gap without an osmolal one"),
)
ELECTROLYTES_NEAR: Final = Window(
    length=timedelta(hours=4), source=our_choice("sodium and chloride within 4 hours belong to a gas")
)

P_OVER_F: Final = Clause(
    text="pO2 over FiO2 is a number; its grades need a positive end-expiratory pressure.",
    source=publication("berlin-2012").at("PaO2/FiO2, graded only with PEEP or CPAP of 5 cmH2O or more"),
)

# High-flow oxygen.


class RoxRow(Columns, frozen=True):
    """One row of the file."""

    hours: int
    below: Decimal
    source: str


class RoxLimit(NamedTuple):
    """From how many hours of high-flow oxygen on an index below the limit speaks for failure."""

    after: timedelta
    cutoff: Cutoff


def _rox(row: RoxRow) -> RoxLimit:
    limit = Quantity(row.below, Unit.RATIO)
    return RoxLimit(
        timedelta(hours=row.hours), Cutoff(compare=Compare.BELOW, limit=limit, source=cite(row.source))
    )


#: The longest time first.
ROX_LIMITS: Final = csv_table("limits/rox.csv", RoxRow, _rox)
ROX_ASKS: Final = Clause(
    text="A low index on high-flow oxygen asks whether the lungs should be ventilated, before they tire.",
    source=our_choice("a ROX index below its limit is 'urgent'"),
)

# Oxygen.

HYPOXAEMIA: Final = _cut(
    Compare.BELOW, "8.0", _KPA, our_choice("pO2 below 8.0 kPa, the limit of respiratory failure, is 'urgent'")
)
SEVERE_HYPOXAEMIA: Final = _cut(
    Compare.BELOW, "6.7", _KPA, our_choice("pO2 below 6.7 kPa (50 mmHg) is an emergency")
)
#: Near a saturation of 88 %: inside a range of 88-92.
HYPOXAEMIA_OF_A_LOW_RANGE: Final = _cut(
    Compare.BELOW,
    "7.3",
    _KPA,
    our_choice("inside a prescribed range of 92 or less a pO2 of 7.3 to 8.0 is 'routine'"),
)
SATURATION_OF_AN_ARTERY: Final = _cut(
    Compare.AT_LEAST,
    "92",
    Unit.PERCENT,
    our_choice("beside a saturation of 92 % or more a low pO2 of an unnamed vessel is read as venous"),
)
BREATHED_NEAR: Final = Window(
    length=timedelta(hours=1), source=our_choice("what is breathed within an hour of a gas belongs to it")
)
REPEAT_GAS: Final = Clause(
    text="The gas is repeated 30 to 60 minutes after oxygen was changed.",
    source=BTS_OXYGEN.at("section 8.12, recheck blood gases after 30-60 min"),
)
OXYGEN_IN_SHOCK: Final = Clause(
    text="In shock oxygen is given to 94-98% first, also at risk of hypercapnia.",
    source=BTS_OXYGEN.at("critical illness, initial target also at risk of hypercapnia", Mark.FROM_MEMORY),
)

# Venous samples, and samples whose vessel is not stated.

#: Mean difference 6.2 mmHg with limits of 20 either way: 45 + 20 mmHg.
VENOUS_SURELY_HIGH: Final = _cut(
    Compare.ABOVE, "8.7", _KPA, KELLY_2014.at("Abstract, venous pCO2, limits of agreement 20 mmHg")
)
VENOUS_NOT_HIGH: Final = _cut(
    Compare.BELOW,
    "6.0",
    _KPA,
    KELLY_2005.at("venous pCO2 of 45 mmHg or less makes an arterial one above 50 mmHg unlikely"),
)
VENOUS_STANDS_IN: Final = Clause(
    text="Outside shock venous pH and bicarbonate stand in for arterial ones.",
    source=KELLY_2014.at("Abstract, pH and bicarbonate interchangeable when not in shock"),
)

# Acute asthma.

ASTHMA_NORMAL_FROM: Final = _cut(
    Compare.AT_LEAST, "4.6", _KPA, ASTHMA.at("life-threatening, normal PaCO2 4.6-6.0 kPa")
)
ASTHMA_RAISED: Final = _cut(Compare.ABOVE, "6.0", _KPA, ASTHMA.at("near-fatal, raised PaCO2"))
ASTHMA_SATURATION: Final = _cut(
    Compare.BELOW, "92", Unit.PERCENT, ASTHMA.at("life-threatening, SpO2 below 92 %")
)
ASTHMA_OXYGEN: Final = _cut(Compare.BELOW, "8", _KPA, ASTHMA.at("life-threatening, PaO2 below 8 kPa"))
ASTHMA_BREATHING: Final = _cut(
    Compare.AT_LEAST, "25", Unit.PER_MINUTE, ASTHMA.at("acute severe, respiratory rate 25 or more")
)
ASTHMA_PULSE: Final = _cut(
    Compare.AT_LEAST, "110", Unit.PER_MINUTE, ASTHMA.at("acute severe, heart rate 110 or more")
)
#: With another sign it is one more; alone it calls within the hour.
ASTHMA_MIND: Final = ASTHMA.at("life-threatening, altered conscious level, exhaustion", Mark.FROM_MEMORY)
ASTHMA_ACUTE_FOR: Final = Window(
    length=timedelta(days=7), source=our_choice("asthma that began in the last 7 days is acute")
)
