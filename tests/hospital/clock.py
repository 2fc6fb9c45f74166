"""The hospital's clock: faster than the machine's, and wrong for a process where a day wants it so."""

import mmap
import struct
import subprocess
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

SOURCE = Path(__file__).with_name("clock.c")
_FACE = struct.Struct("4d")


class HospitalClock:
    """A clock that processes are started under.

    Attributes:
        speed: How many seconds of the hospital pass in one of the machine.
    """

    def __init__(self, folder: Path, begin: datetime, speed: float) -> None:
        """Build the library; the clock stands at `begin` until it is started."""
        folder.mkdir(parents=True, exist_ok=True)
        self.speed = speed
        self._begin = begin
        self._machine = time.time()
        self._folder = folder
        self._library = folder / "clock.so"
        self._faces: dict[str, mmap.mmap] = {}
        self._steps: dict[str, float] = {}
        command = ["cc", "-O2", "-shared", "-fPIC", "-o", str(self._library), str(SOURCE), "-lm"]
        subprocess.run(command, check=True, capture_output=True, text=True)

    def start(self) -> None:
        """Let it run from its beginning."""
        self._machine = time.time()
        for name in self._faces:
            self._show(name)

    def now(self) -> datetime:
        """Return the hospital's time."""
        return self._begin + timedelta(seconds=(time.time() - self._machine) * self.speed)

    def wait_until(self, moment: datetime) -> None:
        """Sleep until the hospital's time has come."""
        while (left := (moment - self.now()).total_seconds()) > 0:
            time.sleep(min(left / self.speed, 1.0))

    def skip_to(self, moment: datetime) -> None:
        """Let it show a later moment at once, for everybody; an earlier one is left alone."""
        if moment > (now := self.now()):
            self._begin += moment - now
            for name in self._faces:
                self._show(name)

    def environment(self, name: str) -> dict[str, str]:
        """Return the environment of a process that lives by this clock, under the name of its own face."""
        if name not in self._faces:
            file = self._folder / f"{name}.face"
            file.write_bytes(bytes(_FACE.size))
            with file.open("r+b") as opened:
                self._faces[name] = mmap.mmap(opened.fileno(), _FACE.size)
            self._show(name)
        return {"LD_PRELOAD": str(self._library), "HOSPITAL_CLOCK": str(self._folder / f"{name}.face")}

    def step(self, name: str, seconds: float) -> None:
        """Set the clock of one process wrong, or right again by 0."""
        self._steps[name] = seconds
        self._show(name)

    def _show(self, name: str) -> None:
        shown = self._begin.astimezone(UTC).timestamp()
        _FACE.pack_into(self._faces[name], 0, self._machine, shown, self.speed, self._steps.get(name, 0.0))
