"""Single signs of high and moderate risk in suspected sepsis in pregnancy and after it, NICE NG255.

The numbers stand in `maternal-sepsis-2025.csv`: table 1 of the guideline for people who are or have
recently been pregnant. One sign is enough. It is used up to 42 days after the end of a pregnancy.

Left out, with reasons:
    History of altered behaviour, acute loss of function and concern of others: not read.
    Signs of a wound infection: not read.
    Urine not passed in 12 to 18 hours: a chart tells what was measured only.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Final

from weatherglass.knowledge import publications as cited
from weatherglass.knowledge.data_files import publication
from weatherglass.knowledge.sepsis.risk_rows import risk_rows
from weatherglass.model.clauses import Clause, Window
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.signals import CodedSignal, Consciousness, Skin
from weatherglass.model.sources import Mark, our_choice
from weatherglass.model.tables.bands import Compare, Cutoff
from weatherglass.model.tables.risk_tables import Risk, RiskAnswer

PUBLIC_KEY: Final = "maternal-sepsis-2025"
PUBLICATION: Final = publication("nice-ng255")


_COPY, _MEMORY = Mark.SECONDARY, Mark.FROM_MEMORY
SIGNS: Final = risk_rows(PUBLIC_KEY, "signs")
#: In mL/kg/h, over the newest 6 to 12 charted hours.
URINE: Final = risk_rows(PUBLIC_KEY, "urine")
ANSWERS: Final = (
    RiskAnswer(
        signal=CodedSignal.CONSCIOUSNESS,
        risk=Risk.HIGH,
        answers=frozenset(Consciousness) - {Consciousness.ALERT},
        source=PUBLICATION.at("table 1, objective evidence of new altered mental state"),
    ),
    RiskAnswer(
        signal=CodedSignal.SKIN,
        risk=Risk.HIGH,
        answers=frozenset(Skin),
        source=PUBLICATION.at("table 1, mottled or ashen, cyanosis, non-blanching rash", _COPY),
    ),
)
PRESSURE_FALL: Final = Clause(
    text="A systolic pressure more than 40 mmHg below the own normal is high risk.",
    source=PUBLICATION.at("table 1, systolic pressure more than 40 below normal", _COPY),
)
OXYGEN: Final = Clause(
    text=(
        "A new need of 40 % oxygen or more to keep saturation above 92 %, in known hypercapnic failure above "
        "88 %, is high risk; a reservoir mask or more ranks as 40 %."
    ),
    source=PUBLICATION.at("table 1, new need of 40 % oxygen or more"),
)
#: From this fraction, where it is recorded.
OXYGEN_FRACTION: Final = Cutoff(
    compare=Compare.AT_LEAST,
    limit=Quantity(Decimal("0.40"), Unit.FRACTION),
    source=PUBLICATION.at("table 1, new need of 40 % oxygen or more"),
)
#: Where only the flow is recorded.
OXYGEN_FLOW: Final = Cutoff(
    compare=Compare.AT_LEAST,
    limit=Quantity(Decimal(6), Unit.LITRE_PER_MINUTE),
    source=our_choice("6 L/min or more ranks as a need of 40 % oxygen"),
)
HISTORY: Final = Clause(
    text=(
        "An operation, invasive procedure or injury of 6 weeks, and impaired immunity by illness or "
        "medicines (oral steroids too), are moderate risk."
    ),
    source=PUBLICATION.at("table 1, history"),
)
HISTORY_WINDOW: Final = Window(
    length=timedelta(days=42),
    source=PUBLICATION.at("table 1, surgery or invasive procedure in the last 6 weeks"),
)
FIRST_DOSE: Final = Clause(
    text="At high risk the first antimicrobial, at moderate risk a review, is due within an hour.",
    source=PUBLICATION.at("managing suspected sepsis, high and moderate risk", _MEMORY),
)
ASKS_FOR_INFECTION: Final = Clause(
    text="In pregnancy and 42 days after it a temperature of 38 or more, or below 36, asks for infection.",
    source=our_choice("an abnormal temperature in pregnancy or soon after asks about infection"),
)
LACTATE_AND_KIDNEYS: Final = Clause(
    text="A lactate above 2 mmol/L or acute kidney injury makes moderate risk high, and is moderate alone.",
    source=cited.SEPSIS_2016.at(
        "lactate above 2 mmol/L or acute kidney injury beside moderate risk", _MEMORY
    ),
)
VERY_HIGH_LACTATE: Final = Cutoff(
    compare=Compare.ABOVE,
    limit=Quantity(Decimal(4), Unit.MILLIMOLE_PER_LITRE),
    source=cited.SEPSIS_2016.at("lactate above 4 mmol/L", _MEMORY),
)
