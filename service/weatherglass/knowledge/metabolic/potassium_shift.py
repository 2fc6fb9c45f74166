"""A potassium that was moved into the cells: which medicines do it, and for how long.

Data only.
"""

from datetime import timedelta
from typing import Final

from weatherglass.knowledge import publications as cited
from weatherglass.knowledge.limits.critical_results import ECG_FOR_POTASSIUM
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.record.medicines import Medicine
from weatherglass.model.sources import Mark, our_choice
from weatherglass.model.words.clauses import Window

PUBLIC_KEY: Final = "potassium-shift"

#: From here a potassium is treated by moving it; the same limit asks for an ECG.
IS_MOVED: Final = ECG_FOR_POTASSIUM
SHIFT_LASTS: Final = Window(
    length=timedelta(hours=6),
    source=cited.HYPERKALAEMIA.at(
        "potassium again 1, 2, 4, 6 and 24 hours after insulin and glucose: it climbs as they wear off",
        Mark.SECONDARY,
    ),
)
STILL_HIGH: Final = our_choice(
    "for 6 hours after insulin or a beta-agonist a potassium of 6.0 or more before it is 'urgent', and the "
    "drug chart is read by it, whatever the number since"
)
#: Insulins that act all day long are not given to move potassium.
_LONG_ACTING: Final = ("glargine", "detemir", "degludec", "isophane", "icodec")
_INSULIN: Final = MedicineClass.INSULIN.value
_BETA_AGONIST: Final = MedicineClass.BETA_AGONIST.value


def is_insulin(medicine: Medicine) -> bool:
    """Tell whether a medicine is an insulin that acts within the hour."""
    words = (medicine.text.casefold(), *medicine.ingredients)
    return _INSULIN in medicine.classes and not any(long in word for long in _LONG_ACTING for word in words)


def moves_potassium(medicine: Medicine) -> bool:
    """Tell whether a dose of a medicine lowers the potassium without taking any out of the body."""
    return is_insulin(medicine) or _BETA_AGONIST in medicine.classes
