"""`weatherglass batch`: a ward or a region in, findings and a ward list out."""

import errno
import os
import signal
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from types import FrameType

import click

from weatherglass.batch.engine.local import LEAST_MEMORY, Order, run_local
from weatherglass.batch.faults import RunFailedError
from weatherglass.batch.output.earlier import earlier_run
from weatherglass.batch.output.run_report import Report, summary
from weatherglass.batch.output.work_folder import OutputError, WorkFolder
from weatherglass.batch.plan import PlanError, plan
from weatherglass.batch.progress import Progress
from weatherglass.batch.reviewing import Settings
from weatherglass.cli.commands.review import moment_of
from weatherglass.cli.errors import RunError, UsageError
from weatherglass.cli.private import for_own_eyes
from weatherglass.fhir.writing.frame.detail import Detail
from weatherglass.library.options import choices_of
from weatherglass.stamp import stamp

_NOTHING_BEGUN = "There is no run to continue in {}: a whole run begins."
_KEPT = "nothing was published, finished work is kept: add --resume to continue"
_NOTHING_LEFT = "Nothing left to do: {} holds a finished run."


@click.command(
    "batch",
    help="Review a bulk-export folder, a folder of Bundles or an export manifest; write FHIR results as "
    "NDJSON, a ward list and a report into OUT_DIR, all of it or nothing.",
)
@click.argument("given", metavar="INPUT")
@click.argument("out", metavar="OUT_DIR")
@click.option("--engine", type=click.Choice(["local", "spark"]), default="local", show_default=True)
@click.option("--workers", type=click.IntRange(1, 256), default=None, help="Processes; default: one a core.")
@click.option("--memory", default="1GiB", show_default=True, help="What all processes together may use.")
@click.option("--as-of", default=None, help="Moment of the review; default: newest datum of each record.")
@click.option(
    "--detail",
    type=click.Choice([Detail.BRIEF.value, Detail.FULL.value]),
    default=Detail.FULL.value,
    show_default=True,
    help="How much FHIR is written: brief is scores, stages and what was not used, less than half of the "
    "bytes; the ward list is the same.",
)
@click.option("--tables", is_flag=True, help="Write findings, scores, medicines and more as Parquet too.")
@click.option("--since", "since", default=None, help="run.json of an earlier run: review only what is new.")
@click.option("--resume", is_flag=True, help="Continue a run that was not finished.")
@click.option(
    "--replace", is_flag=True, help="Replace an earlier run in OUT_DIR once the new one is complete."
)
@click.option("--policy", "policy_file", default=None, help="Local policy file (TOML).")
@click.option(
    "--spark-master", default=None, help="Where Spark runs; default: this machine, or as submitted."
)
@click.option(
    "--one-file", is_flag=True, help="At an address: join what Spark's machines wrote, one file a type."
)
def command(
    *,
    given: str,
    out: str,
    engine: str,
    workers: int | None,
    memory: str,
    as_of: str | None,
    detail: str,
    tables: bool,
    since: str | None,
    resume: bool,
    replace: bool,
    policy_file: str | None,
    spark_master: str | None,
    one_file: bool,
) -> None:
    """Review many patients."""
    with _ends_told(out):
        if resume and _is_finished(out, replace=replace):
            return
        settings = Settings(
            as_of=moment_of(as_of),
            choices=choices_of(policy_file),
            stamp=stamp(),
            detail=Detail(detail),
            tables=tables,
        )
        make_order = partial(
            Order,
            settings=settings,
            workers=workers or len(os.sched_getaffinity(0)),
            memory=_bytes_of(memory),
            resume=resume,
            replace=replace,
            earlier=earlier_run(since) if since is not None else None,
        )
        with _ended_by_signals(), for_own_eyes():
            if engine == "spark":
                from weatherglass.cli.commands.spark_batch import run

                written: Report | None = run(
                    given,
                    out,
                    make_order,
                    master=spark_master,
                    replace=replace,
                    resume=resume,
                    one_file=one_file,
                )
            else:
                written = run_local(make_order(plan=plan(given), out=Path(out)), Progress())
    if written is None:
        click.echo(_NOTHING_LEFT.format(out))
    else:
        _tell(written, out)


@contextmanager
def _ends_told(out: str) -> Iterator[None]:
    """Say in one line what ends a run, and what is kept of it."""
    try:
        yield
    except (PlanError, OutputError) as error:
        raise UsageError(str(error)) from None
    except OSError as error:
        raise RunError(_said_of(error, out)) from None
    except RunFailedError as error:
        raise RunError(f"{error}; nothing was published. Finished work is kept in {out}") from None
    except _EndedError as ended:
        raise RunError(f"ended by {ended}; {_KEPT}") from None


def _is_finished(out: str, *, replace: bool) -> bool:
    """Tell whether nothing is left to resume, and say so; or that nothing was begun."""
    work = WorkFolder(Path(out))
    if work.is_finished():
        if replace:
            raise UsageError(
                f"{out} holds a finished run, so there is nothing to resume; to make it anew, leave "
                "--resume out"
            )
        click.echo(_NOTHING_LEFT.format(out))
        return True
    if "://" not in out and work.found_job() is None:
        click.echo(_NOTHING_BEGUN.format(out), err=True)
    return False


def _tell(written: Report, out: str) -> None:
    for line in summary(written, out):
        click.echo(line)
    if written.input.unreadable or written.input.short:
        raise RunError(
            f"done, but the input was not complete (see above); what could be read was reviewed: {out}"
        )
    click.echo(f"Done: {out} (ward list: {out}/ward-list.html)")


def _bytes_of(text: str) -> int:
    from pydantic import ByteSize, TypeAdapter, ValidationError

    try:
        size = int(TypeAdapter(ByteSize).validate_python(text))
    except ValidationError:
        raise UsageError("--memory wants a size like 1GiB or 800MB") from None
    if size < LEAST_MEMORY:
        raise UsageError("--memory is too small: at least 256MiB")
    return size


def _said_of(error: OSError, out: str) -> str:
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return f"the disk is full at {out}: free some space; {_KEPT}"
    where = f" ({error.filename})" if error.filename else ""
    return f"{error.strerror or error}{where}; {_KEPT}"


class _EndedError(Exception):
    """A signal asked the run to end."""


@contextmanager
def _ended_by_signals() -> Iterator[None]:
    """Turn a polite request to end into an exception, so that workers are ended and work is kept."""

    def end(number: int, _: FrameType | None) -> None:
        raise _EndedError(signal.Signals(number).name)

    before = {number: signal.signal(number, end) for number in (signal.SIGTERM, signal.SIGHUP)}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
