"""Everything that the service publishes about itself, by address; and the same as files.

`python -m weatherglass.api.publishing.published FOLDER` writes the files, `make openapi` calls it,
and a test fails when the files and the code say different things.
"""

import sys
from functools import lru_cache
from pathlib import Path
from typing import Any

import msgspec

from weatherglass.api.publishing.capability import (
    OPERATIONS,
    capability_statement,
    extension_definitions,
    operation_definition,
)
from weatherglass.api.publishing.terminology import SYSTEMS, code_system, value_set
from weatherglass.api.settings import Settings
from weatherglass.fhir.writing.bundle import encode
from weatherglass.fhir.writing.frame.terms import Json


@lru_cache(maxsize=4)
def published(code_base: str, base_url: str) -> dict[str, dict[str, Json]]:
    """Return every resource that is read at an address of its own, by type and id."""
    resources = [
        *(operation_definition(each, base_url) for each in OPERATIONS),
        *(code_system(each, code_base, base_url) for each in SYSTEMS),
        *(value_set(each, code_base, base_url) for each in SYSTEMS),
        *extension_definitions(),
    ]
    found: dict[str, dict[str, Json]] = {}
    for resource in resources:
        found.setdefault(resource["resourceType"], {})[resource["id"]] = resource
    return found


def files(settings: Settings) -> dict[str, bytes]:
    """Return the files of the published interface, by name."""
    from weatherglass.api.app import create_app

    resources: dict[str, Any] = {
        f"{kind}-{name}.json": resource
        for kind, named in published(settings.code_base, settings.base_url).items()
        for name, resource in named.items()
    }
    resources["CapabilityStatement.json"] = capability_statement(settings.base_url)
    resources["openapi.json"] = create_app(settings).openapi()
    return {
        name: msgspec.json.format(encode(resource), indent=2) + b"\n" for name, resource in resources.items()
    }


def main(folder: str) -> None:
    """Write the files, and remove those that are no longer published."""
    target = Path(folder)
    target.mkdir(exist_ok=True)
    wanted = files(Settings(_env_file=None))
    for old in target.glob("*.json"):
        if old.name not in wanted:
            old.unlink()
    for name, content in wanted.items():
        (target / name).write_bytes(content)


if __name__ == "__main__":
    main(sys.argv[1])
