"""The files in deploy/, read once."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import yaml

ROOT = Path(__file__).parents[2]
DEPLOY = ROOT / "deploy"
Json = dict[str, Any]


def documents(folder: str) -> list[tuple[str, Json]]:
    """Return every YAML document of a folder, with the name of its file."""
    return [
        (path.name, document)
        for path in sorted((DEPLOY / folder).glob("*.yaml"))
        for document in yaml.safe_load_all(path.read_text("utf-8"))
    ]


def objects() -> list[Json]:
    """Return every Kubernetes object."""
    return [document for name, document in documents("kubernetes") if name != "kustomization.yaml"]


def of_kind(kind: str) -> list[Json]:
    """Return the Kubernetes objects of a kind."""
    return [each for each in objects() if each["kind"] == kind]


def pods() -> Iterator[tuple[str, Json]]:
    """Yield the name of each workload and its pod template."""
    for each in objects():
        name = each["metadata"]["name"]
        if each["kind"] in ("Deployment", "Job"):
            yield name, each["spec"]["template"]
        elif each["kind"] == "CronJob":
            yield name, each["spec"]["jobTemplate"]["spec"]["template"]


def containers() -> Iterator[tuple[str, Json]]:
    """Yield each container of each workload, the ones that come first included."""
    for name, template in pods():
        for each in [*template["spec"].get("initContainers", []), *template["spec"]["containers"]]:
            yield f"{name}/{each['name']}", each


def compose() -> Json:
    """Return the compose file."""
    read: Json = yaml.safe_load((DEPLOY / "compose.yaml").read_text("utf-8"))
    return read


def own_services() -> list[tuple[str, Json]]:
    """Return the services of the compose file that run our image."""
    return [
        (name, each)
        for name, each in compose()["services"].items()
        if each["image"].startswith("weatherglass")
    ]
