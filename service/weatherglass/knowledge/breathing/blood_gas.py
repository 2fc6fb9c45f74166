"""Blood gas: alkaline and acid blood, expected compensation, oxygen, venous samples, asthma.

Data only. The limits of respiratory acidosis and of ventilation stand with the other results.
Compensation is compared in mmHg, in which it is printed.

What respiratory disorders do to the bicarbonate is in `gas-compensation.csv`, the limits of high-flow
oxygen in `rox.csv`.

Left out, with reasons:
    Berlin grades of P/F: they need a positive end-expiratory pressure, which a ward record seldom has.
"""

from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import Columns, Hours, csv_rows
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.once import cached_property
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.sources import Source
from weatherglass.model.tables.bands import Compare, Cutoff

PUBLIC_KEY: Final = "blood-gas"
_ROWS: Final = PrintedRows("breathing/blood-gas-rows")

# Acid and alkaline blood.

SEVERE_ACIDAEMIA: Final = _ROWS.cutoff("severe-acidaemia")
CRITICAL_ACIDAEMIA: Final = _ROWS.cutoff("critical-acidaemia")
ALKALAEMIA: Final = _ROWS.cutoff("alkalaemia")
SEVERE_ALKALAEMIA: Final = _ROWS.cutoff("severe-alkalaemia")
UNCONSCIOUS: Final = _ROWS.clause("unconscious")

# Expected compensation, in mmHg.

MMHG_IN_KPA: Final = _ROWS.share("mmhg-in-kpa")
ACIDOSIS_SLOPE: Final = _ROWS.share("acidosis-slope")
ACIDOSIS_CONSTANT: Final = _ROWS.share("acidosis-constant")
ACIDOSIS_WIDTH: Final = _ROWS.share("acidosis-width")
ALKALOSIS_SLOPE: Final = _ROWS.share("alkalosis-slope")
ALKALOSIS_HIGHEST: Final = _ROWS.share("alkalosis-highest")
BICARBONATE_RAISED: Final = _ROWS.cutoff("bicarbonate-raised")
SOLUBILITY: Final = _ROWS.share("solubility")
PK: Final = _ROWS.share("pk")
MIXED_IS_URGENT: Final = _ROWS.clause("mixed-is-urgent")

NORMAL_PCO2: Final = _ROWS.share("normal-pco2")
NORMAL_BICARBONATE: Final = _ROWS.share("normal-bicarbonate")
PCO2_LOW: Final = _ROWS.cutoff("pco2-low")
COMPENSATION_WIDTH: Final = _ROWS.share("compensation-width")


class Compensation(Columns, frozen=True):
    """How far bicarbonate moves for each 10 mmHg of carbon dioxide."""

    key: str
    label: str
    least: Decimal
    most: Decimal
    source: Source


COMPENSATIONS: Final = tuple(csv_rows("breathing/gas-compensation.csv", Compensation))

# Anion gap and osmolality.

ANION_GAP: Final = _ROWS.clause("anion-gap")
GAP_FOR_ALBUMIN: Final = _ROWS.share("gap-for-albumin")
NORMAL_GAP: Final = _ROWS.share("normal-gap")
GAP_HIGH: Final = _ROWS.cutoff("gap-high")
CHLORIDE_HIGH: Final = _ROWS.cutoff("chloride-high")
GAP_LEFT: Final = _ROWS.cutoff("gap-left")
GAP_LEFT_BY_KIDNEYS: Final = _ROWS.cutoff("gap-left-by-kidneys")
OSMOLAL_GAP: Final = _ROWS.cutoff("osmolal-gap")
GAP_ASKS: Final = _ROWS.clause("gap-asks")
DELTA_HIGH: Final = _ROWS.cutoff("delta-high")
DELTA_LOW: Final = _ROWS.cutoff("delta-low")
ALBUMIN_NEAR: Final = _ROWS.window("albumin-near")
WELL_SINCE: Final = _ROWS.source("well-since")
SAMPLE_IS_OLD: Final = _ROWS.window("sample-is-old")
LACTATE_EXPLAINS: Final = _ROWS.cutoff("lactate-explains")
ELECTROLYTES_NEAR: Final = _ROWS.window("electrolytes-near")

P_OVER_F: Final = _ROWS.clause("p-over-f")

# High-flow oxygen.


class RoxLimit(Columns, frozen=True, dict=True):
    """From how long on high-flow oxygen on an index below the limit speaks for failure."""

    after: Hours
    below: Decimal
    source: Source

    @cached_property
    def cutoff(self) -> Cutoff:
        """The limit."""
        return Cutoff(compare=Compare.BELOW, limit=Quantity(self.below, Unit.RATIO), source=self.source)


#: The longest time first.
ROX_LIMITS: Final = csv_rows("breathing/rox.csv", RoxLimit)
ROX_ASKS: Final = _ROWS.clause("rox-asks")

# Oxygen.

HYPOXAEMIA: Final = _ROWS.cutoff("hypoxaemia")
SEVERE_HYPOXAEMIA: Final = _ROWS.cutoff("severe-hypoxaemia")
NEWBORN_HYPOXAEMIA: Final = _ROWS.cutoff("newborn-hypoxaemia")
NEWBORN_SEVERE_HYPOXAEMIA: Final = _ROWS.cutoff("newborn-severe-hypoxaemia")
HYPOXAEMIA_OF_A_LOW_RANGE: Final = _ROWS.cutoff("hypoxaemia-of-a-low-range")
SATURATION_OF_AN_ARTERY: Final = _ROWS.cutoff("saturation-of-an-artery")
BREATHED_NEAR: Final = _ROWS.window("breathed-near")
REPEAT_GAS: Final = _ROWS.clause("repeat-gas")
OXYGEN_IN_SHOCK: Final = _ROWS.clause("oxygen-in-shock")

# Venous samples, and samples whose vessel is not stated.

VENOUS_SURELY_HIGH: Final = _ROWS.cutoff("venous-surely-high")
VENOUS_KEPT_PH: Final = _ROWS.cutoff("venous-kept-ph")
VENOUS_KEPT_BICARBONATE: Final = _ROWS.cutoff("venous-kept-bicarbonate")
NUMBERS_DISAGREE: Final = _ROWS.share("numbers-disagree")
MASK_WITHOUT_WAITING: Final = _ROWS.clause("mask-without-waiting")
MASK_OF_A_CHILD: Final = _ROWS.clause("mask-of-a-child")
VENOUS_NOT_HIGH: Final = _ROWS.cutoff("venous-not-high")
VENOUS_STANDS_IN: Final = _ROWS.clause("venous-stands-in")

# Acute asthma.

ASTHMA_NORMAL_FROM: Final = _ROWS.cutoff("asthma-normal-from")
ASTHMA_RAISED: Final = _ROWS.cutoff("asthma-raised")
ASTHMA_SATURATION: Final = _ROWS.cutoff("asthma-saturation")
ASTHMA_OXYGEN: Final = _ROWS.cutoff("asthma-oxygen")
ASTHMA_BREATHING: Final = _ROWS.cutoff("asthma-breathing")
ASTHMA_PULSE: Final = _ROWS.cutoff("asthma-pulse")
ASTHMA_MIND: Final = _ROWS.source("asthma-mind")
ASTHMA_ACUTE_FOR: Final = _ROWS.window("asthma-acute-for")
WEAK_MUSCLES: Final = _ROWS.members("weak-muscles", ConditionKind)
