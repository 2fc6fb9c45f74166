"""`weatherglass serve`: the API and the page on one address."""

import click


@click.command("serve", help="Serve the API and the page.")
@click.option("--host", default="127.0.0.1", show_default=True)
@click.option("--port", default=8080, show_default=True, type=click.IntRange(1, 65535))
@click.option("--policy", "policy_file", default=None, help="Local policy file (TOML).")
def command(host: str, port: int, policy_file: str | None) -> None:
    """Serve until interrupted."""
    import uvicorn

    from weatherglass.api.app import create_app
    from weatherglass.api.settings import Settings

    settings = Settings(policy_file=policy_file) if policy_file else Settings()
    uvicorn.run(create_app(settings), host=host, port=port, access_log=False, server_header=False)
