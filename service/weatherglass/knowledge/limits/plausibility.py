"""Which values cannot be true at a bedside: limits against artefact and wrong units.

Data only. A value outside its limit is left out of scores and said to be an artefact,
never dropped in silence. The bedside limits are ours and tighter than those of the
research extraction code, which stand in for signals without one of ours.

Ours, and why: a breathing rate above 80 is an artefact in an adult and a sick infant, so
the limit for children is the entry limit of the national paediatric specification.

Left out, with reasons:
    Weight and height of the research code (250 kg, 275 cm): real patients exceed the first.
    Lactate of the research code (33 mmol/L): below our bedside limit and not impossible.
"""

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.model.clauses import AgeLimit, Clause
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.signals import FACTS, Signal
from weatherglass.model.sources import Mark, Source, our_choice
from weatherglass.model.tables.bands import Compare, Cutoff

PUBLIC_KEY: Final = "plausibility"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlausibleRange:
    """The values that can be true, both ends inside, in the signal's unit.

    Raises:
        ValueError: When the ends are the wrong way round.
    """

    signal: Signal
    low: Decimal
    high: Decimal
    source: Source

    def __post_init__(self) -> None:
        """Refuse an empty range."""
        if self.low >= self.high:
            raise ValueError(f"{self.signal}: the range {self.low}-{self.high} is empty.")

    @property
    def unit(self) -> Unit:
        """The unit of both ends."""
        return FACTS[self.signal].unit

    def holds(self, value: Decimal) -> bool:
        """Tell whether a value in the signal's unit can be true."""
        return self.low <= value <= self.high


_BEDSIDE = our_choice("bedside limit: outside it a value is an artefact, a slip or a wrong unit")
MIMIC_EXTRACT: Final = publication("mimic-extract")
NATIONAL_PEWS_ENTRY: Final = publication("national-pews-interface")


def _ranges(*rows: tuple[Signal, str, str], source: Source) -> dict[Signal, PlausibleRange]:
    return {
        signal: PlausibleRange(signal=signal, low=Decimal(low), high=Decimal(high), source=source)
        for signal, low, high in rows
    }


BEDSIDE_LIMITS: Final = _ranges(
    (Signal.RESPIRATION_RATE, "0", "80"),
    (Signal.PULSE, "0", "300"),
    (Signal.SYSTOLIC_PRESSURE, "20", "300"),
    (Signal.DIASTOLIC_PRESSURE, "10", "200"),
    (Signal.SPO2, "40", "100"),
    (Signal.TEMPERATURE, "25.0", "45.0"),
    (Signal.HAEMOGLOBIN, "20", "250"),
    (Signal.POTASSIUM, "1.0", "12.0"),
    (Signal.POTASSIUM_GAS, "1.0", "12.0"),
    (Signal.SODIUM, "90", "200"),
    (Signal.SODIUM_GAS, "90", "200"),
    (Signal.CREATININE, "5", "3000"),
    (Signal.LACTATE, "0.1", "40"),
    (Signal.GLUCOSE, "0.3", "100"),
    (Signal.CALCIUM_TOTAL, "0.5", "8"),
    (Signal.CALCIUM_ADJUSTED, "0.5", "8"),
    (Signal.CALCIUM_IONISED, "0.2", "4"),
    (Signal.PHOSPHATE, "0.05", "15"),
    (Signal.CHLORIDE, "50", "200"),
    (Signal.ALBUMIN, "3", "100"),
    (Signal.ALT, "0", "100000"),
    (Signal.AST, "0", "100000"),
    (Signal.URINE_RATE_FOR_WEIGHT, "0", "50"),
    source=_BEDSIDE,
)
#: Instead of the above under `CHILD_BELOW`.
CHILD_BEDSIDE_LIMITS: Final = _ranges(
    (Signal.RESPIRATION_RATE, "0", "150"),
    source=NATIONAL_PEWS_ENTRY.at("respiration rate, possible input 0-150"),
)
CHILD_BELOW: Final = AgeLimit(years=16, source=our_choice("the paediatric entry limit holds below 16 years"))

#: For signals without a bedside limit of ours; converted where the code prints mass units.
HARD_LIMITS: Final = _ranges(
    (Signal.MEAN_PRESSURE, "0", "375"),
    (Signal.FIO2, "0.2", "1.1"),
    (Signal.GCS_TOTAL, "3", "15"),
    (Signal.PH_ARTERIAL, "6.3", "10"),
    (Signal.PH_VENOUS, "6.3", "10"),
    (Signal.PCO2_ARTERIAL, "0", "29.3"),  # 220 mmHg
    (Signal.PCO2_VENOUS, "0", "29.3"),  # 220 mmHg
    (Signal.PLATELETS, "0", "2200"),
    (Signal.WHITE_CELLS, "0", "1100"),
    (Signal.BILIRUBIN, "0", "1129"),  # 66 mg/dL
    source=MIMIC_EXTRACT.at("OUTLIER LOW and OUTLIER HIGH"),
) | _ranges(
    (Signal.GCS_EYE, "1", "4"),
    (Signal.GCS_VERBAL, "1", "5"),
    (Signal.GCS_MOTOR, "1", "6"),
    source=publication("teasdale-1974").at(
        "points of the three responses, motor in its later form of 6", Mark.FROM_MEMORY
    ),
)

#: A lower saturation may be true, and wants a second look first.
SPO2_VERIFY: Final = Cutoff(
    compare=Compare.BELOW,
    limit=Quantity(Decimal(70), Unit.PERCENT),
    source=our_choice("a saturation below 70 is shown with 'verify'"),
)
DIASTOLIC_BELOW_SYSTOLIC: Final = Clause(
    text="A diastolic pressure that is not below the systolic one makes the pair an artefact.",
    source=our_choice("a pressure pair the wrong way round is not used"),
)
#: No breathing or no pulse is an emergency or an artefact, and never a normal value.
ZERO_MEANS_CHECK: Final = frozenset({Signal.RESPIRATION_RATE, Signal.PULSE})
ZERO_MEANS_CHECK_RULE: Final = Clause(
    text="A rate of zero: check the patient; it is an arrest or an artefact.",
    source=our_choice("a rate of zero beside other signs is shown as an emergency, not scored away"),
)
#: A bare number in this range is probably Fahrenheit.
FAHRENHEIT_LIKELY: Final = (Decimal(86), Decimal(115))
FAHRENHEIT_RULE: Final = Clause(
    text=(
        "A temperature of 86 to 115 without a unit is probably in Fahrenheit; it is not used "
        "until somebody says so."
    ),
    source=publication("genes-2013").at("Abstract, temperature in Fahrenheit instead of Celsius"),
)


def limits_for(signal: Signal, *, is_child: bool) -> PlausibleRange | None:
    """Return the range that holds for a signal, or `None` where there is none.

    Args:
        signal: What was measured.
        is_child: Whether the person is under `CHILD_BELOW`.
    """
    if is_child and signal in CHILD_BEDSIDE_LIMITS:
        return CHILD_BEDSIDE_LIMITS[signal]
    return BEDSIDE_LIMITS.get(signal) or HARD_LIMITS.get(signal)
