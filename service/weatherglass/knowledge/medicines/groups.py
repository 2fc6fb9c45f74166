"""Groups of medicines that rows name together: by class, by name, and what takes a line out again.

Data stands in `groups.toml`; a row of a table may also name a class or a medicine directly.
A name is compared with whole words of the line as well as with its recognised ingredients, so
that a medicine is met although nobody here has given it a class.
"""

from collections.abc import Callable, Iterable, Mapping
from functools import reduce
from typing import Annotated, Final, Generic, TypeVar

from weatherglass.knowledge.data_files import Columns, TableError, toml_rows
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.once import cached_property
from weatherglass.model.plain import Plain
from weatherglass.model.sources import our_choice

SOURCE: Final = our_choice("which medicines of its publication a row means, by class or by name")
_NONE: Final[frozenset[str]] = frozenset()
_Limit = TypeVar("_Limit")


class _Row(Columns, frozen=True):
    said: str
    classes: tuple[MedicineClass, ...] = ()
    names: tuple[str, ...] = ()
    anywhere: tuple[str, ...] = ()
    forms: tuple[str, ...] = ()
    but_not: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()


class Members(Plain, frozen=True, kw_only=True):
    """Which lines of a chart are meant; its columns are explained in `groups.toml`."""

    classes: frozenset[str] = _NONE
    names: frozenset[str] = _NONE
    anywhere: frozenset[str] = _NONE
    forms: frozenset[str] = _NONE
    but_not: frozenset[str] = _NONE
    needs: frozenset[str] = _NONE

    def __or__(self, other: "Members") -> "Members":
        """Return what either means; what one takes out, it takes out of both.

        Raises:
            TableError: If only one of them asks for a form, which the other would lose or be given.
        """
        if self != Members() and self.needs != other.needs:
            raise TableError("a group that needs a form stands alone in its row.")
        return Members(
            needs=other.needs,
            classes=self.classes | other.classes,
            names=self.names | other.names,
            anywhere=self.anywhere | other.anywhere,
            forms=self.forms | other.forms,
            but_not=self.but_not | other.but_not,
        )

    def may_mean(self, classes: frozenset[str], words: frozenset[str]) -> bool:
        """Tell whether any line of a chart could be meant, by all its classes and words together."""
        return not (
            self.classes.isdisjoint(classes)
            and self.names.isdisjoint(words)
            and self.anywhere.isdisjoint(words)
            and self.forms.isdisjoint(words)
        )


class ByMember(Generic[_Limit]):
    """Rows of a table by the classes and words that they mean: no line asks all of a long table."""

    def __init__(self, rows: Iterable[_Limit], who: Callable[[_Limit], Members]) -> None:
        """Lay the rows out; `who` says whom a row means."""
        self._rows = tuple(rows)
        self._of_class: dict[str, list[int]] = {}
        self._of_word: dict[str, list[int]] = {}
        for place, row in enumerate(self._rows):
            members = who(row)
            for key in members.classes:
                self._of_class.setdefault(key, []).append(place)
            for word in members.names | members.anywhere | members.forms:
                self._of_word.setdefault(word, []).append(place)

    def that_may_mean(self, classes: frozenset[str], words: frozenset[str]) -> list[_Limit]:
        """Return the rows that could mean a line with these classes and words, in the order of the table."""
        meant = [self._of_class[key] for key in self._of_class.keys() & classes]
        meant += [self._of_word[word] for word in self._of_word.keys() & words]
        return [self._rows[place] for place in sorted(set().union(*meant))] if meant else []


def _members(row: _Row) -> Members:
    return Members(
        classes=frozenset(key.value for key in row.classes),
        names=frozenset(row.names),
        anywhere=frozenset(row.anywhere),
        forms=frozenset(row.forms),
        but_not=frozenset(row.but_not),
        needs=frozenset(row.needs),
    )


GROUPS: Final[Mapping[str, Members]] = {
    key: _members(row) for key, row in toml_rows("medicines/groups.toml", _Row).items()
}
_CLASS_KEYS: Final = frozenset(key.value for key in MedicineClass)
if _twice := _CLASS_KEYS & GROUPS.keys():
    raise TableError(f"groups.toml: {sorted(_twice)} are classes too.")


def members_of(tokens: Iterable[str]) -> Members:
    """Return whom a row means: each token is a group, a class or a name; "(name)" counts by any route.

    Examples:
        >>> members_of(["trimethoprim"]).classes
        frozenset({'trimethoprim'})
        >>> members_of(["nsaid", "simvastatin"]).names
        frozenset({'simvastatin'})
    """
    return reduce(lambda one, other: one | other, map(_of_token, tokens), Members())


def _of_token(token: str) -> Members:
    if token in GROUPS:
        return GROUPS[token]
    if token in _CLASS_KEYS:
        return Members(classes=frozenset({token}))
    if token.startswith("(") and token.endswith(")"):
        return Members(anywhere=frozenset({token[1:-1]}))
    return Members(names=frozenset({token}))


#: Whom a row means, by the tokens that it has.
Who = Annotated[Members, members_of]


class OfMedicines(Columns, frozen=True, kw_only=True, dict=True):
    """A row of a table that speaks of the medicines it names.

    Attributes:
        who: Groups, classes and names.
    """

    who: tuple[str, ...]

    @cached_property
    def members(self) -> Members:
        """Which lines of a chart are meant."""
        return members_of(self.who)

    @property
    def medicine(self) -> str:
        """The medicines in words."""
        return " or ".join(self.who)
