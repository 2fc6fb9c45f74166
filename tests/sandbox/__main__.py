"""`make sandbox`: everything that a trial on one machine needs, until Ctrl-C."""

import signal
import sys
import tempfile
import time
from pathlib import Path

from tests.sandbox.stack import Ports, sandbox

TOOLS = Path(__file__).parents[2] / ".venv-tools" / "bin"


def main() -> None:
    """Start it, say where it is, and wait."""
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    ports = Ports(service=8080, record=8090, sign_in=8091)
    with tempfile.TemporaryDirectory() as folder, sandbox(TOOLS, Path(folder), ports) as system:
        sys.stdout.write(
            f"Viewer of cards   http://127.0.0.1:{ports.record}/\n"
            f"The service       {ports.review}/\n"
            f"FHIR record       {ports.base} (asks for a token), {system.behind} (asks for none)\n"
            f"A call to send    http://127.0.0.1:{ports.record}/call/tidewell\n"
            f"{len(system.patients)} invented patients, the newest entry minutes old. Ctrl-C ends it.\n"
        )
        sys.stdout.flush()
        try:
            while True:
                time.sleep(3600)
        except KeyboardInterrupt:
            sys.stdout.write("\nEnded; nothing was kept.\n")


if __name__ == "__main__":
    main()
