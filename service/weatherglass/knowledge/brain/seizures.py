"""What a seizure asks for, by whose it is.

Data only; when one counts stands with the single signs.
"""

from typing import Final

from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.printed_rows import PrintedRows

PUBLIC_KEY: Final = "seizures"
_ROWS: Final = PrintedRows("brain/seizures-rows", globals())

ECLAMPSIA_UNKNOWN: Final = _ROWS.clause("eclampsia-that-nobody-knows-of")
MAGNESIUM: Final = frozenset({MedicineClass.MAGNESIUM.value})
BENZODIAZEPINES: Final = frozenset({MedicineClass.BENZODIAZEPINE.value})
#: What ends a seizure or keeps the next one away.
STOPS_FITS: Final = BENZODIAZEPINES | {
    one.value
    for one in (
        MedicineClass.ANTIEPILEPTIC,
        MedicineClass.LEVETIRACETAM,
        MedicineClass.PHENYTOIN,
        MedicineClass.BARBITURATE,
    )
}
DOSES_BEFORE_SECOND_LINE: Final = 2
