"""Each command that deploy/ runs every night, run for three nights; the second one is killed."""

import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from tests.batch.exports import files_of, pulse, run_batch, write_lines
from tests.deploy.manifests import containers, of_kind, own_services
from weatherglass.batch.output.work_folder import NAME

_NIGHTLY = [
    pytest.param(command, id=name)
    for name, command in [
        *((f"compose/{name}", each["command"]) for name, each in own_services()),
        *((name, each["args"]) for name, each in containers()),
    ]
    if command[0] == "batch"
]


def _here(command: list[str], folder: Path) -> list[str]:
    """The same command with its places in a folder of this machine, and without a cluster."""
    policy = next(m for m in of_kind("ConfigMap") if m["metadata"]["name"] == "weatherglass-policy")["data"]
    (folder / "policy.toml").write_text(policy["policy.toml"], "utf-8")
    given, out, *options = command[1:]
    assert (given.strip("/").rpartition("/")[2], out.strip("/").rpartition("/")[2]) == ("export", "out")
    kept = [
        option.replace("/etc/weatherglass", str(folder))
        for option in options
        if not option.startswith(("--engine", "--spark-master"))
    ]
    return [
        sys.executable,
        "-m",
        "weatherglass",
        "batch",
        str(folder / "export"),
        str(folder / "out"),
        *kept,
    ]


def _export(folder: Path, night: int) -> Path:
    """What a night's pull leaves: the same folder, other patients."""
    lines = [pulse(f"Patient/n{night}-p{n % 4}", n) for n in range(400)]
    return write_lines(folder, lines, "Observation.000.ndjson")


@pytest.mark.parametrize("command", _NIGHTLY)
def test_a_killed_night_does_not_cost_the_next_one(command: list[str], tmp_path: Path) -> None:
    """Kill -9 in the second night, as soon as it has begun to work in its folder."""
    nightly, out = _here(command, tmp_path), tmp_path / "out"
    expected: dict[int, Any] = {}
    for night in (1, 3):
        options = ("--policy", tmp_path / "policy.toml") if "--policy" in " ".join(nightly) else ()
        assert (
            run_batch(_export(tmp_path / f"in{night}", night), tmp_path / f"o{night}", *options).exception
            is None
        )
        expected[night] = files_of(tmp_path / f"o{night}")

    _export(tmp_path / "export", 1)
    subprocess.run(nightly, check=True, capture_output=True)
    assert files_of(out) == expected[1]

    _export(tmp_path / "export", 2)
    killed = subprocess.Popen(nightly, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    while not (out / NAME / "job.json").exists():
        assert killed.poll() is None, "it was over before it could be killed"
        time.sleep(0.002)
    killed.send_signal(signal.SIGKILL)
    killed.wait()
    assert (out / NAME / "job.json").exists()
    assert files_of(out) == expected[1], "last night's run is there until tonight's is whole"

    _export(tmp_path / "export", 3)
    subprocess.run(nightly, check=True, capture_output=True)
    assert files_of(out) == expected[3]


def test_a_pull_comes_before_the_review_and_into_the_folder_that_is_reviewed() -> None:
    """In every place where both are run."""
    by_place: dict[str, dict[str, list[str]]] = {}
    for _, each in own_services():
        by_place.setdefault("compose", {})[each["command"][0]] = each["command"]
    for name, each in containers():
        by_place.setdefault(name.partition("/")[0], {})[each["args"][0]] = each["args"]
    both = [place for place in by_place.values() if {"pull", "batch"} <= set(place)]
    assert len(both) == 2
    for place in both:
        assert place["pull"][2] == place["batch"][1]
    job = next(each for each in of_kind("CronJob") if each["metadata"]["name"] == "weatherglass-nightly")
    pod = job["spec"]["jobTemplate"]["spec"]["template"]["spec"]
    assert [each["name"] for each in pod["initContainers"]] == ["pull"]
