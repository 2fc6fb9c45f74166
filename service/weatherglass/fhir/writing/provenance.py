"""Who computed the results: the software as a Device, and one Provenance a patient."""

from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache

from weatherglass.fhir.writing.frame.context import WritingContext, extension, publication_of
from weatherglass.fhir.writing.frame.identity import uuid_of
from weatherglass.fhir.writing.frame.terms import (
    DATA_OPERATION,
    IDENTIFIER_SYSTEM,
    PARTICIPANT,
    Json,
    standard,
)
from weatherglass.model.sources import Origin


def write_device(software: str, rules: Mapping[str, str]) -> tuple[str, Json]:
    """Write the software and its rule sets as a Device.

    Args:
        software: Version of the software.
        rules: Content hash or edition by rule set.
    """
    uuid, device = _device(software, tuple(sorted(rules.items())))
    return uuid, dict(device)  # Whoever labels it, labels a copy.


@lru_cache(maxsize=4)
def _device(software: str, rules: tuple[tuple[str, str], ...]) -> tuple[str, Json]:
    uuid = uuid_of("device", software, *(f"{name}={value}" for name, value in rules))
    versions = [{"type": {"text": "software"}, "value": software}]
    if rules:
        versions.append({"type": {"text": "rule sets"}, "value": ", ".join(map(" ".join, rules))})
    return uuid, {
        "resourceType": "Device",
        "identifier": [{"system": IDENTIFIER_SYSTEM, "value": uuid}],
        "status": "active",
        "deviceName": [{"name": "Weatherglass", "type": "user-friendly-name"}],
        "type": {"text": "clinical decision support software"},
        "version": versions,
    }


def write_provenance(
    context: WritingContext, targets: Sequence[str], inputs: Iterable[Origin]
) -> tuple[str, Json]:
    """Write by what the results of one patient were computed, and the publications they cite.

    Results name a publication by its key and the place in it; here each is told in full, once. They
    name their inputs too; here stand those that none of them can name.
    """
    # A server that holds one of this name holds every publication that its results cite.
    uuid = uuid_of("provenance", context.patient, context.as_of.isoformat(), *targets, *sorted(context.cited))
    publications = [publication_of(source) for _, source in sorted(context.cited.items())]
    resource: Json = {
        "resourceType": "Provenance",
        "target": [{"reference": target} for target in targets],
        "recorded": context.instant(context.as_of),
        "activity": {"coding": [standard(DATA_OPERATION, "CREATE")]},
        "agent": [
            {
                "type": {"coding": [standard(PARTICIPANT, "assembler")]},
                "who": {"reference": context.device},
            }
        ],
    }
    if publications:
        resource["extension"] = [extension("publication", valueString=each) for each in publications]
    entities = [
        {"role": "source", "what": context.reference(origin)}
        for origin in dict.fromkeys(inputs)
        if not context.names(origin)
    ]
    if entities:
        resource["entity"] = entities
    return uuid, resource
