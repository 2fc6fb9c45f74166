"""`pull`, `deliver` and `subscribe`: used wrongly they say how, and exit with 2; failing, with 1."""

from collections.abc import Callable
from pathlib import Path

import pytest

from weatherglass.cli.main import run
from weatherglass.pipeline import review
from weatherglass.stamp import stamp

WARD = Path(__file__).parents[2] / "fixtures" / "bundles" / "08-well-going-home.json"
Ran = Callable[..., tuple[int, str]]


@pytest.fixture
def ran(capsys: pytest.CaptureFixture[str]) -> Ran:
    """Run a command in this process; return its exit code and what it said on standard error."""

    def run_it(*arguments: str) -> tuple[int, str]:
        return run(arguments), capsys.readouterr().err

    return run_it


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        pytest.param(("pull", "ehr.example", "OUT"), "is not a FHIR base address", id="no address"),
        pytest.param(
            ("pull", "https://ehr.example", "OUT", "--patient", "p", "--since", "2026-01-01T00:00:00Z"),
            "belong to an export",
            id="a search since",
        ),
        pytest.param(
            ("pull", "https://ehr.example", "OUT", "--client-id", "x"),
            "both --client-id and --key",
            id="no key",
        ),
        pytest.param(("deliver", "OUT", "https://ehr.example"), "no such folder", id="nothing there"),
        pytest.param(
            ("subscribe", "https://ehr.example", "--listen", "8091"), "wants HOST:PORT", id="no host"
        ),
        pytest.param(
            ("subscribe", "https://ehr.example", "--endpoint", "ftp://x"),
            "http or https",
            id="no web address",
        ),
    ],
)
def test_used_wrongly(tmp_path: Path, arguments: tuple[str, ...], said: str, ran: Ran) -> None:
    code, told = ran(*(str(tmp_path / "out") if a == "OUT" else a for a in arguments))
    assert code == 2
    assert said in told


@pytest.mark.parametrize("command", ["pull", "deliver"])
def test_a_server_that_is_not_there(tmp_path: Path, command: str, ran: Ran) -> None:
    (tmp_path / "out.json").write_bytes(review(WARD.read_bytes()).collection(stamp()))
    address = "http://127.0.0.1:9/fhir"
    place = str(tmp_path / ("in" if command == "pull" else "out.json"))
    code, told = ran(
        command, *((address, place) if command == "pull" else (place, address)), "--timeout", "1"
    )
    assert code == 1
    assert "no connection; is the address right and the server up?" in told
    assert "Traceback" not in told


def test_a_key_file_that_is_none(tmp_path: Path, ran: Ran) -> None:
    (tmp_path / "key.pem").write_text("not a key")
    code, told = ran(
        "pull",
        "https://ehr.example/fhir",
        str(tmp_path / "in"),
        "--client-id",
        "x",
        "--key",
        str(tmp_path / "key.pem"),
    )
    assert code == 1
    assert "no RSA or P-384 private key" in told
