"""What the service can do, as FHIR R4 says it: CapabilityStatement, operations, extensions."""

from dataclasses import dataclass

from weatherglass import __version__
from weatherglass.api.access.settings import AccessSettings
from weatherglass.api.publishing.terminology import RELEASED, computable, value_set_url
from weatherglass.fhir.writing.frame.narrative import bullets, narrative, paragraph
from weatherglass.fhir.writing.frame.outputs import OUTPUTS
from weatherglass.fhir.writing.frame.terms import EXTENSION_BASE, Json, standard


@dataclass(frozen=True, slots=True)
class Operation:
    """One operation: its code in the address, and what it is."""

    code: str
    title: str
    about: str
    returns: str


OPERATIONS = (
    Operation(
        "review-deterioration",
        "Review deterioration",
        "Reviews each patient in a Bundle: early-warning scores, stages of kidney injury, trends, critical "
        "results, and medicines to look at again. The server stores nothing, and the same input has the same "
        "answer.",
        "A Bundle of type collection: the software, each patient's results with their provenance, and one "
        "OperationOutcome with what was not used and why.",
    ),
    Operation(
        "handover-document",
        "Handover document",
        "Writes the handover of the one patient in a Bundle: situation, background, assessment, "
        "recommendation. It is a draft for a clinician to check.",
        "A Bundle of type document that holds everything that it refers to.",
    ),
)
_ON_FINDINGS = ("Observation", "DetectedIssue")
_IN_A_SUMMARY = ("Observation.component",)
#: Name, type of the value, what it says; and where it stands, when not on a finding.
_EXTENSIONS: tuple[tuple[str, str, str] | tuple[str, str, str, tuple[str, ...]], ...] = (
    ("urgency", "code", "How soon somebody should look at a finding; a code of the code system 'urgency'."),
    ("letter", "code", "Where a finding belongs in the order of assessment A to E."),
    ("state", "code", "Whether a finding is new, continuing or settling against the record's own past."),
    ("since", "dateTime", "When the present run of a finding began."),
    (
        "source",
        "string",
        "The key of a publication, told in the Provenance, the places in it, and how these were checked.",
    ),
    (
        "publication",
        "string",
        "A publication that results point into: its key, its citation and its address.",
        ("Provenance",),
    ),
    (
        "part-of-a-review",
        "boolean",
        "Not everything was looked at or written: what is not here is not withdrawn.",
        ("Observation",),
    ),
    ("measured-at", "dateTime", "When the sample of one of the newest results was taken.", _IN_A_SUMMARY),
    ("measured-in", "Reference", "The input that one of the newest results was read from.", _IN_A_SUMMARY),
    ("previous-value", "string", "The result before the newest one, with its unit.", _IN_A_SUMMARY),
    ("previous-at", "dateTime", "When the sample of that one was taken.", _IN_A_SUMMARY),
    (
        "written",
        "string",
        "A digest of what was written back and the status it had, so that writing it again changes nothing.",
        tuple(OUTPUTS),
    ),
)
_SECURITY = "http://terminology.hl7.org/CodeSystem/restful-security-service"
_OAUTH = "http://fhir-registry.smarthealthit.org/StructureDefinition/oauth-uris"
STATIC = ("CodeSystem", "OperationDefinition", "StructureDefinition", "ValueSet")


def capability_statement(base_url: str, access: AccessSettings | None = None) -> Json:
    """Write the CapabilityStatement.

    Args:
        base_url: Address that the service is reached at.
        access: Who may call; nobody has to sign in when None.
    """
    return {
        "resourceType": "CapabilityStatement",
        "id": "weatherglass",
        "text": narrative(
            paragraph("Weatherglass reviews records that are sent to it and stores nothing."),
            bullets(f"POST /fhir/${each.code}: {each.title}" for each in OPERATIONS),
        ),
        "url": f"{base_url}/fhir/metadata",
        "version": __version__,
        "name": "Weatherglass",
        "title": "Weatherglass",
        "status": "active",
        "experimental": False,
        "date": RELEASED,
        "description": "A stateless service: patient records in, early-warning findings out.",
        "kind": "instance",
        "software": {"name": "Weatherglass", "version": __version__},
        "implementation": {"description": "Weatherglass", "url": f"{base_url}/fhir"},
        "fhirVersion": "4.0.1",
        "format": ["application/fhir+json", "json"],
        "rest": [
            {
                "mode": "server",
                "documentation": "Bodies are JSON, or NDJSON for many patients (application/fhir+ndjson). "
                "Prefer: handling=strict refuses what is not valid FHIR R4; other preferences are ignored.",
                "security": _security(access),
                "resource": [_static(kind) for kind in STATIC],
                "operation": [
                    {"name": each.code, "definition": definition_url(each.code, base_url)}
                    for each in OPERATIONS
                ],
            }
        ],
    }


