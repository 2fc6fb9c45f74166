"""`python -m weatherglass` and the `weatherglass` command."""

import sys


def main() -> None:
    """Run the command line."""
    from weatherglass.cli.main import run

    sys.exit(run(sys.argv[1:]))


if __name__ == "__main__":
    main()
