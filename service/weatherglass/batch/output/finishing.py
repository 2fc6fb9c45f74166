"""From finished parts to published output; the same for every engine."""

import os
import re
from collections.abc import Mapping, Sequence
from pathlib import Path

import msgspec

from weatherglass.batch.faults import RunFailedError
from weatherglass.batch.output.assembly import Gathered, Written, file_of
from weatherglass.batch.output.atomic import sync_folder, write_atomically
from weatherglass.batch.output.run_report import InputReport, Report, headline, report
from weatherglass.batch.output.runs import Broken
from weatherglass.batch.output.table_rows import TABLE
from weatherglass.batch.output.totals import Totals
from weatherglass.batch.output.work_folder import REPORT
from weatherglass.batch.plan import Plan
from weatherglass.batch.reviewing import Settings
from weatherglass.batch.ward.ward_list import Heading, ordered_rows, write_ward_list
from weatherglass.fhir.writing.bundle import entry, lines_of
from weatherglass.fhir.writing.provenance import write_device
from weatherglass.tables.schema import FINDINGS, PATIENTS, TABLES
from weatherglass.tables.writing import write_parquet


class MiscountError(RunFailedError):
    """The counts do not add up: something was lost, and nothing is published."""


def emptied(folder: Path) -> Path:
    """Take away what an ended run left in the folder of whole files."""
    for left in folder.iterdir():
        left.unlink()
    return folder


def finish(
    final: Path,
    gathered: Gathered,
    settings: Settings,
    given: InputReport,
    nobodys: Totals,
    *,
    compared: bool,
) -> Report:
    """Write what is still missing of the whole files into the `final` folder, the report last.

    Args:
        final: Where.
        gathered: What all parts come to.
        settings: Of the run.
        given: What was read.
        nobodys: Counts of lines that went into no part.
        compared: Whether there was an earlier run to compare with.

    Raises:
        MiscountError: Lines or patients are missing from the counts.
    """
    totals, files = gathered
    totals.add(nobodys)
    if not totals.adds_up or totals.lines != sum(given.by_type.values()):
        raise MiscountError(
            f"{sum(given.by_type.values())} lines were read but {totals.used} used + {totals.not_needed} "
            f"not needed + {totals.rejected} rejected + {totals.unchanged} unchanged were counted"
        )
    if totals.patients:
        files["Device.ndjson"] = _write_device(final / "Device.ndjson", settings)
    for name in ("rejected", "patients"):
        if not any(re.split(r"[-.]", file)[0] == name for file in files):
            (final / f"{name}.ndjson").touch()
            files[f"{name}.ndjson"] = Written()
    if settings.tables:
        files |= _write_tables(final, totals)
    written = report(settings, given, totals, dict(sorted(files.items())), compared=compared)
    rows = final / "ward-rows.part"
    heading = Heading(
        summary=headline(written), warnings=given.warnings, software=written.software, compared=compared
    )
    write_ward_list(ordered_rows(rows), heading, final / "ward-list.csv", final / "ward-list.html")
    rows.unlink(missing_ok=True)
    for name in ("ward-list.csv", "ward-list.html"):
        written.files[name] = Written(lines=0, bytes=(final / name).stat().st_size)
    for path in final.iterdir():
        _sync(path)
    body = msgspec.json.format(msgspec.json.encode(written), indent=2) + b"\n"
    write_atomically(final / REPORT, body, sync=True)
    sync_folder(final)
    return written


def _write_device(path: Path, settings: Settings) -> Written:
    uuid, device = write_device(settings.stamp.software, settings.stamp.rules)
    text = b"".join(lines_of([entry(uuid, device)]))
    path.write_bytes(text)
    return Written(lines=1, bytes=len(text))


def _write_tables(folder: Path, totals: Totals) -> dict[str, Written]:
    tables = write_tables(folder)
    if fault := miscounted(tables, totals):
        raise MiscountError(fault)
    return tables


def _sync(path: Path) -> None:
    with path.open("rb") as file:
        os.fsync(file.fileno())


def input_report(plan: Plan, by_type: Mapping[str, int], broken: Sequence[Broken]) -> InputReport:
    """Say what was read, and what is missing from it."""
    promised = plan.promised or {}
    short = {
        kind: (number, by_type.get(kind, 0))
        for kind, number in sorted(promised.items())
        if by_type.get(kind, 0) < number
    }
    return InputReport(
        kind=plan.kind.value,
        by_type=dict(by_type),
        unreadable=sorted(broken, key=lambda each: (each.file, each.why)),
        remarks=list(plan.remarks),
        short=short,
    )


def write_tables(folder: Path) -> dict[str, Written]:
    """Turn the lines of each table into its file; a table without rows is a file too.

    Args:
        folder: Where the lines lie and the files go.

    Returns:
        Rows and bytes of each file.
    """
    written: dict[str, Written] = {}
    for table in TABLES:
        lines, out = folder / file_of(TABLE + table.name), folder / f"{table.name}.parquet"
        lines.touch()
        rows = write_parquet(lines, table, out)
        lines.unlink()
        written[out.name] = Written(lines=rows, bytes=out.stat().st_size)
    return written


def miscounted(written: dict[str, Written], totals: Totals) -> str:
    """Say which table does not add up to the report; empty when they all do."""
    expected = {
        PATIENTS.name: totals.patients,
        FINDINGS.name: sum(burden.all for burden in totals.kinds.values()),
    }
    for name, number in expected.items():
        rows = written[f"{name}.parquet"].lines
        if rows != number:
            return f"{name}.parquet has {rows} rows, and {number} were counted"
    return ""
