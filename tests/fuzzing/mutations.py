"""Bundles of the demo ward, broken in the ways in which senders and lines break them.

Seeded: a case is known by its number and can be made again.
"""

import json
import random
from collections.abc import Callable
from copy import deepcopy
from pathlib import Path
from typing import Any

_BUNDLES = Path(__file__).parents[2] / "fixtures" / "bundles"
_MOST_ENTRIES = 60
#: What stands where something else should.
_STRANGE: tuple[Any, ...] = (
    None, True, False, 0, -1, 1, 10**30, -(10**30), 1e308, 5e-324, 0.1, "", " ", "\u0000", "\ud800", "NaN",
    "0", "1e5", "٣", "é" * 50, "x" * 5000, "2026-02-30T25:61:61Z", "0001-01-01", "9999-12-31T23:59:59+14:00",
    "2026-03-12", "2026-03", "-2026", "/min", "mmHg", "mg/dL", "%", "{score}", "Patient/", "#", "urn:uuid:",
    "../x", "http://loinc.org",
    "<script>alert(1)</script>", "'; DROP TABLE", [], {}, [[]], [None], {"a": {"a": {}}},
    {"reference": "Patient/nobody"}, {"value": 1}, {"coding": []}, {"coding": [{}]},
)  # fmt: skip
_RAW = (
    b"NaN",
    b"Infinity",
    b"-0",
    b"1e999999",
    b"9" * 400,
    b"0x10",
    b"01",
    b"\xff\xfe",
    b"\x00",
    b"[" * 3000,
)

Json = Any


def records() -> list[bytes]:
    """Return the ward's Bundles."""
    return [path.read_bytes() for path in sorted(_BUNDLES.glob("*.json"))]


def case(number: int, bodies: list[bytes]) -> bytes:
    """Return one broken body.

    Args:
        number: The number of the case.
        bodies: What is broken.
    """
    draw = random.Random(number)
    bundle = json.loads(draw.choice(bodies))
    entries = bundle["entry"]
    draw.shuffle(entries)
    persons = [e for e in entries if e["resource"]["resourceType"] == "Patient"]
    bundle["entry"] = persons + [e for e in entries if e not in persons][: draw.randint(1, _MOST_ENTRIES)]
    for _ in range(draw.choice((0, 1, 1, 2, 3, 5, 10, 30))):
        draw.choice(_CHANGES)(draw, bundle)
    body = json.dumps(bundle, ensure_ascii=draw.random() < 0.5).encode("utf-8", "surrogatepass")
    if draw.random() < 0.35:
        for _ in range(draw.choice((1, 1, 2, 5))):
            body = draw.choice(_RAW_CHANGES)(draw, body)
    return body


def _places(value: Json) -> list[tuple[Any, Any]]:
    """Return every place in a value: its container and its key or index."""
    found: list[tuple[Any, Any]] = []
    waiting = [value]
    while waiting:
        here = waiting.pop()
        keys: Any = here.keys() if isinstance(here, dict) else range(len(here))
        for key in keys:
            found.append((here, key))
            if isinstance(here[key], dict | list):
                waiting.append(here[key])
    return found


def _somewhere(draw: random.Random, bundle: Json) -> tuple[Any, Any] | None:
    entry = draw.choice(bundle["entry"]) if bundle.get("entry") else bundle
    places = _places(entry) if isinstance(entry, dict | list) else []
    return draw.choice(places) if places else None


def _replace(draw: random.Random, bundle: Json) -> None:
    if (place := _somewhere(draw, bundle)) is not None:
        # A copy: what one case does to it must reach no other place and no later case.
        place[0][place[1]] = deepcopy(draw.choice(_STRANGE))


def _delete(draw: random.Random, bundle: Json) -> None:
    if (place := _somewhere(draw, bundle)) is not None:
        del place[0][place[1]]


def _swap(draw: random.Random, bundle: Json) -> None:
    one, other = _somewhere(draw, bundle), _somewhere(draw, bundle)
    if one is not None and other is not None:
        held = json.dumps(one[0][one[1]]), json.dumps(other[0][other[1]])
        one[0][one[1]], other[0][other[1]] = json.loads(held[1]), json.loads(held[0])


def _number(draw: random.Random, bundle: Json) -> None:
    """Change a number by factors that units and slips of the pen are known for."""
    places = [p for e in bundle["entry"] for p in _places(e) if isinstance(p[0][p[1]], int | float)]
    if places:
        here, key = draw.choice(places)
        here[key] = draw.choice(
            (here[key] * 10, here[key] / 10, -here[key], here[key] * 88.42, 0, here[key] + 1)
        )


def _repeat(draw: random.Random, bundle: Json) -> None:
    if bundle["entry"]:
        chosen = draw.choice(bundle["entry"])
        bundle["entry"] += [deepcopy(chosen) for _ in range(draw.choice((1, 2, 20)))]


def _rename(draw: random.Random, bundle: Json) -> None:
    place = _somewhere(draw, bundle)
    if place is not None and isinstance(place[0], dict):
        place[0][draw.choice(("value", "Value", "valueString", "resourceType", "id", "_x"))] = place[0].pop(
            place[1]
        )


def _point_elsewhere(draw: random.Random, bundle: Json) -> None:
    places = [p for e in bundle["entry"] for p in _places(e) if p[1] == "reference"]
    if places:
        here, key = draw.choice(places)
        # A copy here too: what stands under "reference" may by now hold this very place.
        here[key] = deepcopy(draw.choice([*(p[0][p[1]] for p in places), "Patient/other", "", 5]))


def _retype(draw: random.Random, bundle: Json) -> None:
    bundle["type"] = draw.choice(("searchset", "transaction", "batch", "history", "document", "", None, 5))


_CHANGES: tuple[Callable[[random.Random, Json], None], ...] = (
    _replace, _replace, _replace, _delete, _delete, _swap, _number, _number, _repeat, _rename,
    _point_elsewhere, _retype,
)  # fmt: skip


def _cut(draw: random.Random, body: bytes) -> bytes:
    return body[: draw.randint(0, len(body))]


def _flip(draw: random.Random, body: bytes) -> bytes:
    changed = bytearray(body)
    for _ in range(draw.randint(1, 8)):
        if changed:
            changed[draw.randrange(len(changed))] = draw.randrange(256)
    return bytes(changed)


def _insert(draw: random.Random, body: bytes) -> bytes:
    at = draw.randint(0, len(body))
    return body[:at] + draw.choice(_RAW) + body[at:]


def _take_out(draw: random.Random, body: bytes) -> bytes:
    at = draw.randint(0, len(body))
    return body[:at] + body[at + draw.randint(1, 200) :]


def _spoil_number(draw: random.Random, body: bytes) -> bytes:
    at = body.find(b'"value": ', draw.randint(0, len(body)))
    return body if at < 0 else body[: at + 9] + draw.choice(_RAW) + body[at + 10 :]


_RAW_CHANGES: tuple[Callable[[random.Random, bytes], bytes], ...] = (
    _cut,
    _flip,
    _flip,
    _insert,
    _take_out,
    _spoil_number,
)
