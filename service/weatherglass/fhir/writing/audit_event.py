"""One request as an AuditEvent: who asked for which operation, when, and how it ended.

It names no patient. The record's own system audits whose data it handed out; the
request id joins the two.
"""

from datetime import datetime

from weatherglass.fhir.writing.frame.terms import Json

_HL7 = "http://terminology.hl7.org/CodeSystem/"
#: R4 value set audit-event-outcome, by the hundreds of the HTTP status.
_OUTCOME = {2: "0", 3: "0", 4: "4", 5: "8"}


def write_audit_event(
    *,
    recorded: datetime,
    route: str,
    status: int,
    client: str,
    request_id: str,
    patients: int,
    software: str,
) -> Json:
    """Write one request.

    Args:
        recorded: When it was answered.
        route: Template of the address, never the address itself.
        status: HTTP status of the answer.
        client: Who asked, as the token says; empty when nobody signed in.
        request_id: The id that stands in the answer and in the log.
        patients: How many patients were reviewed.
        software: Version of this software.
    """
    who = {"identifier": {"value": client}} if client else {"display": "not signed in"}
    return {
        "resourceType": "AuditEvent",
        "type": {"system": f"{_HL7}audit-event-type", "code": "rest", "display": "RESTful Operation"},
        "subtype": [
            {
                "system": "http://hl7.org/fhir/restful-interaction",
                "code": "operation",
                "display": "operation",
            }
        ],
        "action": "E",
        "recorded": recorded.isoformat(timespec="milliseconds"),
        "outcome": _OUTCOME.get(status // 100, "8"),
        "agent": [{"who": who, "requestor": True}],
        "source": {
            "observer": {"display": f"Weatherglass {software}"},
            "type": [
                {
                    "system": f"{_HL7}security-source-type",
                    "code": "4",
                    "display": "Application Server",
                }
            ],
        },
        "entity": [
            {
                "type": {"system": f"{_HL7}audit-entity-type", "code": "2", "display": "System Object"},
                "name": route,
                "detail": [
                    {"type": "request-id", "valueString": request_id},
                    {"type": "http-status", "valueString": str(status)},
                    {"type": "patients-reviewed", "valueString": str(patients)},
                ],
            }
        ],
    }
