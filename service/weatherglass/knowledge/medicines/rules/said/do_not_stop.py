"""What must not end suddenly, why, and which of it is never suggested for a hold.

The note is kept beside every suggestion about such a medicine. `never_hold` goes further:
whatever else is true, the review may suggest a look at the dose or a level, but no hold. The rows
stand in `do-not-stop.toml`.
"""

from typing import Final

from weatherglass.knowledge.data_files import Columns, Named, toml_members
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.rules.rule import Circumstance
from weatherglass.model.sources import Source, our_choice
from weatherglass.model.words.clauses import Clause

_C = MedicineClass


class DoNotStop(Columns, frozen=True, kw_only=True):
    """One group of medicines whose omission harms.

    Attributes:
        classes: Classes it holds for.
        harm: What sudden omission brings, in one sentence of ours.
        when: If given, it holds only when one of these does.
        unless: If one of these holds, it does not.
        never_hold: Whether a hold is never suggested (while `when` holds).
        source: Where the harm is stated.
    """

    key: str
    classes: tuple[MedicineClass, ...]
    harm: str
    source: Source
    when: tuple[Named[Circumstance], ...] = ()
    unless: tuple[Named[Circumstance], ...] = ()
    never_hold: bool = False


DO_NOT_STOP: Final = toml_members("medicines/rules/said/do-not-stop.toml", DoNotStop)
#: What serves comfort and is never suggested for a hold in recorded last days of life.
COMFORT: Final = frozenset(
    {
        _C.OPIOID,
        _C.BENZODIAZEPINE,
        _C.BARBITURATE,
        _C.ANTIPSYCHOTIC,
        _C.SEDATING_ANTIHISTAMINE,
        _C.OTHER_SEDATIVE,
        _C.GABAPENTINOID,
    }
)
#: How a look at one of them is asked for then.
SYMPTOM_REVIEW: Final = "Consider a symptom review by the palliative team before any change of {0}"
IN_LAST_DAYS: Final = Clause(
    text="Care at the end of life is recorded: comfort decides, and what does not serve it may be let go.",
    source=our_choice("in recorded last days of life no hold is suggested and nothing is above prompt"),
)
