"""The container and the compose file: judged by outside linters, then by our own rules."""

import json
import re
import subprocess
from pathlib import Path

import pytest

from tests.deploy.command_lines import accepted, settings_in
from tests.deploy.manifests import DEPLOY, ROOT, compose, own_services

CONTAINERFILE = DEPLOY / "Containerfile"
_CHECK = """
import sys, json
from compose_spec import ComposeSpecification
from compose_spec.models import Service
def strict(model):
    model.model_config["extra"] = "forbid"
    model.model_rebuild(force=True)
strict(Service)
strict(ComposeSpecification)
ComposeSpecification.model_validate(json.load(sys.stdin))
"""


def _stages() -> dict[str, str]:
    text = CONTAINERFILE.read_text("utf-8")
    found = re.split(r"^FROM \S+ AS (\S+)$", text, flags=re.MULTILINE)
    return dict(zip(found[1::2], found[2::2], strict=True))


class TestContainerfile:
    def test_a_linter_finds_nothing(self, tools: Path) -> None:
        """hadolint: its rules of style and safety, and shellcheck on every RUN."""
        done = subprocess.run(
            [tools / "hadolint", "--no-color", CONTAINERFILE], capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, done.stdout

    def test_the_linter_would_find_something(self, tools: Path) -> None:
        """A planted fault: an image without a version."""
        done = subprocess.run(
            [tools / "hadolint", "-"], input="FROM debian\n", capture_output=True, text=True, check=False
        )
        assert "DL3006" in done.stdout

    @pytest.mark.parametrize("stage", ["service", "spark"])
    def test_what_is_delivered_runs_without_root(self, stage: str) -> None:
        assert re.search(r"^USER 10001:10001$", _stages()[stage], re.MULTILINE)

    def test_everything_installed_is_pinned_by_hash(self) -> None:
        lines = CONTAINERFILE.read_text("utf-8").replace("\\\n", " ").splitlines()
        commands = [one for line in lines if not line.startswith("#") for one in line.split("&&")]
        installing = [one for one in commands if " install " in one and "apt-get" not in one]
        assert installing
        for command in installing:
            assert "--require-hashes" in command or "--no-index" in command, command

    def test_only_what_is_named_gets_into_the_build(self) -> None:
        """Records, keys and caches in a working copy never end in an image."""
        lines = (ROOT / ".containerignore").read_text("utf-8").splitlines()
        assert "*" in lines
        copied = re.findall(r"^COPY (?!--from)(.+) \S+$", CONTAINERFILE.read_text("utf-8"), re.MULTILINE)
        for name in " ".join(copied).split():
            assert f"!{name.split('/')[0]}" in lines
            assert (ROOT / name).exists()

    def test_the_base_can_be_pinned_by_digest(self) -> None:
        text = CONTAINERFILE.read_text("utf-8")
        assert re.search(r"^ARG BASE=python:\d+\.\d+\.\d+-slim", text, re.MULTILINE)
        assert set(re.findall(r"^FROM (\S+) AS", text, re.MULTILINE)) == {"${BASE}", "build"}

    def test_its_commands_are_commands_of_ours(self) -> None:
        for stage in ("service", "spark"):
            found = re.search(r"^CMD (\[.*\])$", _stages()[stage], re.MULTILINE)
            assert found is not None
            accepted(json.loads(found[1]))


class TestCompose:
    def test_it_has_the_shape_of_a_compose_file(self, tools: Path) -> None:
        """The models that the `compose-spec` package makes from the specification; unknown keys refused."""
        for content, code in ((compose(), 0), ({"services": {"a": {"imagge": "b"}}}, 1)):
            done = subprocess.run(
                [tools / "python", "-c", _CHECK],
                input=json.dumps(content),
                capture_output=True,
                text=True,
                check=False,
            )
            assert done.returncode == code, done.stderr

    def test_ours_run_locked_down(self) -> None:
        assert own_services()
        for name, each in own_services():
            assert each["read_only"] is True, name
            assert each["cap_drop"] == ["ALL"], name
            assert each["user"] == "10001:10001", name
            assert "no-new-privileges:true" in each["security_opt"], name
            assert each["mem_limit"], name

    def test_nothing_is_published_beyond_this_machine(self) -> None:
        published = [port for each in compose()["services"].values() for port in each.get("ports", [])]
        assert published
        assert [port for port in published if not port.startswith("127.0.0.1:")] == []

    def test_commands_and_settings_exist(self) -> None:
        for _, each in own_services():
            accepted(each["command"])
            settings_in(each.get("environment", {}))

    def test_it_waits_longer_than_the_service_takes_to_stop(self) -> None:
        service = compose()["services"]["weatherglass"]
        assert int(service["stop_grace_period"].removesuffix("s")) > settings_in({}).shutdown_seconds
