"""Who computed the results: the software as a Device, and one Provenance a patient."""

from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache

from weatherglass.fhir.writing.frame.context import WritingContext, extension, publication_of
from weatherglass.fhir.writing.frame.identity import uuid_of
from weatherglass.fhir.writing.frame.narrative import bullets, narrative, paragraph
from weatherglass.fhir.writing.frame.terms import (
    DATA_OPERATION,
    IDENTIFIER_SYSTEM,
    PARTICIPANT,
    Json,
    standard,
)


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
    versions += [{"type": {"text": f"rule set {name}"}, "value": value} for name, value in rules]
    return uuid, {
        "resourceType": "Device",
        "identifier": [{"system": IDENTIFIER_SYSTEM, "value": uuid}],
        "status": "active",
        "deviceName": [{"name": "Weatherglass", "type": "user-friendly-name"}],
        "type": {"text": "clinical decision support software"},
        "version": versions,
        "note": [
            {
                "text": "Decision support, not a cleared medical device: local policy and licensed "
                "clinicians decide."
            }
        ],
        # They are told apart above; here they would stand a second time.
        "text": narrative(paragraph(f"Weatherglass {software}, with {len(rules)} rule sets")),
    }


def write_provenance(
    context: WritingContext, targets: Sequence[str], inputs: Iterable[str]
) -> tuple[str, Json]:
    """Write what the results of one patient were derived from, by what, and the publications they cite.

    Results name a publication by its key and the place in it; here each is told in full, once.
    """
    # A server that holds one of this name holds every publication that its results cite.
    uuid = uuid_of("provenance", context.patient, context.as_of.isoformat(), *targets, *sorted(context.cited))
    publications = [publication_of(source) for _, source in sorted(context.cited.items())]
    resource: Json = {
        "resourceType": "Provenance",
        "target": [{"reference": target} for target in targets],
        "recorded": context.instant(context.as_of),
        "activity": {"coding": [standard(DATA_OPERATION, "CREATE", "create")]},
        "agent": [
            {
                "type": {"coding": [standard(PARTICIPANT, "assembler", "Assembler")]},
                "who": {"reference": context.device},
            }
        ],
        "text": narrative(
            paragraph(
                f"{len(targets)} results computed by software from the record as of "
                f"{context.dated(context.as_of)}."
            ),
            # Told in full above; here their names are enough.
            bullets([f"Publications cited: {', '.join(sorted(context.cited))}"] if publications else ()),
        ),
    }
    if publications:
        resource["extension"] = [extension("publication", valueString=each) for each in publications]
    entities = [{"role": "source", "what": context.reference(origin)} for origin in dict.fromkeys(inputs)]
    if entities:
        resource["entity"] = entities
    return uuid, resource
