"""The input of an operation: a bare Bundle, Parameters around one, or NDJSON."""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from difflib import get_close_matches

import msgspec

from weatherglass.fhir.containers import Named, Parameter, Parameters
from weatherglass.fhir.decoding import UNREADABLE, decode
from weatherglass.fhir.issues import Issue, IssueKey, Severity, UnreadableError
from weatherglass.fhir.json_faults import place_of_fault
from weatherglass.fhir.reading.salvage import cut_out, take_apart
from weatherglass.fhir.resource_types import RESOURCE_TYPES
from weatherglass.fhir.shells import require_single_keys, require_single_keys_of
from weatherglass.fhir.times import read_instant
from weatherglass.fhir.writing.frame.detail import Detail
from weatherglass.review.selection import Selection, selectable

_RESOURCE_TYPE = re.compile(rb'\s*\{\s*"resourceType"\s*:\s*"([A-Za-z]{1,64})"')
_NAME = re.compile(r"[A-Za-z_][A-Za-z0-9_.\-]{0,31}")
#: What FHIR R4 `http.html`, "General parameters", lets stand in any address.
_OF_FHIR = frozenset({"_format", "_pretty"})
_OF_A_VIEW = ("patient", "asOf")
_FALSE_OR_TRUE = {"false": False, "true": True}


@dataclass(frozen=True, slots=True, kw_only=True)
class OperationInput:
    """What an operation was called with.

    Attributes:
        record: The Bundle, or NDJSON.
        as_of: The moment of the review; the newest datum when None.
        detail: How much is written.
        members: Whether sub-scores are Observations of their own.
        only: What was asked for; everything when None.
    """

    record: bytes
    as_of: datetime | None = None
    detail: Detail = Detail.FULL
    members: bool = False
    only: Selection | None = None


def read_bundle_input(body: bytes, query: Mapping[str, list[str]]) -> OperationInput:
    """Unpack a JSON body.

    Args:
        body: A Bundle, or Parameters with one in `record`.
        query: Options beside a bare Bundle: a convenience that FHIR R4 does not know.

    Raises:
        UnreadableError: A parameter is wrong or missing, or the Parameters cannot be read.
    """
    if not body.strip():
        raise UnreadableError.of(
            IssueKey.EMPTY, "The body is empty; send a Bundle or Parameters.", severity=Severity.FATAL
        )
    kind = _kind_of(body)
    if kind == "Parameters":
        return _from_parameters(_read_parameters(body))
    if kind not in ("Bundle", ""):
        raise _wrong_resource(kind)
    return read_options(body, query)


def read_options(record: bytes, query: Mapping[str, list[str]]) -> OperationInput:
    """Read the options beside a record that is the whole body.

    Raises:
        UnreadableError: An option is wrong.
    """
    given = OperationInput(record=record)
    for name, read in _OPTIONS.items():
        for value in query.get(name, ()):
            given = read(given, value, name)
    return given


def unused_options(query: Mapping[str, list[str]], body: bytes) -> list[Issue]:
    """Return what an address asks for and is not heeded: one issue a name.

    Args:
        query: What stands in the address.
        body: What it stands beside; options of Parameters are parameters.
    """
    if query.keys() <= _OF_FHIR:
        return []  # As nearly always: the body need not be looked at.
    if body.strip() and _kind_of(body) == "Parameters":
        beside = "Beside Parameters an option of the address is not used; send it as a parameter."
        return [_not_used(name, beside) for name in query if name in _OPTIONS or name not in _OF_FHIR]
    unknown = query.keys() - _OPTIONS.keys() - _OF_FHIR
    return [_not_used(name, _not_an_option(name)) for name in query if name in unknown]


def not_of_a_view(items: Sequence[tuple[str, str]]) -> list[Issue]:
    """Return what the address of a view asks for and cannot have: a moment passed over is a wrong answer.

    Args:
        items: Names and values of the address, in its order.
    """
    names = [name for name, _ in items]
    twice = "Stands twice; send it once."
    return [
        _not_used(name, twice if name in _OF_A_VIEW else _not_an_option(name, _OF_A_VIEW, "a view"))
        for name in dict.fromkeys(names)
        if name not in _OF_A_VIEW or names.count(name) > 1
    ]


def _not_used(name: str, text: str) -> Issue:
    shown = name if _NAME.fullmatch(name) else "a name of the address"
    return Issue(Severity.ERROR, IssueKey.BAD_PARAMETER, shown, text)


def _not_an_option(name: str, options: Iterable[str] = (), of: str = "this operation") -> str:
    every = tuple(options or _OPTIONS)
    folded = name.casefold().replace("_", "").replace("-", "")
    near = get_close_matches(folded, [known.casefold() for known in every], n=1)
    likely = next((known for known in every if known.casefold() in near), "")
    meant = f"; did you mean {likely}?" if likely else "."
    return f"Not an option of {of}, so not used: {', '.join(every)}{meant}"


def _kind_of(body: bytes) -> str:
    """Return the type of the body, empty when the reader has to say what is wrong with it."""
    match = _RESOURCE_TYPE.match(body)
    if match:
        return match[1].decode("ascii")
    try:
        return decode(body, Named).resourceType or "-"
    except UNREADABLE:
        return ""


