"""Single signs of high and moderate risk in suspected sepsis under 16, NICE NG51 (2016) and NG254.

Data only. The tables of 2016, with the corrections of September 2017, are those of the
guideline for people under 16 (NG254) since November 2025. One sign is enough. The rows of
12 to 15 years are those for adults of the same edition.

Left out, with reasons:
    No response to social cues, appearance, cry, smile, activity, pallor and nasal flaring:
    they are not read.
    Leg pain and cold hands or feet: they are not read.
"""

from decimal import Decimal
from typing import Final

from weatherglass.knowledge import publications as cited
from weatherglass.knowledge.data_files import publication
from weatherglass.model.clauses import Clause
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.signals import CodedSignal, Concern, Consciousness, RespiratoryEffort, Signal, Skin
from weatherglass.model.sources import Mark, Source, our_choice
from weatherglass.model.tables.bands import Compare, Cutoff
from weatherglass.model.tables.risk_tables import Risk, RiskAnswer, RiskSign, Where

PUBLIC_KEY: Final = "paediatric-sepsis-2025"
PUBLICATION: Final = publication("nice-ng254")
CORRECTION: Final = publication("bmj-j3993")
_SEEN, _COPY, _MEMORY = Mark.CONFIRMED, Mark.SECONDARY, Mark.FROM_MEMORY
_RATE = Unit.PER_MINUTE
#: No table of children reaches this age.
ADULT_MONTHS: Final = 16 * 12


def _cutoff(compare: Compare, number: str, unit: Unit, source: Source) -> Cutoff:
    return Cutoff(compare=compare, limit=Quantity(Decimal(number), unit), source=source)


def _rates(
    signal: Signal, ages: str, start: int, end: int, high: str, moderate: str, mark: Mark
) -> tuple[RiskSign, ...]:
    """Type in the two columns of one age: from this number, high; from that one, moderate."""
    row = "breathing" if signal is Signal.RESPIRATION_RATE else "heart rate"
    source = cited.SEPSIS_2016 if mark is _SEEN else PUBLICATION
    return tuple(
        RiskSign(
            signal=signal,
            risk=risk,
            cutoff=_cutoff(
                Compare.AT_LEAST, number, _RATE, source.at(f"{ages}, {risk.word} risk, {row}", mark)
            ),
            from_months=start,
            below_months=end,
        )
        for risk, number in ((Risk.HIGH, high), (Risk.MODERATE, moderate))
    )


_BREATHING, _PULSE = Signal.RESPIRATION_RATE, Signal.PULSE
RATES: Final = (
    *_rates(_BREATHING, "Under 1 year", 0, 12, "60", "50", _SEEN),
    *_rates(_PULSE, "Under 1 year", 0, 12, "160", "150", _SEEN),
    *_rates(_BREATHING, "1-2 years", 12, 36, "50", "40", _SEEN),
    *_rates(_PULSE, "1-2 years", 12, 36, "150", "140", _SEEN),
    *_rates(_BREATHING, "3-4 years", 36, 60, "40", "35", _SEEN),
    *_rates(_PULSE, "3-4 years", 36, 60, "140", "130", _SEEN),
    *_rates(_BREATHING, "5 years", 60, 72, "29", "24", _COPY),
    *_rates(_PULSE, "5 years", 60, 72, "130", "120", _COPY),
    *_rates(_BREATHING, "6-7 years", 72, 96, "27", "24", _COPY),
    *_rates(_PULSE, "6-7 years", 72, 96, "120", "110", _COPY),
    *_rates(_BREATHING, "8-11 years", 96, 144, "25", "22", _COPY),
    *_rates(_PULSE, "8-11 years", 96, 144, "115", "105", _COPY),
    *_rates(_BREATHING, "12-15 years", 144, ADULT_MONTHS, "25", "21", _COPY),
)