def _security(access: AccessSettings | None) -> Json:
    if access is None or not access.checks_tokens:
        return {
            "cors": bool(access and access.cors_origins),
            "description": "Put the service behind the site's own gateway for TLS and signing in.",
        }
    security: Json = {
        "cors": bool(access.cors_origins),
        "service": [{"coding": [standard(_SECURITY, "SMART-on-FHIR", "SMART-on-FHIR")]}],
        "description": "An access token with one of these scopes is needed: "
        f"{', '.join(access.smart_scopes)}. A token for one patient opens that patient's record only.",
    }
    addresses = [
        {"url": name, "valueUri": address}
        for name, address in (
            ("token", access.smart_token_endpoint),
            ("authorize", access.smart_authorization_endpoint),
        )
        if address is not None
    ]
    if addresses:
        security["extension"] = [{"url": _OAUTH, "extension": addresses}]
    return security


def _static(kind: str) -> Json:
    return {
        "type": kind,
        "documentation": "The service's own definitions; they come with the software and cannot be changed.",
        "interaction": [{"code": "read"}, {"code": "search-type"}],
        "versioning": "no-version",
        "searchParam": [
            {
                "name": "url",
                "definition": "http://hl7.org/fhir/SearchParameter/conformance-url",
                "type": "uri",
            }
        ],
    }


def definition_url(code: str, base_url: str) -> str:
    """Return the canonical address of an operation's definition."""
    return f"{base_url}/fhir/OperationDefinition/{code}"


def operation_definition(operation: Operation, base_url: str) -> Json:
    """Write one OperationDefinition."""
    return {
        "resourceType": "OperationDefinition",
        "id": operation.code,
        "text": narrative(paragraph(f"{operation.title}: {operation.about}"), paragraph(operation.returns)),
        "url": definition_url(operation.code, base_url),
        "version": __version__,
        "name": computable(operation.code),
        "title": operation.title,
        "status": "active",
        "kind": "operation",
        "experimental": False,
        "date": RELEASED,
        "description": operation.about,
        "affectsState": False,
        "code": operation.code,
        "comment": "The Bundle alone may be the body, since it is the only resource among the parameters. "
        "Beside it the other parameters may stand as query keys, which FHIR R4 does not provide for.",
        "system": True,
        "type": False,
        "instance": False,
        "parameter": [
            _parameter("record", 1, "1", "Bundle", "Records of one or more patients; any type of Bundle."),
            _parameter(
                "asOf", 0, "1", "dateTime", "Moment of the review; the newest datum of the record if absent."
            ),
            _bound(
                "criteria", 0, "*", "What to report; everything if absent. Named in the answer.", base_url
            ),
            _bound("detail", 0, "1", "How much is written; 'full' if absent.", base_url),
            _parameter(
                "members",
                0,
                "1",
                "boolean",
                "Sub-scores as Observations of their own (hasMember), for receivers without components.",
            ),
            {**_parameter("return", 1, "1", "Bundle", operation.returns), "use": "out"},
        ],
    }


def _parameter(name: str, fewest: int, most: str, kind: str, about: str) -> Json:
    return {
        "name": name,
        "use": "in",
        "min": fewest,
        "max": most,
        "documentation": about,
        "type": kind,
    }


def _bound(name: str, fewest: int, most: str, about: str, base_url: str) -> Json:
    binding = {"strength": "required", "valueSet": value_set_url(name, base_url)}
    return {**_parameter(name, fewest, most, "code", about), "binding": binding}


def extension_definition(name: str, kind: str, about: str, places: tuple[str, ...] = _ON_FINDINGS) -> Json:
    """Write the StructureDefinition of one of our extensions."""
    return {
        "resourceType": "StructureDefinition",
        "id": name,
        "text": narrative(paragraph(about)),
        "url": EXTENSION_BASE + name,
        "version": __version__,
        "name": f"Weatherglass{computable(name)}",
        "status": "active",
        "experimental": False,
        "date": RELEASED,
        "description": about,
        "fhirVersion": "4.0.1",
        "kind": "complex-type",
        "abstract": False,
        "context": [{"type": "element", "expression": place} for place in places],
        "type": "Extension",
        "baseDefinition": "http://hl7.org/fhir/StructureDefinition/Extension",
        "derivation": "constraint",
        "differential": {
            "element": [
                {"id": "Extension", "path": "Extension", "short": about, "definition": about},
                {"id": "Extension.extension", "path": "Extension.extension", "max": "0"},
                {"id": "Extension.url", "path": "Extension.url", "fixedUri": EXTENSION_BASE + name},
                {
                    "id": "Extension.value[x]",
                    "path": "Extension.value[x]",
                    "min": 1,
                    "type": [{"code": kind}],
                },
            ]
        },
    }


def extension_definitions() -> list[Json]:
    """Write all of them."""
    return [extension_definition(*each) for each in _EXTENSIONS]
