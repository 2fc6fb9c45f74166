"""Nobody serves patient data to others by accident; secrets do not stand on command lines."""

from pathlib import Path

import pytest

from weatherglass.api.access.authentication import OpenElsewhereError, refuse_open_elsewhere
from weatherglass.api.serving import _as_text
from weatherglass.api.settings import Settings
from weatherglass.cli.main import run

EVERYWHERE = "0.0.0.0"  # noqa: S104 - it is what must be refused.
KEYS = {"smart_issuer": "https://login.example", "smart_jwks_url": "https://login.example/jwks"}


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost", "::1", "127.0.0.53"])
def test_this_machine_may_be_served_without_signing_in(host: str) -> None:
    refuse_open_elsewhere(Settings(_env_file=None), host)


@pytest.mark.parametrize(
    "host", [EVERYWHERE, "::", "", "192.168.1.10", "ward.example", "127.0.0.1.x.example"]
)
def test_any_other_machine_may_not(host: str) -> None:
    with pytest.raises(OpenElsewhereError, match="--open-without-authentication"):
        refuse_open_elsewhere(Settings(_env_file=None), host)


@pytest.mark.parametrize(
    "settings",
    [
        pytest.param(KEYS, id="access tokens"),
        pytest.param({"cds_clients": {"https://e.example": "https://e.example/jwks"}}, id="CDS clients"),
        pytest.param({"open_without_authentication": True}, id="said in so many words"),
    ],
)
def test_unless_callers_sign_in_or_it_was_said(settings: dict[str, object]) -> None:
    refuse_open_elsewhere(Settings(_env_file=None, **settings), EVERYWHERE)  # type: ignore[arg-type]


def test_the_command_says_what_to_do_and_exits_2(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["serve", "--host", EVERYWHERE, "--port", "1"]) == 2
    told = capsys.readouterr().err
    assert "binding to 0.0.0.0 would serve patient data" in told
    assert "WEATHERGLASS_SMART_JWKS_URL" in told


def test_no_command_takes_a_secret_as_an_argument(capsys: pytest.CaptureFixture[str]) -> None:
    """A command line is seen by every process of the machine."""
    for command in ("serve", "pull", "deliver"):
        assert run([command, "--help"]) == 0
        options = {word for word in capsys.readouterr().out.split() if word.startswith("--")}
        assert options
        assert not options & {"--token", "--secret", "--password", "--client-secret", "--bearer"}


def test_a_secret_does_not_show(tmp_path: Path) -> None:
    settings = Settings(
        _env_file=None,
        smart_introspection_url="https://login.example/introspect",
        smart_introspection_client_id="weatherglass",
        smart_introspection_secret="s3cret-s3cret",
    )
    assert "s3cret" not in repr(settings)
    assert "s3cret" not in str(settings.model_dump())


def test_worker_processes_get_lists_and_tables_as_they_were(monkeypatch: pytest.MonkeyPatch) -> None:
    given = Settings(
        _env_file=None,
        cors_origins=("https://a.example", "https://b.example"),
        cds_clients={"https://e.example": "https://e.example/jwks"},
        open_without_authentication=True,
    )
    for name, value in given.model_dump(exclude_defaults=True).items():
        monkeypatch.setenv(f"WEATHERGLASS_{name}".upper(), _as_text(value))
    assert Settings(_env_file=None) == given
