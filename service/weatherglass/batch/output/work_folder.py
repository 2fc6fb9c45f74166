"""The hidden folder that a run works in, so that output appears only when it is complete.

    OUT_DIR/.weatherglass-batch/job.json   what is done, with what settings
                                lock       held while somebody works here
                                runs/      sorted lines and shards
                                parts/     finished parts of the output
                                final/     whole files, ready to be published

Publishing renames the whole files into OUT_DIR, `run.json` last. What was finished when
a run ended, however it ended, is found again by `--resume`.
"""

import fcntl
import os
import shutil
from collections.abc import Iterable
from pathlib import Path
from typing import Any, Self

import msgspec

from weatherglass.batch.engine.split import Split
from weatherglass.batch.output.atomic import sync_folder, write_atomically
from weatherglass.fhir.decoding import UNREADABLE

NAME = ".weatherglass-batch"
REPORT = "run.json"


class OutputError(ValueError):
    """The output folder cannot be used like this; the message says what to do."""


class Job(msgspec.Struct, kw_only=True):
    """What is done.

    Attributes:
        sameness: What has to be the same when the run is resumed, in words.
        splits: How the input was cut.
        shard_bytes: About how many bytes of lines a shard has.
    """

    sameness: dict[str, Any]
    splits: list[list[Split]]
    shard_bytes: int


class WorkFolder:
    """The hidden folder of one output folder; use it as a context."""

    def __init__(self, out: Path) -> None:
        """Name the folder; nothing is made yet."""
        self.out = out
        self.path = out / NAME
        self.runs = self.path / "runs"
        self.parts = self.path / "parts"
        self.final = self.path / "final"
        self._lock: int | None = None

    # Beginning

    def check(self, *, resume: bool, replace: bool) -> None:
        """Refuse an output folder that holds something else.

        Raises:
            OutputError: It does, or there is nothing to resume, or an unfinished run is in the way.
        """
        if self.out.exists() and not self.out.is_dir():
            raise OutputError(f"{self.out} is not a folder")
        self._refuse_link()
        names = {path.name for path in self.out.iterdir()} if self.out.is_dir() else set()
        visible = sorted(name for name in names if not name.startswith("."))
        if NAME in names and (self.path / "job.json").exists():
            if not resume and not replace:
                raise OutputError(
                    f"{self.out} holds a run that was not finished; add --resume to continue it, "
                    "or --replace to start anew"
                )
            return
        if visible and not replace and not (resume and REPORT in visible):
            what = "a finished run" if REPORT in visible else "other files"
            way = ", or add --replace to write over it" if REPORT in visible else ""
            raise OutputError(f"{self.out} holds {what} ({len(visible)} files); choose an empty folder{way}")
        if replace and visible and REPORT not in visible:
            raise OutputError(f"{self.out} holds other files, which --replace does not touch")

    def is_finished(self) -> bool:
        """Tell whether a finished run is published and nothing is left to do."""
        return (self.out / REPORT).exists() and not (self.path / "job.json").exists()

    def found_job(self) -> Job | None:
        """Return the job of a run that was not finished.

        Raises:
            OutputError: The job cannot be read, as when another version wrote it.
        """
        try:
            return msgspec.json.decode((self.path / "job.json").read_bytes(), type=Job)
        except FileNotFoundError:
            return None
        except UNREADABLE:
            raise OutputError(
                f"the unfinished run in {self.out} is of another version; start anew with --replace"
            ) from None

    def __enter__(self) -> Self:
        """Make the folder and keep others out of it."""
        if not self.out.exists():
            self.out.mkdir(parents=True)
            self.out.chmod(0o700)
        self._refuse_link()
        self.path.mkdir(exist_ok=True)
        # Opened as it stands: a link that was put in its place since is not followed.
        handle = os.open(self.path, os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW)
        try:
            os.fchmod(handle, 0o700)
        finally:
            os.close(handle)
        self._lock = os.open(self.path / "lock", os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
        try:
            fcntl.flock(self._lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            os.close(self._lock)
            self._lock = None
            raise OutputError(f"somebody else is working in {self.out}") from None
        return self

    def _refuse_link(self) -> None:
        if self.path.is_symlink():
            raise OutputError(f"{self.path} leads elsewhere; take it away, or choose another folder")

    def __exit__(self, *_: object) -> None:
        """Let others in."""
        if self._lock is not None:
            os.close(self._lock)

    def begin(self, job: Job) -> None:
        """Start anew with a job."""
        for folder in (self.runs, self.parts, self.final):
            if folder.is_symlink():
                folder.unlink()
            shutil.rmtree(folder, ignore_errors=True)
            folder.mkdir()
        write_atomically(self.path / "job.json", msgspec.json.encode(job), sync=True)

    # Finished work

    def sorted_names(self) -> set[str]:
        """Return the names of the lists of splits that are sorted."""
        return {path.stem for path in self.runs.glob("[0-9]*.json")}

    def part(self, number: int) -> Path:
        """Return where a part lies."""
        return self.parts / f"{number:06}.part"

    def is_assembled(self) -> bool:
        """Tell whether the whole files are all there."""
        return (self.final / REPORT).exists()

    # Publishing

    def publish(self) -> list[str]:
        """Put the whole files into the output folder, the report last, and remove the rest.

        Can be repeated: what has been moved before is no longer there to be moved.
        """
        names = sorted(path.name for path in self.final.iterdir() if path.name != REPORT)
        old = self.out / REPORT
        if old.exists():
            self._withdraw(old, names)
        for name in (*names, REPORT):
            (self.final / name).chmod(0o600)
            (self.final / name).rename(self.out / name)
            if name != REPORT:
                continue
            sync_folder(self.out)
        (self.path / "job.json").unlink()
        shutil.rmtree(self.path, ignore_errors=True)
        return [*names, REPORT]

    def _withdraw(self, old: Path, names: Iterable[str]) -> None:
        """Take away an earlier run, its report first: without a report a run is not complete."""
        try:
            files = list(msgspec.json.decode(old.read_bytes())["files"])
        except (*UNREADABLE, KeyError, TypeError):
            files = []
        old.unlink()
        for name in set(files) - set(names):
            if Path(name).name == name:
                (self.out / name).unlink(missing_ok=True)
