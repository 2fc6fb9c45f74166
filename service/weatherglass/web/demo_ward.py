"""The invented demo ward, from the installed package or from a clone."""

from functools import cache
from pathlib import Path
from typing import NamedTuple

import msgspec

from weatherglass.model.words.lists import capital

_PACKAGED = Path(__file__).parent / "demo"
_SPELT_OUT = frozenset({"aki", "copd"})
_IN_A_CLONE = Path(__file__).parents[3] / "fixtures" / "bundles"


class DemoPatient(NamedTuple):
    """One invented patient: the name of the file and what it was made to show."""

    name: str
    shows: str


def demo_folder() -> Path | None:
    """Return the folder of the demo ward's Bundles, None when it is not there."""
    return next((folder for folder in (_PACKAGED, _IN_A_CLONE) if folder.is_dir()), None)


def demo_patients() -> tuple[DemoPatient, ...]:
    """Name every demo patient, in order."""
    folder = demo_folder()
    if folder is None:
        return ()
    names = sorted(path.stem for path in folder.glob("*.json"))
    return tuple(DemoPatient(name, _words(name)) for name in names)


def _words(name: str) -> str:
    words = name.partition("-")[2].split("-")
    said = " ".join(word.upper() if word in _SPELT_OUT else word for word in words)
    return capital(said)


def demo_bundle(name: str) -> bytes | None:
    """Return one patient's Bundle, None when there is no such patient."""
    folder = demo_folder()
    if folder is None or name not in {patient.name for patient in demo_patients()}:
        return None
    return (folder / f"{name}.json").read_bytes()


class _Bundle(msgspec.Struct):
    entry: list[msgspec.Raw]


@cache
def demo_ward_bundle() -> bytes:
    """Return the whole ward as one Bundle; what several patients share stands in it once."""
    folder = demo_folder()
    seen: dict[bytes, None] = {}
    for path in sorted(folder.glob("*.json")) if folder is not None else ():
        for entry in msgspec.json.decode(path.read_bytes(), type=_Bundle).entry:
            seen[bytes(entry)] = None
    return b'{"resourceType":"Bundle","type":"collection","entry":[' + b",".join(seen) + b"]}"
