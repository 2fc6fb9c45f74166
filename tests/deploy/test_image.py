"""The image: built here, as the Containerfile says, and started under the limits of the compose file."""

import json
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.deploy.manifests import DEPLOY, ROOT
from tests.once import with_wheels

_IMAGE = DEPLOY / "image"
_LAYOUT = ROOT / "dist" / "image"


def _built(layout: Path) -> dict[str, Any]:
    """Return the configuration of an image of one layer."""

    def blob(digest: str) -> Any:
        return json.loads((layout / "blobs" / digest.replace(":", "/")).read_text("utf-8"))

    manifest = blob(json.loads((layout / "index.json").read_text("utf-8"))["manifests"][0]["digest"])
    found: dict[str, Any] = blob(manifest["config"]["digest"])["config"]
    return found


def _asked(word: str) -> str:
    """Return what the last stage of the Containerfile says after a word."""
    stage = (DEPLOY / "Containerfile").read_text("utf-8").rpartition("FROM ")[2]
    found = re.search(rf"^{word} (.+)$", stage, re.MULTILINE)
    assert found is not None, word
    return found[1]


def test_the_lock_names_versions_and_no_address() -> None:
    lines = (_IMAGE / "packages.lock").read_text("utf-8").splitlines()
    assert lines == sorted(lines)
    assert all(re.fullmatch(r"[a-z0-9][a-z0-9+.-]+=[0-9A-Za-z.+:~-]+ (amd64|all)", line) for line in lines)


@pytest.fixture(scope="module")
def layout(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build once, or twice as `make image` does with IMAGE_TWICE=1; not without the tools or the lock."""
    is_compared = bool(os.environ.get("IMAGE_TWICE"))
    command = [sys.executable, str(_IMAGE / "build.py"), *([] if is_compared else ["--once"])]
    packed = with_wheels(tmp_path_factory)
    done = subprocess.run(command, cwd=ROOT, env=packed, capture_output=True, text=True, check=False)
    for reason in ("Wants root", "names no Debian packages", "Not as in packages.lock"):
        if reason in done.stderr:
            pytest.skip(done.stderr[-300:].strip())
    assert done.returncode == 0, done.stderr
    assert ("gave the same digest" in done.stdout) is is_compared
    return _LAYOUT


@pytest.mark.slow
class TestImage:
    @pytest.mark.timeout(1800)
    def test_it_is_configured_as_the_containerfile_says(self, layout: Path) -> None:
        has = _built(layout)
        assert has["User"] == _asked("USER")
        assert has["WorkingDir"] == _asked("WORKDIR")
        assert list(has["ExposedPorts"]) == [f"{_asked('EXPOSE')}/tcp"]
        assert has["StopSignal"] == _asked("STOPSIGNAL")
        assert has["Entrypoint"] == json.loads(_asked("ENTRYPOINT"))
        assert has["Cmd"] == json.loads(_asked("CMD"))
        for setting in _asked("ENV").split():
            name, _, value = setting.partition("=")
            found = dict(each.split("=", 1) for each in has["Env"])[name]
            assert found.startswith(value.removesuffix(":$PATH"))

    def test_it_holds_every_locked_wheel(self, layout: Path) -> None:
        bill = json.loads((layout.parent / "image-bom.json").read_text("utf-8"))["components"]
        held = {(re.sub("[._-]+", "-", c["name"].lower()), c["version"]) for c in bill}
        locked = {
            (name, version)
            for name, version in re.findall(
                r"^([\w.-]+)==([\w.]+)", (ROOT / "locks" / "run.txt").read_text("utf-8"), re.MULTILINE
            )
        }
        # Packages of other systems are locked too and not installed here.
        assert {name for name, _ in locked - held} <= {"colorama", "tzdata"}
        assert "weatherglass" in {name for name, _ in held}
        assert "pip" not in {name for name, _ in held}

    @pytest.mark.timeout(600)
    def test_it_works_confined(self, layout: Path) -> None:
        """Not root, read-only, no capability, limits; health, review, page, hooks, SIGTERM."""
        done = subprocess.run(
            [sys.executable, _IMAGE / "start.py", layout], capture_output=True, text=True, check=False
        )
        if done.returncode == 77:
            pytest.skip(done.stdout.strip())
        assert done.returncode == 0, done.stdout + done.stderr
