"""Which ATC codes belong to which class of medicine: the rows of `class-codes.csv`.

A class is found by the start of an ATC code, so that an ingredient missing from our
own table still brings its class along. A fixed combination belongs to every class that
acts in it: metformin with empagliflozin is both metformin and an SGLT2 inhibitor.

The codes were compared with the ATC index as of 25 April 2026. Where the index gathers
unlike things under one heading, the unlike ones are excluded, and the row says so.

Left out, with reasons:
    Products for local use: recognised by `LOCAL_ATC_PREFIXES`, they reach no systemic rule.
    Febuxostat (M04AA03): the renal reduction of allopurinol does not apply to it.
    Sodium polystyrene and other binders: nothing to hold.
"""

from typing import Final

from weatherglass.knowledge.data_files import Columns, csv_rows, csv_table, publication
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.plain import Plain
from weatherglass.model.record.medicines import Route
from weatherglass.model.sources import Mark, Source

ATC_INDEX: Final = publication("who-atc-2026")


class ClassDefinition(Plain, frozen=True, kw_only=True):
    """One class and the ATC codes that belong to it.

    Attributes:
        label: The words a clinician reads, singular.
        atc_prefixes: Starts of ATC codes that belong to the class.
        atc_excluded: Starts of ATC codes that do not, although a prefix fits.
        source: Where the prefixes come from.

    Examples:
        >>> nsaid = CLASSES[MedicineClass.NSAID]
        >>> nsaid.covers("M01AE01"), nsaid.covers("M01AX05")  # ibuprofen, glucosamine
        (True, False)
    """

    key: MedicineClass
    label: str
    atc_prefixes: tuple[str, ...]
    atc_excluded: tuple[str, ...]
    source: Source

    def covers(self, atc: str) -> bool:
        """Tell whether an ATC code belongs to the class."""
        return atc.startswith(self.atc_prefixes) and not atc.startswith(self.atc_excluded)


def _spelled_out(codes: str) -> tuple[str, ...]:
    """Write out `A10BD:01,02` as the two codes A10BD01 and A10BD02."""
    full: list[str] = []
    for word in codes.split():
        group, _, endings = word.partition(":")
        full.extend(group + ending for ending in endings.split(","))
    return tuple(full)


class _Row(Columns, frozen=True):
    key: MedicineClass
    codes: str
    label: str = ""
    but_not: str = ""
    ours: str = ""


def _class(row: _Row) -> ClassDefinition:
    """Make one class; `ours` says what we chose beyond the headings of the index."""
    return ClassDefinition(
        key=row.key,
        label=row.label or row.key.value.replace("-", " "),
        atc_prefixes=_spelled_out(row.codes),
        atc_excluded=_spelled_out(row.but_not),
        source=ATC_INDEX.at(
            f"{row.codes}; ours: {row.ours}" if row.ours else row.codes,
            Mark.OUR_CHOICE if row.ours else Mark.CONFIRMED,
        ),
    )


_ROWS: Final = csv_table("medicines/class-codes.csv", _Row, _class)


class _Local(Columns, frozen=True):
    code: str
    route: Route


#: ATC groups of products for local use, with the route each stands for; `enteral`: acts in the gut.
LOCAL_ATC_PREFIXES: Final = tuple(
    (row.code, row.route) for row in csv_rows("medicines/local-atc.csv", _Local)
)

#: Medicines for the skin that are swallowed or injected although they stand under D.
#: Of D11AH not the ointments: tacrolimus, pimecrolimus, crisaborole.
SYSTEMIC_DESPITE_LOCAL_ATC: Final = (
    *("D01B", "D05B", "D10B"),
    *("D11AH04", "D11AH05", "D11AH07", "D11AH08", "D11AH09", "D11AH10"),
)


def _checked(rows: tuple[ClassDefinition, ...]) -> dict[MedicineClass, ClassDefinition]:
    """Refuse a class that is missing, is defined twice or has no codes."""
    table = {row.key: row for row in rows}
    if len(table) != len(rows):
        raise ValueError("A medicine class is defined twice.")
    if undefined := [key.value for key in MedicineClass if key not in table]:
        raise ValueError(f"Medicine classes without a definition: {undefined}.")
    if empty := [row.key.value for row in rows if not (row.label and all(row.atc_prefixes))]:
        raise ValueError(f"Medicine classes without ATC codes: {empty}.")
    return table


#: Every class by its key.
CLASSES: Final = _checked(_ROWS)


def _by_prefix() -> dict[str, tuple[ClassDefinition, ...]]:
    """Lay the classes out by ATC prefix, so that a code needs seven look-ups at most."""
    table: dict[str, list[ClassDefinition]] = {}
    for row in _ROWS:
        for prefix in row.atc_prefixes:
            table.setdefault(prefix, []).append(row)
    return {prefix: tuple(rows) for prefix, rows in table.items()}


_BY_PREFIX: Final = _by_prefix()
#: Characters of a whole ATC code; what stands behind them names nothing.
_WHOLE_CODE: Final = 7


def classes_of(atc: str) -> frozenset[MedicineClass]:
    """Return every class an ATC code belongs to.

    Examples:
        >>> sorted(classes_of("A10BD20"))  # metformin and empagliflozin
        [<MedicineClass.METFORMIN: 'metformin'>, <MedicineClass.SGLT2_INHIBITOR: 'sglt2-inhibitor'>]
        >>> classes_of("N02BE01")  # paracetamol
        frozenset()
    """
    return frozenset(
        row.key
        for length in range(1, min(len(atc), _WHOLE_CODE) + 1)
        for row in _BY_PREFIX.get(atc[:length], ())
        if not atc.startswith(row.atc_excluded)
    )
