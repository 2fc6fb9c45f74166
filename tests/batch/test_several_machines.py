"""Spark with executors as processes of their own, as machines would be: the run is killed, then one of them.

A standalone master with two workers. The executors' Python has `msgspec` and `pyarrow` and nothing
of ours: what they run is what was sent along.
"""

import os
import subprocess
import sys
import time
import venv
from collections.abc import Callable, Iterator
from pathlib import Path

import psutil
import pytest

from tests.batch.exports import joined
from tests.running import free_port

pytestmark = [pytest.mark.spark, pytest.mark.slow, pytest.mark.timeout(1800)]
_PACKAGES = ("msgspec", "pyarrow", "pyarrow.libs")
#: These virtual machines live for a minute: what compiles for longer ones is left off, and Spark's own
#: classes are not verified each time.
_BRIEF = (
    "-XX:TieredStopAtLevel=1 -XX:+UseSerialGC -XX:+UnlockDiagnosticVMOptions -XX:-BytecodeVerificationRemote"
)


class Machines:
    """A master and two workers on this machine."""

    def __init__(self, folder: Path) -> None:
        self.python = _with_two_packages(folder / "python")
        (folder / "spark-defaults.conf").write_text(
            f"spark.executor.extraJavaOptions {_BRIEF}\nspark.driver.extraJavaOptions {_BRIEF}\n"
            "spark.sql.shuffle.partitions 4\n"  # Two hundred are for more than sixty patients.
        )
        self._own = _ENVIRONMENT | {
            "PYSPARK_PYTHON": str(self.python),
            "PYTHONPATH": os.pathsep.join(sys.path),
            "SPARK_CONF_DIR": str(folder),
        }
        port = free_port()
        self.master = f"spark://127.0.0.1:{port}"
        self.started = [_daemon(folder, "master.Master", "--port", str(port), "--webui-port", "0")]
        for number in range(2):
            place = (
                "--cores",
                "1",
                "--memory",
                "1g",
                "--webui-port",
                "0",
                "--work-dir",
                str(folder / f"w{number}"),
            )
            self.started.append(_daemon(folder, "worker.Worker", *place, self.master))

    def run(self, given: Path, out: Path, *more: str) -> "subprocess.Popen[str]":
        """Start a run that uses both workers."""
        address, told = f"file://{out}", ("--engine", "spark", "--spark-master", self.master)
        return subprocess.Popen(
            [sys.executable, "-m", "weatherglass", "batch", f"file://{given}", address, *told, *more],
            env=self._own,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            start_new_session=True,
        )

    def executors(self) -> list[psutil.Process]:
        """The processes that work for a run."""
        below = (child for one in self.started for child in psutil.Process(one.pid).children(recursive=True))
        return [each for each in below if "CoarseGrainedExecutorBackend" in _command(each)]

    def end(self) -> None:
        """End the workers and the master."""
        for one in reversed(self.started):
            one.terminate()
            one.wait(30)


def _command(process: psutil.Process) -> str:
    """Return how a process was started; empty where it has ended meanwhile."""
    try:
        return " ".join(process.cmdline())
    except psutil.Error:
        return ""


_ENVIRONMENT = {
    name: value for name, value in os.environ.items() if not name.startswith(("SPARK_", "PYSPARK_"))
} | {"SPARK_LOCAL_IP": "127.0.0.1", "SPARK_DAEMON_JAVA_OPTS": _BRIEF}


def _daemon(folder: Path, name: str, *arguments: str) -> "subprocess.Popen[bytes]":
    import pyspark

    program = Path(pyspark.__file__).parent / "bin" / "spark-class"
    with (folder / f"{name}.log").open("ab") as log:
        return subprocess.Popen(
            [program, f"org.apache.spark.deploy.{name}", "--host", "127.0.0.1", *arguments],
            env=_ENVIRONMENT,
            stdout=log,
            stderr=log,
        )


def _with_two_packages(folder: Path) -> Path:
    """Make a Python that has what the machines of a cluster are said to need."""
    import msgspec

    venv.create(folder, symlinks=True)
    held = next(folder.glob("lib/python*/site-packages"))
    for name in _PACKAGES:
        package = Path(msgspec.__file__).parents[1] / name
        if package.exists():
            (held / name).symlink_to(package)
    return folder / "bin" / "python"


@pytest.fixture(scope="module")
def machines(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Machines]:
    pytest.importorskip("pyspark")
    started = Machines(tmp_path_factory.mktemp("machines"))
    yield started
    started.end()


def _counted(out: Path) -> dict[Path, int]:
    """The partitions that are there, and when they were written."""
    found = out.glob("_weatherglass-batch/parts/section=counts/part-*")
    return {path: path.stat().st_mtime_ns for path in found}


def _wait(running: "subprocess.Popen[str]", until: Callable[[], object]) -> None:
    while not until():
        assert running.poll() is None, running.communicate()
        time.sleep(0.02)


def _expected(undisturbed: tuple[dict[str, bytes], float]) -> dict[str, bytes]:
    return {name: text for name, text in undisturbed[0].items() if name != "run.json"}


def test_runs_and_executors_that_are_killed(
    machines: Machines, given: Path, undisturbed: tuple[dict[str, bytes], float], tmp_path: Path
) -> None:
    """The driver is killed; `--resume` reviews the partitions that are missing, and no other.

    Half of the machines go away in the middle of that: the answers are those of one machine.
    """
    out = tmp_path / "out"
    running = machines.run(given, out)
    _wait(running, lambda: len(_counted(out)) > 1)
    os.killpg(running.pid, 9)
    running.communicate()
    assert not (out / "run.json").exists()
    time.sleep(1)  # Executors whose driver is gone end by themselves.
    kept = _counted(out)
    running = machines.run(given, out, "--resume")
    _wait(running, lambda: len(_counted(out)) > len(kept) or (out / "run.json").exists())
    machines.executors()[0].kill()
    now = _counted(out)
    assert all(now.get(path, written) == written for path, written in kept.items())
    _, faults = running.communicate()
    assert running.returncode == 0, faults
    assert joined(out) == _expected(undisturbed)
    assert not (out / "_weatherglass-batch").exists()
