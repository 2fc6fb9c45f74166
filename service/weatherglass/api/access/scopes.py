"""SMART scopes: whether what was granted covers what is needed.

Version 2 names letters (`system/Observation.rs`), version 1 words (`.read`). A scope that
is narrowed by a query does not cover a request for all of a type.
"""

from collections.abc import Iterable

_VERSION_1 = {"read": "rs", "write": "cud", "*": "cruds"}
_LETTERS = "cruds"


def covers(granted: str, needed: str) -> bool:
    """Tell whether one granted scope covers one that is needed.

    Examples:
        >>> covers("system/*.rs", "system/Observation.r")
        True
        >>> covers("system/Observation.read", "system/Observation.r")
        True
        >>> covers("system/Observation.rs?category=laboratory", "system/Observation.r")
        False
        >>> covers("patient/Observation.rs", "system/Observation.r")
        False
        >>> covers("weatherglass.review", "weatherglass.review")
        True
    """
    if granted == needed:
        return True
    one, other = _parse(granted), _parse(needed)
    if one is None or other is None:
        return False
    (context, kind, letters), (wanted_context, wanted_kind, wanted_letters) = one, other
    return context == wanted_context and kind in ("*", wanted_kind) and set(wanted_letters) <= set(letters)


def granted_contexts(granted: Iterable[str], needed: Iterable[str]) -> set[str]:
    """Return through which contexts ("system", "user", "patient", "") a need is covered."""
    wanted = tuple(needed)
    found: set[str] = set()
    for scope in granted:
        if any(covers(scope, need) for need in wanted):
            parsed = _parse(scope)
            found.add(parsed[0] if parsed is not None else "")
    return found


def _parse(scope: str) -> tuple[str, str, str] | None:
    context, slash, rest = scope.partition("/")
    kind, dot, actions = rest.partition(".")
    if context not in ("patient", "user", "system") or not slash or not dot or not kind:
        return None
    letters = _VERSION_1.get(actions, actions)
    if not letters or any(letter not in _LETTERS for letter in letters):
        return None
    return context, kind, letters
