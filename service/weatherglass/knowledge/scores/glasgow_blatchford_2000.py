"""Glasgow-Blatchford score: bleeding from the upper gut, before anybody has looked inside.

Data only. Rows as restated; the paper itself was not read. Shown beside recorded bleeding from
the gut; it decides no urgency here.
"""

from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.sources import Mark, Source, our_choice
from weatherglass.model.tables.bands import Compare, Cutoff

KEY: Final = "glasgow-blatchford"
PUBLIC_KEY: Final = "glasgow-blatchford-2000"

PUBLICATION: Final = publication("blatchford-2000")
SOURCE: Final = PUBLICATION.at("the table of the score", Mark.SECONDARY)
UREA_OF_25: Final = our_choice("a urea of exactly 25 scores 6; restatements differ")
ONLY_SHOWN: Final = our_choice("the score is shown with its least possible value and decides no urgency")


def _at_least(number: str, unit: Unit, source: Source = SOURCE) -> Cutoff:
    return Cutoff(compare=Compare.AT_LEAST, limit=Quantity(Decimal(number), unit), source=source)


def _below(number: str, unit: Unit) -> Cutoff:
    return Cutoff(compare=Compare.BELOW, limit=Quantity(Decimal(number), unit), source=SOURCE)


_MMOL, _G, _HG, _RATE = (
    Unit.MILLIMOLE_PER_LITRE,
    Unit.GRAM_PER_LITRE,
    Unit.MILLIMETRE_OF_MERCURY,
    Unit.PER_MINUTE,
)
#: Each row from the most points down: the first that is met counts.
UREA: Final = (
    (_at_least("25", _MMOL, UREA_OF_25), 6),
    (_at_least("10", _MMOL), 4),
    (_at_least("8.0", _MMOL), 3),
    (_at_least("6.5", _MMOL), 2),
)
HAEMOGLOBIN_OF_MEN: Final = ((_below("100", _G), 6), (_below("120", _G), 3), (_below("130", _G), 1))
HAEMOGLOBIN_OF_WOMEN: Final = ((_below("100", _G), 6), (_below("120", _G), 1))
SYSTOLIC: Final = ((_below("90", _HG), 3), (_below("100", _HG), 2), (_below("110", _HG), 1))
PULSE: Final = ((_at_least("100", _RATE), 1),)
MELAENA: Final = 1
FAINTED: Final = 2
LIVER_DISEASE: Final = 2
HEART_FAILURE: Final = 2
