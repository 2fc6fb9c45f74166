"""Faults that a fast decoder does not report: where the JSON broke, and repeated keys.

Everything here runs only when something is wrong or suspicious, so it may be slow.
"""

import json
import re
from collections.abc import Sequence
from typing import Any

from msgspec import Raw

from weatherglass.fhir.r4 import Observation

_TOKEN = re.compile(r'"(?:[^"\\]|\\.)*"|[{}\[\],:]|[^\s{}\[\],:"]+', re.DOTALL)


def place_of_fault(body: bytes) -> tuple[str, str]:
    """Say where a body stops being JSON and what stands in the way.

    Returns:
        The path of the element that was being read ("Bundle.entry[3].resource.value")
        and a sentence with the byte position, without any of the content.
    """
    try:
        text = body.decode("utf-8")
    except UnicodeDecodeError as fault:
        return "", f"byte {fault.start} is not UTF-8"
    try:
        json.loads(text, parse_constant=_refuse_constant)
    except _NotANumberError:
        at = re.search(r"(?<![\w\"])(-?Infinity|NaN)", text)
        position = at.start() if at else 0
        return _path_at(text, position), f"NaN or Infinity at character {position} is not a JSON number"
    except json.JSONDecodeError as fault:
        what = fault.msg[0].lower() + fault.msg[1:]
        return _path_at(text, fault.pos), f"{what} at line {fault.lineno} column {fault.colno}"
    except (RecursionError, ValueError):
        return "", "nested too deeply or a number with too many digits"
    return "", "not readable as UTF-8 JSON"


class _NotANumberError(ValueError):
    """NaN or Infinity stood where a number should."""


def _refuse_constant(_: str) -> None:
    raise _NotANumberError


def _path_at(text: str, position: int) -> str:
    """Follow the structure up to a position and name the element it stands in."""
    stack: list[list[Any]] = []  # [is_list, key or index, expecting key]
    for token in _TOKEN.finditer(text):
        if token.start() >= position:
            break
        mark = token.group()
        if mark in "{[":
            stack.append([mark == "[", 0 if mark == "[" else "", mark == "{"])
        elif mark in "}]":
            if stack:
                stack.pop()
        elif mark == ",":
            if stack and stack[-1][0]:
                stack[-1][1] += 1
            elif stack:
                stack[-1][2] = True
        elif stack and stack[-1][2] and mark.startswith('"'):
            stack[-1][1] = mark[1:-1]
            stack[-1][2] = False
    path = ""
    for is_list, key, _ in stack:
        if is_list:
            path += f"[{key}]"
        elif key and re.fullmatch(r"[A-Za-z_]\w{0,63}", key):
            path += f".{key}"
    return ("Bundle" + path) if path.startswith(".entry") else path.lstrip(".")


#: Elements whose repetition would change what an Observation says.
_ONCE = (b'"status"', b'"effectiveDateTime"', b'"subject"')


def may_repeat_a_key(kind: str, raw: bytes | Raw, resource: Any) -> bool:
    """Tell cheaply whether a resource may hold an element twice.

    Observations are many and are looked at for the elements that carry their meaning;
    other resources are few and are always looked at in full.
    """
    if kind != "Observation":
        return True
    text = bytes(raw)
    if any(text.count(key) > 1 for key in _ONCE):
        return True
    observation: Observation = resource
    expected = 0 if observation.valueQuantity is None else 1
    for component in observation.component:
        expected += component.valueQuantity is not None
    if text.count(b'"valueQuantity"') != expected:
        return True
    ranges = 2 * len(observation.referenceRange)
    return not expected <= text.count(b'"value"') <= expected + ranges or text.count(b'"code"') < 1


def duplicate_key(body: bytes) -> str | None:
    """Return the path-like name of the first key that stands twice in one object."""
    found: list[str] = []

    def look(pairs: Sequence[tuple[str, Any]]) -> dict[str, Any]:
        seen: set[str] = set()
        for key, _ in pairs:
            if key in seen and not found:
                found.append(key)
            seen.add(key)
        return dict(pairs)

    try:
        json.loads(body, object_pairs_hook=look)
    except (ValueError, RecursionError):
        return None
    if not found:
        return None
    key = found[0]
    return f".{key}" if re.fullmatch(r"[A-Za-z_]\w{0,63}", key) else ""
