"""Keys that stand twice around resources: in a Bundle, in Parameters, in a call of a hook.

A decoder keeps the last of two values without a word, and a gateway may have looked at the
first. Resources are looked at where they are read; here everything around them is, with
the resources cut out, so that it costs little however large they are.
"""

import re
from collections.abc import Iterable, Mapping, Sequence

import msgspec
from msgspec import Raw

from weatherglass.fhir.decoding import UNREADABLE
from weatherglass.fhir.issues import IssueKey, Severity, UnreadableError
from weatherglass.fhir.json_faults import MOST_BUILT, duplicate_key, repeated_key

#: Shorter values stay where they are: what they hold is no resource.
_WORTH_CUTTING = 200
#: A value is looked for by so much of its beginning, its type and id as a rule: of a longer piece Python lays
#: out tables first, which costs more than the search.
_BEGINNING = 80
#: What stands between two resources as a rule: both lie in objects of an address and a resource alone.
_USUAL = re.compile(rb'\}, ?\{"fullUrl": ?"[!#-\[\]-~]*+", ?"resource": ?')


class _Element(msgspec.Struct, gc=False):
    resource: Raw = Raw()


_OBJECT = msgspec.json.Decoder(dict[str, Raw])
_LIST = msgspec.json.Decoder(list[Raw])
_ELEMENT = msgspec.json.Decoder(_Element)


def require_single_keys(body: bytes, name: str, container: str, resources: Iterable[bytes | Raw]) -> None:
    """Refuse an object in which a key stands twice, around the resources of its list `name`.

    Args:
        body: The object.
        name: The list.
        container: What the object is called where it is refused.
        resources: What each element of the list holds; empty where it holds no resource.

    Raises:
        UnreadableError: One does; the issue names it.
    """
    sent = [bytes(resource) for resource in resources]
    shell = _around(body, sent)
    if len(shell) <= MOST_BUILT and duplicate_key(shell) is None:
        return  # One look at all of it; where it is not in order, or large, element by element.
    try:
        held = _OBJECT.decode(body).get(name, Raw(b"[]"))
        elements = _LIST.decode(held)
    except UNREADABLE:
        return  # Whoever reads it says what is wrong with it.
    _require_single(_without(body, [bytes(held)]), zip(elements, sent, strict=False), name, container)


def require_single_keys_of(shell: bytes, elements: Sequence[bytes], name: str, container: str) -> None:
    """Refuse the same when the list has been cut out already.

    Raises:
        UnreadableError: A key stands twice; the issue names it.
    """
    _require_single(shell, zip(elements, map(_resource_in, elements), strict=True), name, container)


def _require_single(
    shell: bytes, elements: Iterable[tuple[bytes | Raw, bytes | Raw]], name: str, container: str
) -> None:
    repeated = duplicate_key(shell)
    if repeated is not None:
        raise twice(f"{container}{repeated}")
    for position, (element, resource) in enumerate(elements):
        repeated = repeated_key(_without(bytes(element), [bytes(resource)]))
        if repeated is not None:
            raise twice(f"{container}.{name}[{position}]{repeated}")


def require_single_keys_in(text: bytes, values: Mapping[str, bytes | Raw], container: str) -> None:
    """Refuse an object in which a key stands twice, looking at all but these values of it.

    Raises:
        UnreadableError: One does; the issue names it.
    """
    repeated = duplicate_key(_without(text, [bytes(value) for value in values.values()]))
    if repeated is not None:
        raise twice(f"{container}{repeated}".lstrip("."))


def twice(path: str) -> UnreadableError:
    """Say that a key stands twice."""
    text = "An element stands twice in one object, so part of the request would be lost; send it once."
    return UnreadableError.of(IssueKey.DUPLICATE_KEY, text, path=path, severity=Severity.FATAL)


def _around(body: bytes, resources: Iterable[bytes]) -> bytes:
    """Return a body without its resources, which stand one behind the other; what is not found stays.

    Of usual objects that follow each other one is left: the others are like it.
    """
    pieces: list[bytes] = []
    kept_to = 0
    was_usual = False
    for resource in resources:
        if len(resource) < _WORTH_CUTTING:
            continue
        between = _USUAL.match(body, kept_to)
        is_usual = between is not None and body.startswith(resource, between.end())
        at = between.end() if between and is_usual else body.find(resource[:_BEGINNING], kept_to)
        if at >= 0 and (is_usual or body.startswith(resource, at)):
            if not (is_usual and was_usual):
                pieces += (body[kept_to:at], b"0")
            kept_to = at + len(resource)
            was_usual = is_usual
    return b"".join((*pieces, body[kept_to:]))


def _without(text: bytes, values: Iterable[bytes]) -> bytes:
    for value in values:
        if len(value) >= _WORTH_CUTTING:
            # By its beginning: looking for the whole of a long value costs far more than comparing it once.
            at = text.find(value[:_BEGINNING])
            end = at + len(value)
            is_here = at >= 0 and text[at:end] == value
            text = text[:at] + b"0" + text[end:] if is_here else text.replace(value, b"0", 1)
    return text


def _resource_in(text: bytes) -> bytes:
    try:
        return bytes(_ELEMENT.decode(text).resource)
    except UNREADABLE:
        return b""
