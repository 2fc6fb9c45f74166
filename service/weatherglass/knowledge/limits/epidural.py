"""An epidural that is running: what says that it reaches too high, or sedates.

Whom to ask and for what is published by hospitals; by when is ours. Nothing here is an emergency by
itself: a pressure, a breathing rate or an answer that is one calls by its own rule.

Left out, with reasons:
    The height of the block: no code that is read says it; it is named as what to look at.
"""

from datetime import timedelta
from typing import Final

from weatherglass.knowledge.data_files import cutoff, memory, publication
from weatherglass.model.clauses import Clause, Window
from weatherglass.model.signals import Signal
from weatherglass.model.sources import our_choice

PUBLIC_KEY: Final = "epidural"

WHOM_TO_ASK: Final = publication("highland-epidural").at(
    "acute pain team or anaesthetist contacted for low pressure after treatment, sedation or confusion"
)
SYSTOLIC: Final = cutoff(
    Signal.SYSTOLIC_PRESSURE, "< 90", our_choice("a systolic pressure below 90 is named beside sedation")
)
RESPIRATION: Final = cutoff(
    Signal.RESPIRATION_RATE, "< 10", memory("epidural opioid: breathing below 10 is slow")
)
SIGNS_COUNT_FOR: Final = Window(
    length=timedelta(hours=4), source=our_choice("signs of 4 hours count beside an epidural")
)
GIVEN_WITHIN: Final = Window(
    length=timedelta(hours=12), source=our_choice("what was given by an epidural within 12 hours still acts")
)
#: Blood or pus in the spine, with the epidural in place or after it was taken out.
AFTER: Final = Window(
    length=timedelta(days=3), source=our_choice("weak legs are asked about until 3 days after an epidural")
)
SPINE: Final = Clause(
    text="ask the anaesthetist now whether to stop the epidural, and whether the spine is imaged at once",
    source=our_choice("weak legs with an epidural are an emergency: hours decide whether they recover"),
)
SPINE_IMAGED: Final = memory("epidural: a motor block that grows is a haematoma or abscess until imaged")
ANTICOAGULANT: Final = Clause(
    text="ask too whether the next dose of {} waits for it",
    source=our_choice(
        "whether an anticoagulant waits for the image of the spine is asked, and decided by the team"
    ),
)
ASKS: Final = Clause(
    text=(
        "ask the anaesthetist or acute pain team now whether to slow or stop it; height of the block and "
        "strength of the legs; bleeding and infection are not ruled out by it"
    ),
    source=our_choice("sedation or slow breathing with an epidural is seen within the hour"),
)