def _sign(
    signal: Signal,
    risk: Risk,
    compare: Compare,
    number: str,
    unit: Unit,
    source: Source,
    ages: tuple[int, int],
    where: Where = Where.ANYWHERE,
) -> RiskSign:
    return RiskSign(
        signal=signal,
        risk=risk,
        cutoff=_cutoff(compare, number, unit, source),
        from_months=ages[0],
        below_months=ages[1],
        where=where,
    )


_UNDER_5, _FROM_5, _UNDER_12, _FROM_12 = (0, 60), (60, ADULT_MONTHS), (0, 144), (144, ADULT_MONTHS)
_ALL = (0, ADULT_MONTHS)
_HG, _C, _PC = Unit.MILLIMETRE_OF_MERCURY, Unit.DEGREE_CELSIUS, Unit.PERCENT
_HIGH, _MODERATE = Risk.HIGH, Risk.MODERATE
SIGNS: Final = (
    _sign(
        _PULSE,
        _HIGH,
        Compare.BELOW,
        "60",
        _RATE,
        cited.SEPSIS_2016.at("under 12, heart rate below 60"),
        _UNDER_12,
    ),
    _sign(
        _BREATHING, _HIGH, Compare.AT_MOST, "0", _RATE, cited.SEPSIS_2016.at("under 12, apnoea"), _UNDER_12
    ),
    _sign(
        _PULSE,
        _HIGH,
        Compare.ABOVE,
        "130",
        _RATE,
        CORRECTION.at("12 and over, heart rate 131 or more"),
        _FROM_12,
    ),
    _sign(
        _PULSE,
        _MODERATE,
        Compare.AT_LEAST,
        "91",
        _RATE,
        CORRECTION.at("12 and over, heart rate 91-130"),
        _FROM_12,
    ),
    _sign(
        Signal.SYSTOLIC_PRESSURE,
        _HIGH,
        Compare.AT_MOST,
        "90",
        _HG,
        CORRECTION.at("12 and over, systolic pressure 90 or less"),
        _FROM_12,
    ),
    _sign(
        Signal.SYSTOLIC_PRESSURE,
        _MODERATE,
        Compare.AT_MOST,
        "100",
        _HG,
        cited.SEPSIS_2016.at("12 and over, systolic pressure 91-100", _MEMORY),
        _FROM_12,
    ),
    _sign(
        Signal.SPO2,
        _HIGH,
        Compare.BELOW,
        "90",
        _PC,
        cited.SEPSIS_2016.at("under 12, saturation below 90 % in air"),
        _UNDER_12,
    ),
    _sign(
        Signal.SPO2,
        _MODERATE,
        Compare.BELOW,
        "92",
        _PC,
        cited.SEPSIS.at("Update information, September 2017: saturation below 92 % in air"),
        _UNDER_12,
        Where.UNLESS_ON_OXYGEN,
    ),
    _sign(
        Signal.TEMPERATURE,
        _HIGH,
        Compare.AT_LEAST,
        "38",
        _C,
        CORRECTION.at("under 3 months, 38 C or more"),
        (0, 3),
    ),
    _sign(
        Signal.TEMPERATURE,
        _MODERATE,
        Compare.AT_LEAST,
        "39",
        _C,
        CORRECTION.at("3-6 months, 39 C or more"),
        (3, 7),
    ),
    _sign(Signal.TEMPERATURE, _HIGH, Compare.BELOW, "36", _C, CORRECTION.at("under 5, below 36 C"), _UNDER_5),
    _sign(
        Signal.TEMPERATURE,
        _MODERATE,
        Compare.BELOW,
        "36",
        _C,
        CORRECTION.at("5 and over, below 36 C"),
        _FROM_5,
    ),
    _sign(
        Signal.CAPILLARY_REFILL,
        _MODERATE,
        Compare.AT_LEAST,
        "3",
        Unit.SECOND,
        cited.SEPSIS_2016.at("under 12, capillary refill 3 seconds or more"),
        _UNDER_12,
    ),
)
#: In mL/kg/h, over the newest 6 to 12 charted hours.
URINE: Final = (
    RiskSign(
        signal=Signal.URINE_RATE,
        risk=_MODERATE,
        cutoff=_cutoff(
            Compare.BELOW,
            "1",
            Unit.MILLILITRE_PER_KILOGRAM_HOUR,
            cited.SEPSIS_2016.at("under 12, urine below 1 mL/kg/h"),
        ),
        below_months=144,
    ),
    RiskSign(
        signal=Signal.URINE_RATE,
        risk=_HIGH,
        cutoff=_cutoff(
            Compare.BELOW,
            "0.5",
            Unit.MILLILITRE_PER_KILOGRAM_HOUR,
            cited.SEPSIS_2016.at("12 and over, catheterised: urine below 0.5 mL/kg/h", _COPY),
        ),
        from_months=144,
        below_months=ADULT_MONTHS,
    ),
)
_AWAKE: Final = frozenset({Consciousness.ALERT})
ANSWERS: Final = (
    RiskAnswer(
        signal=CodedSignal.CONSCIOUSNESS,
        risk=_HIGH,
        answers=frozenset(Consciousness) - _AWAKE,
        source=cited.SEPSIS_2016.at("does not wake or stay awake, or altered mental state", _COPY),
        below_months=ADULT_MONTHS,
    ),
    RiskAnswer(
        signal=CodedSignal.SKIN,
        risk=_HIGH,
        answers=frozenset(Skin),
        source=cited.SEPSIS_2016.at("mottled or ashen, cyanosis, non-blanching rash"),
        below_months=ADULT_MONTHS,
    ),
    RiskAnswer(
        signal=CodedSignal.RESPIRATORY_EFFORT,
        risk=_HIGH,
        answers=frozenset({RespiratoryEffort.SEVERE}),
        source=our_choice("severe effort of breathing stands for grunting, which is not read"),
        below_months=144,
    ),
    RiskAnswer(
        signal=CodedSignal.CONCERN,
        risk=_MODERATE,
        answers=frozenset({Concern.CARER}),
        source=cited.SEPSIS_2016.at("parent or carer: behaves differently from usual", _COPY),
        below_months=144,
    ),
)
#: Any oxygen counts as more than usual below this age: what is usual is not read.
OXYGEN_BELOW_MONTHS: Final = 144
OXYGEN: Final = Clause(
    text="Under 12 any oxygen above the usual is high risk; that none is usual is assumed.",
    source=cited.SEPSIS_2016.at("under 12, increased oxygen requirement over baseline", _COPY),
)
WITHIN_THE_HOUR: Final = Clause(
    text="At high risk the first antimicrobial, at moderate risk a review, is due within an hour.",
    source=PUBLICATION.at("managing suspected sepsis, high and moderate risk", _MEMORY),
)
FEVERISH_INFANT_MONTHS: Final = 3
FEVERISH_INFANT: Final = Clause(
    text="A temperature of 38 or more under 3 months is high risk also where no infection is recorded.",
    source=our_choice("fever under 3 months is an emergency of its own"),
)
SEVERAL_HIGH: Final = Clause(
    text=(
        "Two or more high-risk signs with a temperature of 38 or more, or below 36, and a non-blanching rash "
        "with such a temperature, are an emergency before infection is named."
    ),
    source=our_choice("two high-risk signs with an abnormal temperature are an emergency in a child"),
)
TEMPERATURE_ALONE: Final = Clause(
    text=(
        "Where no infection is recorded, a temperature below 36 under 5 years asks about it within the "
        "hour; 39 or more at 3-6 months, and below 36 from 5 years, is 'prompt'."
    ),
    source=our_choice("a temperature of the table asks by itself, also without a second sign"),
)
SKIN_ALONE: Final = Clause(
    text=(
        "Mottled, ashen or cyanosed skin or a non-blanching rash asks about infection within the hour "
        "without a fever too, under 16 and in pregnancy; beside another high-risk sign at once."
    ),
    source=our_choice("a skin sign of high risk is seen within the hour, with a fever or without one"),
)
