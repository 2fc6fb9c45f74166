"""What somebody watching a run gets to see, and what a log gets.

On a terminal one line is kept up to date: patients, rate, time left. Elsewhere every
stage ends in one line of JSON. Both go to standard error; neither holds patients' data.
"""

import json
import sys
import time
from typing import TextIO

_EVERY = 0.2


class Progress:
    """Shows how far a run is."""

    def __init__(self, stream: TextIO | None = None) -> None:
        """Look at where it will be shown.

        Args:
            stream: Standard error by default.
        """
        self._out = stream or sys.stderr
        self._live = self._out.isatty()
        self._stage = ""
        self._unit = ""
        self._total = 0
        self._done = 0
        self._before = 0
        self._began = 0.0
        self._shown = 0.0

    def begin(self, stage: str, *, unit: str = "", total: int = 0, done: int = 0) -> None:
        """Begin a stage.

        Args:
            stage: One word for it.
            unit: What is counted.
            total: How many there are; 0 when that is not known.
            done: How many were done before this run.
        """
        self._stage, self._unit, self._total = stage, unit, total
        self._done = self._before = done
        self._began = time.monotonic()
        self._shown = 0.0
        self._show()

    def advance(self, number: int) -> None:
        """Count what is done."""
        self._done += number
        self._show()

    def end(self, **counts: int | str | list[str]) -> None:
        """End the stage, with what came of it."""
        seconds = time.monotonic() - self._began
        if self._live:
            self._shown = 0.0
            self._show()
            self._out.write("\n")
        else:
            told = {"stage": self._stage, "seconds": round(seconds, 3), **counts}
            self._out.write(json.dumps(told, ensure_ascii=False) + "\n")
        self._out.flush()

    def _show(self) -> None:
        now = time.monotonic()
        if not self._live or now - self._shown < _EVERY:
            return
        self._shown = now
        self._out.write(f"\r\x1b[K{self._line(now - self._began)}")
        self._out.flush()

    def _line(self, seconds: float) -> str:
        said = f"{self._stage:10}"
        if not self._unit:
            return said
        said += f"{self._done:,}"
        if self._total:
            said += f" of {self._total:,}"
        said += f" {self._unit}"
        rate = (self._done - self._before) / seconds if seconds > _EVERY else 0.0
        if rate:
            said += f", {rate:,.0f} a second"
            if self._total > self._done:
                said += f", {_lasting((self._total - self._done) / rate)} left"
        return said


def _lasting(seconds: float) -> str:
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    if hours:
        return f"{hours} h {minutes:02} min"
    return f"{minutes} min {rest:02} s" if minutes else f"{rest} s"
