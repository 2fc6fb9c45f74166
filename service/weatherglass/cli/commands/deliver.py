"""`weatherglass deliver`: results of a review into the record of another server."""

from collections import Counter
from pathlib import Path
from typing import Any

import click

from weatherglass.cli.errors import RunError, UsageError
from weatherglass.cli.server_options import Server, run, say, server_options
from weatherglass.fhir.safe_text import on_a_terminal


@click.command("deliver", help="Write the results in OUT_DIR to a FHIR R4 server; twice changes nothing.")
@click.argument("out_dir", type=click.Path(path_type=Path))
@click.argument("fhir_url")
@click.option("--dry-run", is_flag=True, help="Look at the server and say what would be done.")
@click.option(
    "--without-provenance", is_flag=True, help="Leave Provenance out, for servers that do not search by _tag."
)
@click.option(
    "--keep-earlier",
    is_flag=True,
    help="Close nothing: for reviews of records that were not whole (pull --since, --types).",
)
@server_options
def command(
    out_dir: Path,
    fhir_url: str,
    dry_run: bool,
    without_provenance: bool,
    keep_earlier: bool,
    **server: Any,
) -> None:
    """Write results back."""
    from weatherglass.ehr.writing_back.results import ResultsError, read_results

    if not out_dir.exists():
        raise UsageError(f"no such folder or file: {out_dir}")
    try:
        folder = read_results(out_dir)
    except ResultsError as fault:
        raise UsageError(str(fault)) from None
    how = {"dry_run": dry_run, "with_provenance": not without_provenance, "closes": not keep_earlier}
    report = run(_deliver(Server(base=fhir_url, **server), folder, how))
    click.echo(_said(report, dry_run=dry_run))
    for kind, count in sorted(folder.left_out.items()):
        click.echo(f"not for a record: {count} {kind}")
    for patient, why in report.refused:
        click.echo(on_a_terminal(f"refused: {patient}: {why}"))
    if report.refused:
        raise RunError(f"the results of {len(report.refused)} of {report.patients} patients were not written")


async def _deliver(where: Server, folder: Any, how: dict[str, bool]) -> Any:
    from weatherglass.ehr.signing_in.backend_services import READ_SCOPES, WRITE_SCOPES
    from weatherglass.ehr.writing_back.delivery import Delivery

    async with where.transport((*READ_SCOPES, *WRITE_SCOPES)) as transport:
        return await Delivery(transport, **how).deliver(folder, say=say)


def _said(report: Any, *, dry_run: bool) -> str:
    from weatherglass.ehr.writing_back.write_back import WriteOutcome

    lines = [f"{report.patients} patients" + (" (dry run: nothing was written)" if dry_run else "")]
    for outcome in WriteOutcome:
        kinds = Counter({kind: n for (met, kind), n in report.counts.items() if met is outcome})
        if kinds:
            shown = ", ".join(f"{count} {kind}" for kind, count in sorted(kinds.items()))
            lines.append(f"{outcome.value}: {sum(kinds.values())} ({shown})")
    return "\n".join(lines)
