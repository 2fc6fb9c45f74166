"""What every test may ask for."""

import gc
import os
import sys
from collections.abc import Generator, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import hypothesis
import pytest
from _pytest.doctest import DoctestModule

if TYPE_CHECKING:
    from xdist.remote import Producer

    from tests.conformance.judges import Judges
    from tests.scheduling import Scheduling
    from weatherglass.api.service import Service

# No deadline: the machines that run this are shared, and a slow example is no fault.
hypothesis.settings.register_profile("default", deadline=None)
# In CI the same examples every time, so that a red run is about the change.
hypothesis.settings.register_profile("ci", deadline=None, derandomize=True)
# `make fuzz`: a long look for what the others missed.
hypothesis.settings.register_profile("fuzz", deadline=None, max_examples=5_000)
hypothesis.settings.load_profile("ci" if os.environ.get("CI") else "default")


@pytest.hookimpl(wrapper=True)
def pytest_collection() -> Generator[None, object, object]:
    """Collect twenty thousand tests, all of which stay, without looking among them for what may go."""
    gc.disable()
    try:
        return (yield)
    finally:
        gc.enable()
        gc.freeze()
        gc.set_threshold(50_000, 20, 50)


def pytest_configure(config: pytest.Config) -> None:
    """Look for examples in docstrings, here and in the service, only where there are any; say little."""
    config.pluginmanager.register(_OnlyWithExamples())
    # A Spark that lives for minutes gains nothing by verifying Spark's own classes.
    os.environ.setdefault(
        "SPARK_SUBMIT_OPTS", "-XX:+UnlockDiagnosticVMOptions -XX:-BytecodeVerificationRemote"
    )
    if hasattr(config, "workerinput"):
        from tests.scheduling import tell_what_is_shown

        tell_what_is_shown(config)


class _OnlyWithExamples:
    @pytest.hookimpl(wrapper=True)
    def pytest_collect_file(self, file_path: Path) -> Generator[None, list[object], list[object]]:
        """Leave out modules without a prompt, of which all would be looked through for nothing."""
        found = yield
        return [
            each for each in found if not isinstance(each, DoctestModule) or b">>>" in file_path.read_bytes()
        ]


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report(
    collector: pytest.Collector,
) -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
    """Collect the folders of tests in each process from another one on."""
    report = yield
    worker = getattr(collector.config, "workerinput", None)
    if worker is not None and collector.path == Path(__file__).parent and report.result:
        from tests.scheduling import beginning_apart

        process = int(worker["workerid"].removeprefix("gw"))
        report.result = beginning_apart(report.result, process, worker["workercount"])
    return report


def pytest_xdist_make_scheduler(config: pytest.Config, log: "Producer") -> "Scheduling | None":
    """Share the tests between processes by what they have in common, the dearest first."""
    from tests.scheduling import Scheduling

    return Scheduling(config, log) if config.getvalue("dist") == "loadfile" else None


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Mark each test by what it asks for, so that it can be left out where that is not."""
    if hasattr(config, "workerinput"):
        from tests.scheduling import dearest_first

        items.sort(key=dearest_first(item.nodeid for item in items))
    for item in items:
        asked = getattr(item, "fixturenames", ())
        if "browser" in asked:
            item.add_marker(pytest.mark.browser)
        if "judges" in asked:
            item.add_marker(pytest.mark.node)
        if "tools" in asked:
            item.add_marker(pytest.mark.slow)


@pytest.fixture(scope="session")
def judges() -> Iterator["Judges"]:
    """The outside judges of FHIR resources, started once."""
    # Imported here: the typed models take a quarter of a second that most runs do not need.
    from tests.conformance.judges import Judges

    with Judges() as started:
        yield started


@pytest.fixture(scope="session", autouse=True)
def rehearsed() -> Iterator[None]:
    """Applications in this process that are set up alike review their example once, not each anew."""
    if "weatherglass.api.app" not in sys.modules:
        yield  # No test that was collected starts one.
        return
    from weatherglass.api.warm_up import warm_up as once

    known: list[tuple[object, object]] = []

    def warm_up(service: "Service") -> bool:
        if (service.choices, service.stamp) not in known and once(service):
            known.append((service.choices, service.stamp))
        return (service.choices, service.stamp) in known

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("weatherglass.api.app.warm_up", warm_up)
        yield


@pytest.fixture(scope="session")
def tools() -> Path:
    """The folder of the programs that tests run as commands: clinosim, sekmet, smart-fetch."""
    folder = Path(__file__).parents[1] / ".venv-tools" / "bin"
    if not (folder / "sekmet").exists():
        pytest.fail("The tests' programs are not installed: run `make test`, or `make .venv-tools/.tools`.")
    return folder


@pytest.fixture(scope="session")
def live() -> Iterator[str]:
    """The service as `weatherglass serve` runs it, on a free port of this machine; its address."""
    from tests.running import Running

    # The kept answers name the address that is served by default.
    with Running(base_url="http://127.0.0.1:8080") as started:
        yield started.base
