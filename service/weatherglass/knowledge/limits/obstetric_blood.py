"""What blood shows in pregnancy and soon after that limits for everybody miss.

The Swansea criteria of acute fatty liver were read in restatements. Fibrinogen climbs in pregnancy, so that
a number inside the range of others is low; creatinine falls, so that one inside it is high.

Left out, with reasons:
    Of the Swansea criteria: abdominal pain, thirst, urate, ammonia, ascites or a bright liver, and biopsy,
    which no signal that is read holds. So six of those that are left is the stricter half.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import cutoff, publication
from weatherglass.knowledge.limits.heart_and_pressure import PREECLAMPSIA_CREATININE
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.clauses import Clause, Share, Window
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Mark, Source, our_choice
from weatherglass.model.tables.bands import Cutoff

PUBLIC_KEY: Final = "obstetric-blood"

COUNTS_FOR: Final = Window(
    length=timedelta(hours=24),
    source=our_choice("blood of the last day counts together around a birth"),
)

# Acute fatty liver.

SWANSEA: Final = publication("swansea-criteria").at("six or more, without another cause", Mark.SECONDARY)
ENOUGH: Final = Share(value=Decimal(6), source=SWANSEA)
_CLOTTING: Final = our_choice("an INR of 1.5 or more stands for a prolonged prothrombin time")


def _limits(*each: tuple[Signal, str, Source]) -> tuple[tuple[Signal, Cutoff], ...]:
    return tuple((signal, cutoff(signal, when, source)) for signal, when, source in each)


#: In the order in which they are said; several limits of one line are one criterion.
CRITERIA: Final = (
    _limits((Signal.ALT, "> 42", SWANSEA), (Signal.AST, "> 42", SWANSEA)),
    _limits(
        (Signal.PROTHROMBIN_TIME, "> 14", SWANSEA),
        (Signal.APTT, "> 34", SWANSEA),
        (Signal.INR, ">= 1.5", _CLOTTING),
    ),
    _limits((Signal.GLUCOSE, "< 4.0", SWANSEA)),
    _limits((Signal.BILIRUBIN, "> 14", SWANSEA)),
    _limits((Signal.CREATININE, "> 150", SWANSEA)),
    _limits((Signal.WHITE_CELLS, "> 11", SWANSEA)),
)
FATTY_LIVER_ASKS: Final = Clause(
    text=(
        "obstetrics, anaesthesia and a liver unit now; glucose every hour, clotting corrected, and when to "
        "deliver decided"
    ),
    source=our_choice(
        "six Swansea criteria with a raised liver test and a prolonged clotting time or a low glucose are an "
        "emergency: labour, sepsis and vomiting alone reach the others"
    ),
)

# Clotting around a birth.

FIBRINOGEN: Final = cutoff(
    Signal.FIBRINOGEN,
    "< 2.0",
    publication("rcog-green-top-52").at("fibrinogen kept above 2 g/L in haemorrhage", Mark.FROM_MEMORY),
)
CLOTTING_ASKS: Final = Clause(
    text="obstetrics, anaesthesia and haematology now: products by the local protocol, and what is bleeding",
    source=our_choice(
        "fibrinogen below 2.0 g/L in pregnancy or for 42 days after is 'urgent', with recorded bleeding, an "
        "INR of 1.5 or more or platelets below 75 an emergency"
    ),
)
CLOTTING_INR: Final = cutoff(Signal.INR, ">= 1.5", CLOTTING_ASKS.source)
CLOTTING_PLATELETS: Final = cutoff(Signal.PLATELETS, "< 75", CLOTTING_ASKS.source)
#: They prolong the INR by themselves.
EXPLAINS_INR: Final = (MedicineClass.VITAMIN_K_ANTAGONIST,)

# Kidneys.

CREATININE: Final = PREECLAMPSIA_CREATININE
CREATININE_ASKS: Final = Clause(
    text="it is lower then than in others, so the kidneys suffer: urine, pressure and obstetric review",
    source=our_choice(
        "a creatinine of 90 or more in pregnancy that cannot be staged is 'prompt', above 150 'urgent'"
    ),
)
CREATININE_VERY_HIGH: Final = cutoff(Signal.CREATININE, "> 150", CREATININE_ASKS.source)
