"""The input of an operation: a bare Bundle, Parameters around one, or NDJSON."""

from dataclasses import dataclass
from datetime import datetime

import msgspec

from weatherglass.fhir import r4
from weatherglass.fhir.issues import Issue, IssueKey, Severity, UnreadableError
from weatherglass.fhir.json_faults import place_of_fault
from weatherglass.fhir.times import Precision, read_when

_DETAILS = ("brief", "full")


@dataclass(frozen=True, slots=True, kw_only=True)
class OperationInput:
    """What an operation was called with."""

    record: bytes = b""
    lines: list[bytes] | None = None
    as_of: datetime | None = None
    detail: str = "full"
    criteria: tuple[str, ...] = ()


def read_input(body: bytes, content_type: str) -> OperationInput:
    """Unpack the body of an operation.

    Raises:
        UnreadableError: A parameter is wrong or missing, or the Parameters cannot be read.
    """
    if "ndjson" in content_type.lower():
        return OperationInput(lines=body.splitlines())
    if not body.strip():
        raise UnreadableError(
            Issue(Severity.FATAL, IssueKey.EMPTY, "", "The body is empty; send a Bundle or Parameters.")
        )
    head = body.lstrip()[:200]
    if b'"Parameters"' not in head and b'"parameter"' not in head:
        return OperationInput(record=body)
    try:
        parameters = r4.decode(body, r4.Parameters)
    except msgspec.ValidationError as fault:
        raise _bad("Parameters", f"Not readable as Parameters: {fault}".replace("`", "'")) from None
    except (msgspec.DecodeError, RecursionError):
        where, what = place_of_fault(body)
        raise UnreadableError(
            Issue(Severity.FATAL, IssueKey.NOT_JSON, where, f"Not valid JSON: {what}.")
        ) from None
    if parameters.resourceType != "Parameters":
        return OperationInput(record=body)
    return _from_parameters(parameters)


def _from_parameters(parameters: r4.Parameters) -> OperationInput:
    record = b""
    as_of: datetime | None = None
    detail = "full"
    criteria: list[str] = []
    for index, parameter in enumerate(parameters.parameter):
        path = f"Parameters.parameter[{index}]"
        if parameter.name == "record":
            if record:
                raise _bad(path, "The parameter 'record' stands twice; send one Bundle.")
            record = bytes(parameter.resource)
        elif parameter.name == "asOf":
            as_of = _moment(parameter.valueDateTime or parameter.valueInstant, path)
        elif parameter.name == "detail":
            detail = parameter.valueCode or parameter.valueString or ""
            if detail not in _DETAILS:
                raise _bad(f"{path}.valueCode", "'detail' is 'brief' or 'full'.")
        elif parameter.name == "criteria":
            criteria.append(parameter.valueCode or parameter.valueString or parameter.valueUri or "")
        else:
            raise _bad(f"{path}.name", "Not a parameter of this operation: record, asOf, criteria, detail.")
    if not record:
        raise _bad("Parameters.parameter", "The parameter 'record' with a Bundle is missing.")
    return OperationInput(record=record, as_of=as_of, detail=detail, criteria=tuple(criteria))


def _moment(text: str | None, path: str) -> datetime:
    when = read_when(text) if text else None
    if when is None or when.precision is not Precision.INSTANT:
        raise _bad(f"{path}.valueDateTime", "'asOf' is a full dateTime with seconds and offset.")
    return when.at


def _bad(path: str, text: str) -> UnreadableError:
    return UnreadableError(Issue(Severity.ERROR, IssueKey.BAD_PARAMETER, path, text))
