"""The interactive documentation in a browser: it works, and it asks nobody else for anything."""

import json
import subprocess
from pathlib import Path

import pytest

SCRIPT = Path(__file__).parents[1] / "conformance" / "docs_page.mjs"


@pytest.mark.slow
@pytest.mark.node
@pytest.mark.browser
def test_an_operation_can_be_tried(live: str, tmp_path: Path) -> None:
    """The example is sent from the page and answered, under the strict policy and without a complaint."""
    ran = subprocess.run(
        ["node", str(SCRIPT), live, str(tmp_path / "page.png")],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
    said = json.loads(ran.stdout)
    assert said["complaints"] == []
    assert [url for url in said["asked"] if not url.startswith((live, "data:", "blob:"))] == []
    assert said["operations"] >= 10
    assert said["answers"] == [200]
    assert said["shown"].startswith("200")
