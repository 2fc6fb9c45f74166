"""Faults that a fast decoder does not report: where the JSON broke, and repeated keys.

Everything here runs only when something is wrong or suspicious, so it may be slow.
"""

import json
import re
from collections.abc import Sequence
from typing import Any

import msgspec
from msgspec import Raw

from weatherglass.budget import watched
from weatherglass.model.words.lists import small

#: How FHIR spells the name of an element. Another key may be anything, and is not repeated.
ELEMENT = re.compile(r"_?[a-z][A-Za-z0-9]{0,47}")
#: A string that is never closed is one token up to the end: looked at again from every quote in
#: it, a body of some kilobytes would take minutes.
_AT_BYTE = re.compile(r"\(byte (\d+)\)")
#: Ours: bytes of which objects are built to look at them, and bytes that are followed token by token.
MOST_BUILT, _MOST_FOLLOWED = 1024 * 1024, 4 * 1024 * 1024
_TOKEN = re.compile(r'"(?:[^"\\]++|\\.)*+"?|[{}\[\],:]|[^\s{}\[\],:"]++', re.DOTALL)


#: How bodies begin that are something else: HL7 v2 messages and batches of them, and gzip.
_OTHER_FORMATS = (
    *(
        (begins, "this is an HL7 v2 message; send FHIR JSON (application/fhir+json)")
        for begins in (b"MSH|", b"\x0bMSH|", b"FHS|", b"BHS|")
    ),
    (b"\x1f\x8b", "this is gzip; send Content-Encoding: gzip"),
)


def place_of_fault(body: bytes) -> tuple[str, str]:
    """Say where a body stops being JSON and what stands in the way.

    Returns:
        The path of the element that was being read ("Bundle.entry[3].resource.value")
        and a sentence with the byte position, without any of the content.
    """
    for begins, what in _OTHER_FORMATS:
        if body.startswith(begins):
            return "", what
    try:
        text = body.decode("utf-8")
    except UnicodeDecodeError as fault:
        return "", f"byte {fault.start} is not UTF-8"
    if text.lstrip("\ufeff \t\r\n").startswith("<"):
        return "", "this is XML; send FHIR JSON (application/fhir+json)"
    if len(body) > MOST_BUILT:
        return _place_in_large(body, text)
    try:
        json.loads(text, parse_constant=_refuse_constant)
    except _NotANumberError:
        at = re.search(r"(?<![\w\"])(-?Infinity|NaN)", text)
        position = at.start() if at else 0
        return path_at(text[:position]), f"NaN or Infinity at character {position} is not a JSON number"
    except json.JSONDecodeError as fault:
        what = small(fault.msg).removesuffix(" at")
        # Of NDJSON one line is looked at: which it is stands before this, and it would be "line 1" here.
        line = f"line {fault.lineno} " if "\n" in text.strip() else ""
        return path_at(text[: fault.pos]), f"{what} at {line}column {fault.colno}"
    except (RecursionError, ValueError):
        return "", "nested too deeply or a number with too many digits"
    return "", "not readable as UTF-8 JSON"


def _place_in_large(body: bytes, text: str) -> tuple[str, str]:
    """Say the same of a body too large to build objects of: it would be many times its size."""
    try:
        msgspec.json.decode(body, type=Raw)
    except RecursionError:
        return "", "nested too deeply"
    except msgspec.DecodeError as fault:
        found = _AT_BYTE.search(str(fault))
        position = int(found[1]) if found else len(body)
        before = body[:position].decode("utf-8", "ignore") if position <= _MOST_FOLLOWED else ""
        return path_at(before), f"it breaks at byte {position}"
    return "", f"not readable among its {len(text)} characters"


class _NotANumberError(ValueError):
    """NaN or Infinity stood where a number should."""


def _refuse_constant(_: str) -> None:
    raise _NotANumberError


def path_at(text: str) -> str:
    """Follow the structure of a beginning of JSON and name the element that it ends in."""
    stack: list[list[Any]] = []  # [is_list, key or index, expecting key]
    for token in watched(_TOKEN.finditer(text)):
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
        elif key and ELEMENT.fullmatch(key):
            path += f".{key}"
    return ("Bundle" + path) if path.startswith(".entry") else path.lstrip(".")


#: What is struck out of a resource to leave its shape: digits, hexadecimal letters and
#: the marks of numbers and times, which vary from one resource to the next.
_VARIABLE = b"0123456789abcdefABCDEF-+."
_MOST_SHAPES = 8192
#: Hashes of the shapes already looked at and found to hold every key once.
_sound_shapes: set[int] = set()


def repeated_key(text: bytes) -> str | None:
    """Return the first key that stands twice in one object of a resource, if any does.

    Decoders keep the last of two values without a word, and which one was meant is not
    certain. Feeds repeat a few shapes many thousand times, so each shape is looked at
    once and remembered by its hash; two resources of one shape hold the same keys in
    the same places, because no two FHIR elements differ only in what is struck out.
    """
    shape = hash(text.translate(None, _VARIABLE))
    if shape in _sound_shapes:
        return None
    repeated = duplicate_key(text)
    if repeated is None:
        if len(_sound_shapes) >= _MOST_SHAPES:
            _sound_shapes.clear()
        _sound_shapes.add(shape)
    return repeated


def duplicate_key(body: bytes) -> str | None:
    """Return the path-like name of the first key that stands twice in one object."""
    if len(body) > MOST_BUILT:
        return _shown(_first_repeated(body))
    found: list[str] = []

    def look(pairs: Sequence[tuple[str, Any]]) -> None:
        if len(dict(pairs)) < len(pairs):
            keys = [key for key, _ in pairs]
            found.append(next(key for place, key in enumerate(keys) if key in keys[:place]))

    try:
        json.loads(body, object_pairs_hook=look)
    except (ValueError, RecursionError):
        return None
    return _shown(found[0] if found else None)


def _shown(key: str | None) -> str | None:
    if key is None:
        return None
    return f".{key}" if ELEMENT.fullmatch(key) else ""


def _first_repeated(body: bytes) -> str | None:
    """Find a key that stands twice in one object without building any object."""
    stack: list[set[str] | None] = []
    is_key = False
    for token in watched(_TOKEN.finditer(body.decode("utf-8", "replace"))):
        mark = token.group()
        if mark in "{[":
            stack.append(set() if mark == "{" else None)
            is_key = mark == "{"
        elif mark in "}]":
            if stack:
                stack.pop()
            is_key = False
        elif mark == ",":
            is_key = bool(stack) and stack[-1] is not None
        elif is_key and stack and (seen := stack[-1]) is not None:
            key = mark[1:-1] if "\\" not in mark else _unescaped(mark)
            if key in seen:
                return key
            seen.add(key)
            is_key = False
    return None


def _unescaped(written: str) -> str:
    try:
        return str(json.loads(written))
    except ValueError:
        return written
