"""Single signs of high and moderate risk in suspected sepsis under 16, NICE NG51 (2016) and NG254.

The numbers stand in `paediatric-sepsis-2025.csv`. The tables of 2016, with the corrections of September
2017, are those of the guideline for people under 16 (NG254) since November 2025. One sign is enough.
The rows of 12 to 15 years are those for adults of the same edition.

Left out, with reasons:
    No response to social cues, appearance, cry, smile, activity, pallor and nasal flaring:
    they are not read.
    Leg pain and cold hands or feet: they are not read.
"""

from typing import Final

from weatherglass.knowledge import publications as cited
from weatherglass.knowledge.data_files import publication
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.knowledge.sepsis.risk_rows import risk_rows
from weatherglass.model.signals import CodedSignal, Concern, Consciousness, RespiratoryEffort, Skin
from weatherglass.model.sources import Mark, our_choice
from weatherglass.model.tables.risk_tables import Risk, RiskAnswer

PUBLIC_KEY: Final = "paediatric-sepsis-2025"
_ROWS: Final = PrintedRows("sepsis/paediatric-sepsis-rows", globals())
PUBLICATION: Final = publication("nice-ng254")
CORRECTION: Final = publication("bmj-j3993")
_COPY, _MEMORY = Mark.SECONDARY, Mark.FROM_MEMORY
#: No table of children reaches this age.
ADULT_MONTHS: Final = 16 * 12

#: In each age the numbers from which breathing or pulse is of high or moderate risk.
RATES: Final = risk_rows(PUBLIC_KEY, "rates")
SIGNS: Final = risk_rows(PUBLIC_KEY, "signs")
#: In mL/kg/h, over the newest 6 to 12 charted hours.
URINE: Final = risk_rows(PUBLIC_KEY, "urine")
_AWAKE: Final = frozenset({Consciousness.ALERT})
ANSWERS: Final = (
    RiskAnswer(
        signal=CodedSignal.CONSCIOUSNESS,
        risk=Risk.HIGH,
        answers=frozenset(Consciousness) - _AWAKE,
        source=cited.SEPSIS_2016.at("does not wake or stay awake, or altered mental state", _COPY),
        below_months=ADULT_MONTHS,
    ),
    RiskAnswer(
        signal=CodedSignal.SKIN,
        risk=Risk.HIGH,
        answers=frozenset(Skin),
        source=cited.SEPSIS_2016.at("mottled or ashen, cyanosis, non-blanching rash"),
        below_months=ADULT_MONTHS,
    ),
    RiskAnswer(
        signal=CodedSignal.RESPIRATORY_EFFORT,
        risk=Risk.HIGH,
        answers=frozenset({RespiratoryEffort.SEVERE}),
        source=our_choice("severe effort of breathing stands for grunting, and grunting is severe effort"),
        below_months=144,
    ),
    RiskAnswer(
        signal=CodedSignal.CONCERN,
        risk=Risk.MODERATE,
        answers=frozenset({Concern.CARER}),
        source=cited.SEPSIS_2016.at("parent or carer: behaves differently from usual", _COPY),
        below_months=144,
    ),
)
#: Any oxygen counts as more than usual below this age: what is usual is not read.
OXYGEN_BELOW_MONTHS: Final = 144
FEVERISH_INFANT_MONTHS: Final = 3
