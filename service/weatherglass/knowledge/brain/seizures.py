"""What a seizure asks for, by whose it is.

Data only; when one counts stands with the single signs.
"""

from typing import Final

from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.printed_rows import PrintedRows

PUBLIC_KEY: Final = "seizures"
_ROWS: Final = PrintedRows("brain/seizures-rows")

GOES_ON: Final = _ROWS.clause("goes-on")
GOES_ON_GLUCOSE_KNOWN: Final = _ROWS.clause("goes-on-glucose-known")
OVER: Final = _ROWS.clause("over")
OVER_GLUCOSE_KNOWN: Final = _ROWS.clause("over-glucose-known")
ECLAMPSIA: Final = _ROWS.clause("eclampsia")
ECLAMPSIA_AFTER_BIRTH: Final = _ROWS.clause("eclampsia-after-birth")
ECLAMPSIA_UNKNOWN: Final = _ROWS.clause("eclampsia-that-nobody-knows-of")
LOW_PRESSURE: Final = _ROWS.cutoff("low-pressure")
ECLAMPSIA_AT_A_LOW_PRESSURE: Final = _ROWS.clause("eclampsia-at-a-low-pressure")
OF_A_FEVER: Final = _ROWS.clause("of-a-fever")
FEVER_FROM: Final = _ROWS.window("fever-from")
FEVER_UNTIL: Final = _ROWS.age("fever-until")
ECLAMPSIA_TREATED: Final = _ROWS.clause("eclampsia-treated")
MAGNESIUM: Final = frozenset({MedicineClass.MAGNESIUM.value})
ECLAMPSIA_UNDER_MAGNESIUM: Final = _ROWS.clause("eclampsia-under-magnesium")
ECLAMPSIA_CALLS: Final = _ROWS.source("eclampsia-calls")
SECOND_LINE: Final = _ROWS.clause("second-line")
THIRD_LINE: Final = _ROWS.clause("third-line")
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
WAKING: Final = _ROWS.clause("waking")
SEEN_WITHIN: Final = _ROWS.window("seen-within")
AWAKE_FOR: Final = _ROWS.window("awake-for")
DOSES_BEFORE_SECOND_LINE: Final = 2
GIVEN_FROM: Final = _ROWS.window("given-from")
IN_THE_LAST_DAYS: Final = _ROWS.clause("in-the-last-days")
