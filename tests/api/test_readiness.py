"""Ready means that a record was reviewed; the first caller does not wait for what is made once."""

import subprocess
import sys
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from tests.api.answers import numbers
from weatherglass.api import warm_up
from weatherglass.api.app import create_app
from weatherglass.api.serving import serve
from weatherglass.api.settings import Settings
from weatherglass.fhir.issues import Issue, IssueKey, Severity
from weatherglass.fhir.reading import dispatch as handing_over


@pytest.fixture(autouse=True)
def _each_rehearses(monkeypatch: pytest.MonkeyPatch) -> None:
    """Here every application reviews its example itself."""
    monkeypatch.setattr("weatherglass.api.app.warm_up", warm_up.warm_up)


_FIRST_REQUESTS = """
import sys, warnings
warnings.simplefilter("ignore")
from pathlib import Path
from jinja2 import FileSystemLoader
from starlette.testclient import TestClient
from weatherglass.api.app import create_app

read, get_source = [], FileSystemLoader.get_source
FileSystemLoader.get_source = lambda *given: (read.append(given[-1]), get_source(*given))[1]
body = Path(sys.argv[1]).read_bytes()
with TestClient(create_app(), headers={"Content-Type": "application/fhir+json"}) as client:
    client.get("/health/live")
    loaded, drawn = set(sys.modules), len(read)
    assert drawn, "no template was read at the start"
    answers = [client.get("/"), client.post("/view", content=body)]
    answers += [client.post(f"/fhir/${name}", content=body) for name in sys.argv[2:]]
    assert [answer.status_code for answer in answers] == [200] * len(answers)
    ours = {name for name in set(sys.modules) - loaded if name.startswith("weatherglass")}
    print(sorted(ours), read[drawn:])
"""


_STRICT_MODELS = """
import sys, warnings
warnings.simplefilter("ignore")
from starlette.testclient import TestClient
from weatherglass.api.app import create_app

with TestClient(create_app()):
    print(*(name for name in sys.modules if name.startswith("fhir.resources.")))
"""


def test_the_first_request_loads_nothing() -> None:
    """No module and no template is read for the page, the review or the handover after the start."""
    ran = subprocess.run(
        [
            sys.executable,
            "-c",
            _FIRST_REQUESTS,
            "fixtures/bundles/04-aki-nephrotoxics.json",
            "review-deterioration",
            "handover-document",
        ],
        cwd=Path(__file__).parents[2],
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
    assert (ran.returncode, ran.stdout.strip()) == (0, "[] []"), ran.stderr


def test_ready_comes_after_the_review() -> None:
    """An application that has not been started lives and is not ready."""
    application = create_app()
    early = TestClient(application)
    assert (early.get("/health/live").status_code, early.get("/health/ready").status_code) == (200, 503)
    with TestClient(application) as started:
        assert started.get("/health/ready").json() == {"status": "pass"}


def test_a_service_that_cannot_review_is_never_ready(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    """It stays up to be looked at, says what kind of fault it was, and gets no requests."""

    def fail(*_: object, **__: object) -> None:
        raise ZeroDivisionError("bed 7")

    monkeypatch.setattr(warm_up, "review", fail)
    with TestClient(create_app()) as client:
        assert client.get("/health/live").status_code == 200
        answer = client.get("/health/ready")
    assert (answer.status_code, answer.json()) == (503, {"status": "fail"})
    assert "ZeroDivisionError" in caplog.text
    assert "bed 7" not in caplog.text


def test_strict_models_that_refuse_the_example_are_not_ready(monkeypatch: pytest.MonkeyPatch) -> None:
    """The example is valid FHIR R4: who finds a fault in it would refuse everybody's record."""
    fault = Issue(Severity.ERROR, IssueKey.INVALID, "Bundle", "Not so.")
    monkeypatch.setattr(warm_up, "invalid_parts", lambda *_: [fault])
    with TestClient(create_app()) as client:
        assert client.get("/health/ready").status_code == 503


def test_the_models_of_all_that_is_read_are_loaded() -> None:
    """Also those of types that the example has none of."""
    ran = subprocess.run(
        [sys.executable, "-c", _STRICT_MODELS], capture_output=True, text=True, check=True, timeout=120
    )
    loaded = set(ran.stdout.split())
    read = {*handing_over.READERS, *handing_over.REFERENCED_TYPES}
    assert {f"fhir.resources.R4B.{kind.lower()}" for kind in read} <= loaded


def test_the_review_at_the_start_is_nobodys(tmp_path: Path) -> None:
    """It is not counted and not audited: nobody asked for it."""
    audit = tmp_path / "audit.ndjson"
    with TestClient(create_app(Settings(audit_file=str(audit)))) as client:
        shown = numbers(client.get("/metrics").text)
    assert shown["weatherglass_patients_reviewed_total", ()] == 0
    assert not [name for name, _ in shown if name == "weatherglass_findings_total"]
    assert audit.read_bytes() == b""


def test_a_served_process_gives_way_to_a_health_check_soon(monkeypatch: pytest.MonkeyPatch) -> None:
    """Our choice: a turn of 1 ms; how late a health check then is, `make soak` measures."""
    before = sys.getswitchinterval()
    monkeypatch.setattr("uvicorn.run", lambda *_, **__: None)
    try:
        serve(Settings(), host="127.0.0.1", port=8080)
        assert sys.getswitchinterval() == pytest.approx(0.001)
    finally:
        sys.setswitchinterval(before)
