"""Words of names of medicines that are no name; the lists stand in `name-words.toml`."""

from typing import Final

from weatherglass.knowledge.data_files import Columns, toml_rows


class _List(Columns, frozen=True):
    no_names: str


_LISTS: Final = {key: row.no_names for key, row in toml_rows("medicines/name-words.toml", _List).items()}
PLAIN: Final = frozenset((*_LISTS["plain"].split(), *_LISTS["plain-in-german"].split()))
#: Salts and forms that German joins to a name: "Metoprololsuccinat".
JOINED_IN_GERMAN: Final = tuple(_LISTS["joined-in-german"].split())
#: Phrases that hold the name of an ingredient without being it.
NOT_AN_INGREDIENT: Final = tuple(_LISTS["not-an-ingredient"].split("\n")[:-1])
