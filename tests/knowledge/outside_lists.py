"""Code lists that somebody else keeps, as `make outside` fetches them; none of them is shipped.

- An ATC index of about 2010, in Debian's package of the practice software GNUmed (GPL).
- RxNorm concepts with their names, in an open research library on kidney transplants (Apache-2.0).
- A dictionary of substance and trade names, in a general library that finds drug names (MIT).
"""

import bz2
import csv
import io
import pickle
import re
import zipfile
from functools import cache
from pathlib import Path
from typing import Any

import pytest

_FOLDER = Path(__file__).parents[2] / ".outside"
_RXNORM_ROW = re.compile(r"\('http://www.nlm.nih.gov/research/umls/rxnorm', '(\d+)', '([^\n]*?)'\)")


class _PlainData(pickle.Unpickler):
    """Reads lists, dictionaries, words and numbers, and refuses to build anything else."""

    def find_class(self, module: str, name: str) -> Any:
        raise pickle.UnpicklingError(f"Not plain data: {module}.{name}")


def _fetched(pattern: str) -> Path:
    found = sorted(_FOLDER.glob(pattern))
    if not found:
        pytest.skip(f"{pattern} is not there; `make outside` fetches it")
    return found[0]


@cache
def atc_names() -> dict[str, str]:
    """Names by ATC code, lower case."""
    text = _fetched("**/atc_only-utf8.csv").read_text(encoding="utf-8")
    return {row[0]: row[1].casefold() for row in csv.reader(io.StringIO(text)) if row}


@cache
def rxnorm_names() -> dict[str, frozenset[str]]:
    """Concept names by RxNorm identifier, as published, trade names included."""
    names: dict[str, set[str]] = {}
    with zipfile.ZipFile(_fetched("cumulus_library_kidney_transplant-*.whl")) as wheel:
        for member in wheel.namelist():
            if "/athena/" in member and "_rx_" in member:
                for code, name in _RXNORM_ROW.findall(wheel.read(member).decode()):
                    names.setdefault(code, set()).add(name.replace("''", "'"))
    return {code: frozenset(found) for code, found in names.items()}


@cache
def substance_names() -> dict[str, dict[str, Any]]:
    """`drug_variant_to_canonical` and its companions, as the library keeps them."""
    with zipfile.ZipFile(_fetched("drug_named_entity_recognition-*.whl")) as wheel:
        packed = wheel.read("drug_named_entity_recognition/drug_ner_dictionary.pkl.bz2")
    plain: dict[str, dict[str, Any]] = _PlainData(io.BytesIO(bz2.decompress(packed))).load()
    return plain
