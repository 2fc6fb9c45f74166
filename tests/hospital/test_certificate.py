"""The certificate of our own address, renewed at the proxy before the service, as the runbook says."""

import shutil
import ssl
from datetime import UTC, datetime
from pathlib import Path

import httpx
import pytest

from tests.hospital.clock import HospitalClock
from tests.hospital.network import Network
from tests.running import Running, free_port

RECORD = Path(__file__).parents[2] / "fixtures" / "bundles" / "01-sepsis.json"


def test_it_is_renewed_while_the_service_goes_on(tmp_path: Path) -> None:
    """Who is connected stays connected, who comes next is shown the new one, and nothing is started again."""
    if shutil.which("cc") is None:
        pytest.skip("the hospital's clock is built by a C compiler")
    clock = HospitalClock(tmp_path / "clock", datetime.fromtimestamp(tmp_path.stat().st_mtime, UTC), 1.0)
    with Running() as service, Network(free_port(), service.base, clock, tmp_path / "proxy") as proxy:
        trusted = ssl.create_default_context(cafile=str(proxy.authority.file))
        base = f"https://localhost:{proxy.port}"
        with httpx.Client(verify=trusted, trust_env=False, timeout=120) as before:
            assert before.get(f"{base}/health/ready").status_code == 200
            first = proxy.shown_certificate()
            renewed = proxy.renew_certificate()
            assert proxy.shown_certificate() == renewed != first
            assert before.get(f"{base}/health/ready").status_code == 200
        with httpx.Client(verify=trusted, trust_env=False, timeout=120) as after:
            answer = after.post(f"{base}/fhir/$review-deterioration", content=RECORD.read_bytes(),
                                headers={"Content-Type": "application/fhir+json"})  # fmt: skip
        assert answer.status_code == 200
        assert answer.json()["resourceType"] == "Bundle"
        assert service.process.poll() is None
