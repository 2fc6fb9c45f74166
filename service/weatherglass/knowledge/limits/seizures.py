"""What a seizure asks for, by whose it is. Data only; when one counts stands with the single signs."""

from datetime import timedelta
from typing import Final

from weatherglass.knowledge.data_files import memory, publication
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.clauses import Clause, Window
from weatherglass.model.sources import Mark, our_choice

PUBLIC_KEY: Final = "seizures"

GOES_ON: Final = Clause(
    text="airway and oxygen, glucose now, and the local protocol for a seizure",
    source=memory("a seizure that goes on: airway, oxygen, glucose, a benzodiazepine by the protocol"),
)
OVER: Final = Clause(
    text="measure glucose, look for the cause, and watch for another",
    source=our_choice("one seizure that is over asks for its cause"),
)
ECLAMPSIA: Final = Clause(
    text=(
        "eclampsia until shown otherwise: magnesium sulfate into a vein by the local protocol, on her left "
        "side, pressure and glucose now"
    ),
    source=publication("nice-ng133").at(
        "anticonvulsants: intravenous magnesium sulfate for an eclamptic fit", Mark.FROM_MEMORY
    ),
)
ECLAMPSIA_CALLS: Final = our_choice(
    "a seizure in or after pregnancy without epilepsy on record is an emergency, over or not"
)
SECOND_LINE: Final = Clause(
    text="a second-line medicine now by the local protocol, with whoever secures the airway",
    source=publication("nice-ng217").at(
        "convulsive status: levetiracetam, phenytoin or valproate after two doses of a benzodiazepine",
        Mark.FROM_MEMORY,
    ),
)
BENZODIAZEPINES: Final = frozenset({MedicineClass.BENZODIAZEPINE.value})
DOSES_BEFORE_SECOND_LINE: Final = 2
#: A dose of the half hour before it was written down was given for it.
GIVEN_FROM: Final = Window(
    length=timedelta(minutes=30), source=our_choice("a seizure may be written down after its first dose")
)
IN_THE_LAST_DAYS: Final = Clause(
    text="what the plan for the last days holds for a seizure, by a route that needs no swallowing",
    source=publication("nice-ng31").at("anticipatory prescribing in the last days of life", Mark.FROM_MEMORY),
)
