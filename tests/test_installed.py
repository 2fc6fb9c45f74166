"""What `make test` installs beside the package is there and starts."""

import subprocess
from pathlib import Path

import pytest


@pytest.mark.parametrize("name", ["clinosim", "sekmet", "smart-fetch"])
def test_tool_starts(name: str, tools: Path) -> None:
    """Each program that tests run as a command says how it is used."""
    seen = subprocess.run(
        [str(tools / name), "--help"], capture_output=True, text=True, check=True, timeout=60
    )
    assert "usage" in (seen.stdout + seen.stderr).lower()
