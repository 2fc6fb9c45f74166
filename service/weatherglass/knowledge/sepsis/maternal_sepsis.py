"""Single signs of high and moderate risk in suspected sepsis in pregnancy and after it, NICE NG255.

The numbers stand in `maternal-sepsis-2025.csv`: table 1 of the guideline for people who are or have
recently been pregnant. One sign is enough. It is used up to 42 days after the end of a pregnancy.

Left out, with reasons:
    History of altered behaviour, acute loss of function and concern of others: not read.
    Signs of a wound infection: not read.
    Urine not passed in 12 to 18 hours: a chart tells what was measured only.
"""

from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.knowledge.sepsis.risk_rows import risk_rows
from weatherglass.model.signals import CodedSignal, Consciousness, Skin
from weatherglass.model.sources import Mark
from weatherglass.model.tables.risk_tables import Risk, RiskAnswer

PUBLIC_KEY: Final = "maternal-sepsis-2025"
_ROWS: Final = PrintedRows("sepsis/maternal-sepsis-rows", globals())
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
