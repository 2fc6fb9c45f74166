"""Magnesium given into a vein: what says that it is too much.

From memory, as obstetric units print it; so no single sign here is an emergency by itself, and a breathing
rate that is one calls by its own rule. Two that fit together are.

Left out, with reasons:
    Loss of reflexes: no code that is read says it. It is named as what has to be looked at.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import cutoff, memory
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.clauses import Clause, Window
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.signals import Signal
from weatherglass.model.sources import our_choice
from weatherglass.model.tables.bands import Compare, Cutoff

PUBLIC_KEY: Final = "magnesium-infusion"

CLASSES: Final = frozenset({MedicineClass.MAGNESIUM})
RESPIRATION: Final = cutoff(
    Signal.RESPIRATION_RATE, "< 12", memory("magnesium is stopped at a breathing rate below 12")
)
LEVEL: Final = cutoff(Signal.MAGNESIUM, "> 3.5", memory("reflexes are lost from 3.5 mmol/L of magnesium"))
URINE: Final = Cutoff(
    compare=Compare.BELOW,
    limit=Quantity(Decimal(100), Unit.MILLILITRE),
    source=memory("magnesium is stopped or reduced at less than 100 mL of urine in 4 hours"),
)
URINE_WITHIN: Final = Window(length=timedelta(hours=4), source=URINE.source)
SIGNS_COUNT_FOR: Final = Window(
    length=timedelta(hours=4), source=our_choice("breathing and alertness of 4 hours count beside magnesium")
)
GIVEN_WITHIN: Final = Window(
    length=timedelta(hours=12), source=our_choice("magnesium given within 12 hours still acts")
)
NOT_IN_ASTHMA: Final = our_choice(
    "one dose that has ended is not asked about in an attack of asthma: drowsiness there is the attack"
)
ASKS: Final = Clause(
    text="stopping it and calcium gluconate to be considered; reflexes and a level now",
    source=our_choice(
        "slow breathing, drowsiness or a high level with magnesium is 'urgent', little urine alone 'prompt'"
    ),
)
TOGETHER: Final = our_choice(
    "slow breathing, drowsiness or a high level beside a second sign of too much magnesium is an emergency"
)
