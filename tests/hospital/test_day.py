"""A short day on three wards against a real FHIR server that is not ours, accounted for at its end."""

import shutil
from functools import partial
from pathlib import Path

import pytest

from tests.hospital import faults
from tests.hospital.accounts import accounts
from tests.hospital.day import Length, opened
from tests.hospital.doors import hooks, memory
from tests.hospital.told import Told

#: Those that need no waiting of the follower's; `make hospital-day` makes everything go wrong.
SHORT = (
    faults.lost_words,
    faults.worker_killed,
    faults.follower_killed,
    faults.the_night,
    faults.keys_rotated,
)


@pytest.mark.timeout(600)
def test_a_day_is_accounted_for(tools: Path, tmp_path: Path) -> None:
    """Rounds, results, orders, stops, corrections, a merge, a death, discharges, five faults."""
    if shutil.which("cc") is None:
        pytest.skip("the hospital's clock is built by a C compiler")
    pytest.importorskip("matplotlib", reason="the page's plots are drawn by an extra")
    from tests.hospital.page import written

    with opened(Length(minutes=0.5, speed=240, seed=3, beds=2), tmp_path, tools) as day:
        day.live(partial(faults.trouble, faults=SHORT), hooks, memory)
        settled = accounts(day)
        told = Told.of(day, settled)
    wrong = [f"{line.name}: {line.said}; {'; '.join(line.rest)}" for line in settled.lines if not line.right]
    assert settled.right, "\n".join(wrong)
    assert [one.fault for one in told.faults if not one.as_expected] == []
    page = written(told, tmp_path / "page").read_text("utf-8")
    assert "Everything is accounted for." in page
    assert page.count("<svg") == 1
