"""The same pull every night into the same folder, whatever became of last night's."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import httpx
import pytest

from tests.ehr.export_server import ExportServer, content
from tests.ehr.pretend import Pretend, json_answer, lines, run, searchset
from weatherglass.ehr.client.faults import EhrError
from weatherglass.ehr.client.retry import RetryPolicy
from weatherglass.ehr.fetching import pull
from weatherglass.ehr.fetching.export import ExportRequest
from weatherglass.ehr.fetching.ledger import Ledger
from weatherglass.ehr.fetching.pull import GOES_ON_WITHIN, Pulled, pull_by_export, pull_by_search

EVENING = datetime(2026, 3, 11, 4, 30, tzinfo=UTC)
REQUEST = ExportRequest(types=("Patient", "Observation"))
LAST_NIGHT = {
    "Patient": lines({"resourceType": "Patient", "id": "p1"}),
    "Observation1": lines(*({"resourceType": "Observation", "id": f"o{n}"} for n in range(40))),
    "Observation2": lines({"resourceType": "Observation", "id": "o99"}),
}
TONIGHT = {"Observation1": lines({"resourceType": "Observation", "id": "o100"})}


def _pull(server: ExportServer, folder: Path, at: datetime) -> Pulled:
    async def work() -> Pulled:
        async with Pretend(server).transport(retry=RetryPolicy(attempts=1, first_pause=0.1)) as transport:
            return await pull_by_export(transport, folder, REQUEST, clock=lambda: at)

    return run(work())


@pytest.mark.parametrize(
    ("later", "goes_on"),
    [
        pytest.param(GOES_ON_WITHIN, True, id="within the night"),
        pytest.param(GOES_ON_WITHIN + timedelta(seconds=1), False, id="too late"),
        pytest.param(timedelta(days=1), False, id="the next night"),
    ],
)
def test_last_nights_export_does_not_pass_for_tonights(
    later: timedelta, goes_on: bool, tmp_path: Path
) -> None:
    """What is repeated soon goes on where it stopped; the next night asks for records of its own."""
    server = ExportServer(files=LAST_NIGHT, break_off={"Observation1": 1})
    with pytest.raises(EhrError):
        _pull(server, tmp_path, EVENING)
    assert _pull(server, tmp_path, EVENING + later).resumed == (2 if goes_on else 0)
    assert server.kicked_off == (1 if goes_on else 2)
    assert server.deletions == (1 if goes_on else 2), "a server may hold one export at a time"


def test_a_file_that_the_ledger_had_not_counted_yet(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ended after a file was whole and before that was noted: the next night takes the file away."""
    saves = iter(range(3))
    save = Ledger.save

    def ended(ledger: Ledger, folder: Path) -> None:
        if ledger.arrived and next(saves, None) is not None:
            raise KeyboardInterrupt
        save(ledger, folder)

    with monkeypatch.context() as broken:
        broken.setattr(Ledger, "save", ended)
        with pytest.raises(KeyboardInterrupt):
            _pull(ExportServer(files=LAST_NIGHT), tmp_path, EVENING)
    assert content(tmp_path)
    (tmp_path / "Observation.001.part").write_bytes(b"half a li")
    _pull(ExportServer(files=TONIGHT), tmp_path, EVENING + timedelta(days=1))
    assert content(tmp_path) == {"Observation.000.ndjson": TONIGHT["Observation1"]}
    assert not list(tmp_path.glob("*.part"))


def test_a_search_that_ended_while_it_wrote(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Files without a ledger would be somebody else's for ever; they are listed before they are written."""

    def handle(request: httpx.Request) -> httpx.Response:
        path = request.url.path.removeprefix("/fhir/")
        if path == "metadata":
            return json_answer(
                {"resourceType": "CapabilityStatement", "rest": [{"resource": [{"type": "Observation"}]}]}
            )
        if path == "Patient/p1":
            return json_answer({"resourceType": "Patient", "id": "p1"})
        return json_answer(searchset({"resourceType": "Observation", "id": "o1"}))

    async def work() -> Pulled:
        async with Pretend(handle).transport() as transport:
            return await pull_by_search(transport, tmp_path, ("p1",))

    def ended(**_: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as broken:
        broken.setattr(pull, "Arrived", ended)
        with pytest.raises(OSError, match="No space"):
            run(work())
    assert set(content(tmp_path)) == {"Observation.000.ndjson"}
    assert run(work()).lines == {"Observation": 1, "Patient": 1}
    assert set(content(tmp_path)) == {"Observation.000.ndjson", "Patient.000.ndjson"}
