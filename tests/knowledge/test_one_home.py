"""A number of the drug chart that other criteria hold as well has one home, from which both read it.

Two homes have been changed apart before: a site's own potassium reached results and not the chart.
"""

import pkgutil
from collections.abc import Iterator
from importlib import import_module
from types import ModuleType

from weatherglass import knowledge
from weatherglass.model.quantities import Quantity
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.tables.critical_band import CriticalBand

#: The same number of something else, with what it is of in each place.
COINCIDENCES = {
    ("mmol/L", "5", ">"): "potassium above which no blocker is started, and digoxin poisoning",
    ("/min", "50", "<"): "pulse with a low pressure, and pulse in digoxin poisoning",
    ("/min", "8", "<="): "NEWS2 chart 1, and a sign that raises the risk of sepsis",
    (
        "{score}",
        "12",
        "<=",
    ): "coma scale of reduced consciousness, and the one that asks for a CT of the head",
}


def _modules(package: ModuleType) -> Iterator[ModuleType]:
    for found in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
        if not found.ispkg:
            yield import_module(found.name)


def _cutoffs(module: ModuleType) -> Iterator[Cutoff]:
    for name, value in vars(module).items():
        if not name.isupper():
            continue
        for one in value if isinstance(value, tuple) else (value,):
            cutoff = one.cutoff if isinstance(one, CriticalBand) else one
            if isinstance(cutoff, Cutoff):
                yield cutoff


def _key(cutoff: Cutoff) -> tuple[str, str, str]:
    return cutoff.limit.unit.value, f"{cutoff.limit.value.normalize():f}", cutoff.compare.value


def _homes() -> dict[tuple[str, str, str], dict[int, tuple[str, Quantity]]]:
    """Return every number with the quantities that hold it: one object is one home."""
    homes: dict[tuple[str, str, str], dict[int, tuple[str, Quantity]]] = {}
    # What a rule shares is named after the module that it takes it from.
    for module in sorted(_modules(knowledge), key=lambda one: ".medicines.rules." in one.__name__):
        for cutoff in _cutoffs(module):
            held = homes.setdefault(_key(cutoff), {})
            held.setdefault(id(cutoff.limit), (module.__name__, cutoff.limit))
    return homes


def test_no_number_of_the_drug_chart_has_a_second_home() -> None:
    """The same number, unit and comparison in a rule of the chart and elsewhere is one object."""
    twice = {
        key: sorted(name for name, _ in held.values())
        for key, held in _homes().items()
        if len(held) > 1 and any(".medicines.rules." in name for name, _ in held.values())
    }
    assert {key: names for key, names in twice.items() if key not in COINCIDENCES} == {}


def test_the_check_sees_a_second_home() -> None:
    """The tables are gone through: pressure and carbon dioxide are read from one place each."""
    homes = _homes()
    assert len(homes[("mm[Hg]", "90", "<=")]) == 1
    assert len(homes[("[pH]", "7.35", "<")]) == 1
