"""Exit codes of every command: 0 done, 1 failed while running, 2 used wrongly; and what is said then."""

import json
import re
import socket
import subprocess
import sys
from pathlib import Path

import pytest

from weatherglass.cli.main import _COMMANDS, run

_ROOT = Path(__file__).parents[2]
_WARD = _ROOT / "fixtures" / "bundles"


@pytest.mark.parametrize("command", sorted(_COMMANDS))
def test_help_of_every_command_is_0(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run([command, "--help"]) == 0
    assert "Usage: weatherglass" in capsys.readouterr().out


@pytest.mark.parametrize("command", sorted(_COMMANDS))
def test_an_option_that_is_none_is_2_on_every_command(
    command: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run([command, "--no-such-option"]) == 2
    assert "No such option" in capsys.readouterr().err


def test_help_names_the_version_and_every_command_whole(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["--help"]) == 0
    said = capsys.readouterr().out
    assert "--version" in said
    assert "..." not in said.replace("[ARGS]...", "")
    for command in _COMMANDS:
        assert f"  {command} " in said


@pytest.mark.parametrize(
    ("arguments", "meant"),
    [
        (["revew"], "Did you mean one of: 'review'"),
        (["criteria", "show", "news2"], "did you mean news2-2017?"),
    ],
)
def test_a_slip_is_2_and_says_what_was_meant(
    arguments: list[str], meant: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(arguments) == 2
    assert meant in capsys.readouterr().err


@pytest.mark.parametrize(
    "command", [["review", str(_WARD / "01-sepsis.json")], ["batch", str(_WARD), "OUT"], ["serve"]]
)
def test_a_slip_in_the_policy_is_the_users(
    command: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    policy = tmp_path / "policy.toml"
    policy.write_text("carry_forward_minuts = 5\n", "utf-8")
    given = [str(tmp_path / "out") if word == "OUT" else word for word in command]
    assert run([*given, "--policy", str(policy)]) == 2
    said = capsys.readouterr().err
    assert "did you mean carry_forward_minutes" in said
    assert "a fault of ours" not in said


def test_a_port_in_use_is_1_in_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        assert run(["serve", "--port", str(taken.getsockname()[1])]) == 1
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert "cannot listen on 127.0.0.1" in said


def test_other_software_that_leaves_is_1(monkeypatch: pytest.MonkeyPatch) -> None:
    """A server that cannot start leaves by a code of its own."""

    def leaves(*_: object, **__: object) -> None:
        sys.exit(3)

    monkeypatch.setattr("weatherglass.api.serving.serve", leaves)
    assert run(["serve", "--port", "1024"]) == 1


def test_a_batch_explains_its_totals_and_what_it_does_not_do_again(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    given, out = tmp_path / "in", tmp_path / "out"
    given.mkdir()
    record = json.loads((_WARD / "04-aki-nephrotoxics.json").read_text("utf-8"))
    lines = [json.dumps(entry["resource"]) for entry in record["entry"]]
    (given / "ward.ndjson").write_text("\n".join([*lines, '{"resourceType":"Observation"']), "utf-8")
    assert run(["batch", str(given), str(out), "--workers", "1"]) == 0
    said = capsys.readouterr().out
    assert f"Each rejected line with its reason: {out}/rejected.ndjson" in said
    assert "Findings that ask for action (emergency, urgent or prompt)" in said
    assert said.count("for each 100 patients") == 1
    assert "that ask for nothing; every kind is counted in run.json" in said
    assert run(["batch", str(given), str(out), "--resume"]) == 0
    assert "Nothing left to do" in capsys.readouterr().out
    assert run(["batch", str(given), str(out), "--resume", "--replace"]) == 2
    assert "leave --resume out" in capsys.readouterr().err


def _on_a_terminal(columns: int, arguments: list[str], **env: str) -> str:
    """Run a command on a pseudo-terminal of so many columns."""
    import fcntl
    import os
    import pty
    import struct
    import termios

    master, slave = pty.openpty()
    fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 50, columns, 0, 0))
    usual = {name: value for name, value in os.environ.items() if name not in ("COLUMNS", "NO_COLOR")}
    started = subprocess.Popen(
        [sys.executable, "-m", "weatherglass", *arguments],
        cwd=_ROOT,
        stdin=slave,
        stdout=slave,
        stderr=subprocess.DEVNULL,
        env={**usual, "TERM": "xterm", **env},
    )
    os.close(slave)
    said = b""
    while True:
        try:
            piece = os.read(master, 65536)
        except OSError:  # Linux says so when the other end is closed.
            break
        if not piece:
            break
        said += piece
    assert started.wait(60) == 0
    os.close(master)
    return said.decode().replace("\r\n", "\n")


@pytest.mark.parametrize("columns", [72, 80])
def test_a_review_is_as_wide_as_the_terminal(columns: int) -> None:
    said = _on_a_terminal(columns, ["review", str(_WARD / "01-sepsis.json")], NO_COLOR="1")
    assert [line for line in said.splitlines() if len(line) > columns] == []
    assert "\x1b" not in said
    assert "EMERGENCY" in said


@pytest.mark.parametrize(
    "arguments",
    [
        ["criteria", "list"],
        ["criteria", "show", "news2-2017"],
        ["criteria", "show", "medicines"],
        ["inputs", str(_WARD / "04-aki-nephrotoxics.json")],
    ],
    ids=lambda one: "-".join(one[:3:2]).rpartition("/")[2],
)
def test_tables_are_as_wide_as_the_terminal(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing is cut: the same words stand on a terminal and in a pipe, there a row on its line."""
    said = _on_a_terminal(80, arguments)
    assert [line for line in said.splitlines() if len(line) > 80] == []
    if arguments[-1] == "medicines":
        # A column of a few letters cannot be read: a line a cell.
        assert "\n  trigger: acute kidney injury\n" in said
        return
    assert run(arguments) == 0
    assert said.split() == capsys.readouterr().out.split()


def test_weight_and_colour_only_repeat_what_words_say() -> None:
    """NO_COLOR, a dumb terminal and a pipe get the very same words."""
    arguments = ["review", str(_WARD / "04-aki-nephrotoxics.json")]
    dressed = _on_a_terminal(100, arguments)
    plain = _on_a_terminal(100, arguments, NO_COLOR="1")
    assert "\x1b[1m" in dressed
    assert plain == _on_a_terminal(100, arguments, TERM="dumb")
    assert re.sub(r"\x1b\[[0-9;]*m", "", dressed) == plain


def test_the_demo_fits_on_one_screen(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(_ROOT)
    assert run(["demo", "--out", str(tmp_path / "short")]) == 0
    short = capsys.readouterr().out
    assert run(["demo", "--full", "--out", str(tmp_path / "full")]) == 0
    full = capsys.readouterr().out
    assert len(short.splitlines()) <= 50
    assert len(full.splitlines()) > 100
    assert short.splitlines()[:17] == full.splitlines()[:17]
    assert "weatherglass review fixtures/bundles/" in short
