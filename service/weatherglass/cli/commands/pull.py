"""`weatherglass pull`: the records of a FHIR server as a folder that `batch` reads."""

from pathlib import Path
from typing import Any

import click

from weatherglass.cli.errors import RunError, UsageError
from weatherglass.cli.private import for_own_eyes
from weatherglass.cli.server_options import Server, run, say, server_options


@click.command("pull", help="Fetch records from a FHIR R4 server into OUT_DIR, for 'weatherglass batch'.")
@click.argument("fhir_url")
@click.argument("out_dir", type=click.Path(file_okay=False, path_type=Path))
@click.option("--group", default=None, help="Export one Group instead of the whole server.")
@click.option("--patient", "patients", multiple=True, help="Read these patients by search; may be repeated.")
@click.option("--by-search", is_flag=True, help="Read every patient by search instead of by export.")
@click.option("--types", default=None, help="Resource types, comma separated; default: what is reviewed.")
@click.option("--type-filter", "type_filters", multiple=True, help="Search that narrows a type in an export.")
@click.option("--since", default=None, help="Only what changed since this instant: not a whole record.")
@server_options
def command(
    fhir_url: str,
    out_dir: Path,
    group: str | None,
    patients: tuple[str, ...],
    by_search: bool,
    types: str | None,
    type_filters: tuple[str, ...],
    since: str | None,
    **server: Any,
) -> None:
    """Fetch records."""
    if (patients or by_search) and (group or type_filters or since):
        raise UsageError("--group, --since and --type-filter belong to an export, not to a search")
    where = Server(base=fhir_url, **server)
    searched = bool(patients or by_search)
    with for_own_eyes():
        pulled = run(_pull(where, out_dir, searched, patients, group, types, type_filters, since))
    total = sum(pulled.lines.values())
    shown = ", ".join(f"{count} {kind}" for kind, count in sorted(pulled.lines.items()))
    click.echo(f"{out_dir}: {total} resources ({shown or 'none'})")
    if pulled.resumed:
        click.echo(f"{pulled.resumed} files had arrived before and were kept.")
    if pulled.deleted:
        click.echo(f"{pulled.deleted} deletions are in {out_dir / 'deleted'}; apply them to what you keep.")
    if pulled.remarks:
        click.echo(f"{pulled.remarks} remarks of the server are in {out_dir / 'error'}.")
    if since:
        click.echo("Only changes were asked for: do not review them as whole records.")
    if pulled.not_exported:
        # The files are there, but a record with a hole in it must not pass as whole.
        raise RunError(
            f"the server could not export everything: {pulled.not_exported} errors are "
            f"in {out_dir / 'error'}; the records may be incomplete"
        )


async def _pull(
    where: Server,
    out_dir: Path,
    searched: bool,
    patients: tuple[str, ...],
    group: str | None,
    types: str | None,
    type_filters: tuple[str, ...],
    since: str | None,
) -> Any:
    from weatherglass.ehr.client.capabilities import read_capabilities
    from weatherglass.ehr.fetching.export import ExportRequest
    from weatherglass.ehr.fetching.needed import NEEDED_TYPES
    from weatherglass.ehr.fetching.pull import pull_by_export, pull_by_search
    from weatherglass.ehr.signing_in.backend_services import READ_SCOPES

    async with where.transport(READ_SCOPES) as transport:
        if searched:
            return await pull_by_search(transport, out_dir, patients, say=say)
        if types:
            wanted = tuple(part.strip() for part in types.split(",") if part.strip())
        else:
            capabilities = await read_capabilities(transport)
            wanted = tuple(kind for kind in NEEDED_TYPES if capabilities.knows(kind))
        request = ExportRequest(group=group, types=wanted, type_filters=type_filters, since=since)
        return await pull_by_export(transport, out_dir, request, say=say)