def _wrong_resource(path: str) -> UnreadableError:
    shown = path if re.split(r"\W", path)[0] in RESOURCE_TYPES else ""
    return UnreadableError.of(
        IssueKey.WRONG_RESOURCE,
        "This operation takes a Bundle, bare or as the parameter 'record'; put the resource into one.",
        path=shown,
    )


# Parameters


def _read_parameters(body: bytes) -> list[Parameter]:
    try:
        parameters = list(decode(body, Parameters).parameter)
    except msgspec.ValidationError as fault:
        raise _wrong_type(fault) from None
    except msgspec.DecodeError:
        raise _not_json(body) from None
    except RecursionError:
        return _shallow_parameters(body)
    require_single_keys(body, "parameter", "Parameters", [each.resource for each in parameters])
    return parameters


def _wrong_type(fault: msgspec.ValidationError) -> UnreadableError:
    what, _, where = str(fault).partition(" - at `$")
    inside = where.rstrip("`").replace("[...]", "")
    return _bad(f"Parameters{inside}", f"{what.replace('`', chr(39))}.")


def _shallow_parameters(body: bytes) -> list[Parameter]:
    """Read Parameters around a record in which something is nested too deeply."""
    parts = take_apart(body, "parameter")
    if parts is None:
        raise _not_json(body)
    require_single_keys_of(parts.shell, parts.elements, "parameter", "Parameters")
    return [_shallow_parameter(text) for text in parts.elements]


def _shallow_parameter(text: bytes) -> Parameter:
    cut = cut_out(text, "resource")
    shell, resource = cut if cut is not None else (text, b"")
    try:
        parameter = decode(shell, Parameter)
    except msgspec.ValidationError as fault:
        raise _wrong_type(fault) from None
    except (msgspec.DecodeError, RecursionError):
        raise UnreadableError.of(
            IssueKey.TOO_DEEP,
            "Nested deeper than any FHIR resource.",
            path="Parameters",
            severity=Severity.FATAL,
        ) from None
    if resource:
        parameter.resource = msgspec.Raw(resource)
    return parameter


def _not_json(body: bytes) -> UnreadableError:
    where, what = place_of_fault(body)
    return UnreadableError.of(
        IssueKey.NOT_JSON, f"Not valid JSON: {what}.", path=where, severity=Severity.FATAL
    )


def _from_parameters(parameters: list[Parameter]) -> OperationInput:
    given = OperationInput(record=b"")
    seen: set[str] = set()
    for index, parameter in enumerate(parameters):
        path = f"Parameters.parameter[{index}]"
        name = parameter.name
        if name in seen and name != "criteria":
            raise _bad(path, "This parameter stands twice; send it once.")
        seen.add(name)
        if name == "record":
            given = replace(given, record=_record(parameter, path))
        elif name in _OPTIONS:
            given = _OPTIONS[name](given, *_value(parameter, path))
        else:
            raise _bad(f"{path}.name", f"Not a parameter of this operation: record, {', '.join(_OPTIONS)}.")
    if not given.record:
        raise _bad("Parameters.parameter", "The parameter 'record' with a Bundle is missing.")
    return given


def _record(parameter: Parameter, path: str) -> bytes:
    record = bytes(parameter.resource)
    if not record:
        raise _bad(f"{path}.resource", "The parameter 'record' holds no Bundle.")
    if _kind_of(record) not in ("Bundle", ""):
        raise _wrong_resource(f"{path}.resource")
    return record


def _value(parameter: Parameter, path: str) -> tuple[str, str]:
    """Return the one value of a parameter as text, and where it stands."""
    for name in ("valueCode", "valueDateTime", "valueInstant", "valueString", "valueUri", "valueBoolean"):
        value = getattr(parameter, name)
        if value is not None:
            return (str(value).lower() if isinstance(value, bool) else value), f"{path}.{name}"
    raise _bad(path, "The parameter has no value of the type that its definition names.")


# Options, by their names


def _with_as_of(given: OperationInput, value: str, path: str) -> OperationInput:
    # A literal plus sign in an address arrives as a space.
    moment = read_instant(value if "." in path else value.replace(" ", "+"))
    if moment is None:
        raise _bad(path, "'asOf' is a full dateTime with seconds and offset.")
    return replace(given, as_of=moment)


def _with_criteria(given: OperationInput, value: str, path: str) -> OperationInput:
    if value not in selectable():
        raise _bad(path, "No criterion of that name; the value set 'criteria' lists the names.")
    names = given.only.names if given.only is not None else frozenset()
    return replace(given, only=Selection(names | {value}))


def _with_detail(given: OperationInput, value: str, path: str) -> OperationInput:
    if value not in {each.value for each in Detail}:
        raise _bad(path, f"'detail' is one of: {', '.join(Detail)}.")
    return replace(given, detail=Detail(value))


def _with_members(given: OperationInput, value: str, path: str) -> OperationInput:
    if value not in _FALSE_OR_TRUE:
        raise _bad(path, "'members' is true or false.")
    return replace(given, members=_FALSE_OR_TRUE[value])


_OPTIONS: Mapping[str, Callable[[OperationInput, str, str], OperationInput]] = {
    "asOf": _with_as_of,
    "criteria": _with_criteria,
    "detail": _with_detail,
    "members": _with_members,
}


def _bad(path: str, text: str) -> UnreadableError:
    return UnreadableError.of(IssueKey.BAD_PARAMETER, text, path=path)
