"""Classes of medicine as allergies are recorded, and which others may cause a reaction too.

The rows stand in `allergy_classes.toml` and `allergy_relatives.toml`. A recorded allergy names a
medicine ("Amoxicillin"), a product ("Septrin") or a class ("Penicillin", "NSAIDs"); a class is met by
every medicine of it. A relative is a medicine of another kind in which a cross-reaction is possible: a
question, not a refusal.

Members are international names, other spellings and a few trade names, in lower case and
compared as whole words; `beginnings` and `endings` take in what the lists leave out.

Left out, with reasons:
    Furosemide, thiazides, celecoxib, acetazolamide and trimethoprim are no relatives of a
    sulfonamide antibacterial. Povidone-iodine and shellfish say nothing about contrast.
    Egg, soya, peanut, lactose and latex: the label decides, no class does.
"""

from collections.abc import Mapping
from typing import Final

from weatherglass.knowledge.data_files import (
    Columns,
    TableError,
    publication,
    toml_members,
    toml_rows,
    toml_table,
)
from weatherglass.model.sources import Mark, Source, our_choice

PUBLIC_KEY: Final = "allergy-classes"

_DRUG_ALLERGY: Final = publication("nice-cg183")


class AllergyClass(Columns, frozen=True, kw_only=True):
    """One class in which a recorded allergy to one member, or to the class, counts for all.

    Its columns are explained in `allergy_classes.toml`.
    """

    key: str
    source: Source
    label: str
    members: frozenset[str] = frozenset()
    beginnings: tuple[str, ...] = ()
    endings: tuple[str, ...] = ()
    but_not: frozenset[str] = frozenset()
    words: frozenset[str] = frozenset()
    codes: frozenset[str] = frozenset()
    atc: tuple[str, ...] = ()
    by_member: bool = True
    asks: bool = False
    expected: frozenset[str] = frozenset()

    def holds(self, names: frozenset[str]) -> bool:
        """Tell whether any of these names is a member.

        Examples:
            >>> CLASSES["penicillin"].holds(frozenset({"flucloxacillin"}))
            True
            >>> CLASSES["cephalosporin"].holds(frozenset({"cephalosporin"}))
            False
        """
        if not self.members.isdisjoint(names):
            return True
        if not (self.beginnings or self.endings):
            return False
        return any(
            (self.beginnings and name.startswith(self.beginnings))
            or (self.endings and name.endswith(self.endings))
            for name in names - self.but_not - self.words
        )


class Relative(Columns, frozen=True, kw_only=True):
    """Medicines of another kind that may cause a reaction too.

    Its columns are explained in `allergy_relatives.toml`.
    """

    source: Source
    of: frozenset[str]
    said: str
    classes: frozenset[str] = frozenset()
    members: frozenset[str] = frozenset()
    after_severe: bool = False


def _relative(_: str, row: Relative) -> Relative:
    unknown = (row.of | row.classes) - CLASSES.keys()
    if unknown:
        raise TableError(f"{', '.join(sorted(unknown))}: no class of allergy_classes.toml.")
    return row


CLASSES: Final[Mapping[str, AllergyClass]] = {
    row.key: row for row in toml_members("medicines/allergy_classes.toml", AllergyClass)
}
RELATIVES: Final = toml_table("medicines/allergy_relatives.toml", Relative, _relative)


class _Written(Columns, frozen=True):
    words: tuple[str, ...]


_REACTIONS: Final = toml_rows("medicines/reaction-words.toml", _Written)
#: Reactions that make an allergy severe, and those of days; each is the start of a word.
SEVERE: Final = _REACTIONS["severe"].words
SEVERE_DELAYED: Final = _REACTIONS["severe-delayed"].words
#: What a medicine does to many people and is no allergy.
SIDE_EFFECTS: Final = frozenset(_REACTIONS["side-effects"].words)
SEVERE_SOURCE: Final = _DRUG_ALLERGY.at(
    "signs of anaphylaxis and of severe delayed reactions", Mark.SECONDARY
)
URGENCY_SOURCE: Final = our_choice(
    "urgent after a severe reaction or at high risk, prompt otherwise and for cross-reactions"
)
