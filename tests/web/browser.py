"""A browser for the tests of the page.

It is Chromium, driven by `browser.cjs`. What the page logs, throws or asks of another address is kept,
and `Browser.behaved` fails on any of it.
"""

import json
import subprocess
from collections import deque
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Self

HERE = Path(__file__).parent
MODULES = HERE.parent / "conformance" / "node_modules"
PICTURES = HERE.parents[1] / "out" / "pictures"
SHOWN = "document.documentElement.dataset.shown"


class Browser:
    """One browser with one page at a time."""

    def __init__(self, address: str) -> None:
        """Start the driver; the browser itself starts with the first page."""
        self.address = address
        self._process = subprocess.Popen(
            ["node", str(HERE / "browser.cjs")], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )

    def __enter__(self) -> Self:
        """Use it as a context."""
        return self

    def __exit__(self, *_: object) -> None:
        """Close the browser."""
        if self._process.stdin is not None:
            self._process.stdin.close()
        self._process.wait(30)
        if self._process.stdout is not None:
            self._process.stdout.close()

    def do(self, order: str, **rest: Any) -> Any:
        """Give one order and return its answer."""
        if self._process.stdin is None or self._process.stdout is None:
            raise RuntimeError("the browser has no pipes")
        self._process.stdin.write(json.dumps({"order": order, **rest}) + "\n")
        self._process.stdin.flush()
        answer = json.loads(self._process.stdout.readline())
        if "fault" in answer:
            raise AssertionError(answer["fault"])
        return answer["value"]

    def visit(self, path: str = "/", /, **how: Any) -> None:
        """Open a fresh page at an address of the service."""
        self.do("open", **how)
        self.do("go", address=self.address + path)

    def demo(self, name: str, **how: Any) -> None:
        """Open a demo patient and wait until the view stands."""
        self.visit(f"/?demo={name}", **how)
        self.do("until", code=SHOWN)

    def demo_at_each(self, name: str, sizes: Mapping[str, tuple[int, int]]) -> Iterator[str]:
        """Show a demo patient at each size, and say which.

        It is loaded at one, which is another for the next patient, and comes to the others as a window does
        that is drawn or turned.
        """
        turned = deque(sizes)
        turned.rotate(-int(name[:2]) if name[:2].isdecimal() else 0)
        for size in turned:
            width, height = sizes[size]
            if size == turned[0]:
                self.demo(name, width=width, height=height)
            else:
                self.do("resize", width=width, height=height)
            yield size

    def at_each(self, sizes: Mapping[str, tuple[int, int]]) -> Iterator[str]:
        """Bring the page that is open to each size, and say which."""
        for size, (width, height) in sizes.items():
            self.do("resize", width=width, height=height)
            yield size

    def open_file(self, file: Path, **how: Any) -> None:
        """Choose a file as a user does and wait for what comes of it."""
        self.visit(**how)
        self.do("choose", at="[data-file]", file=str(file))
        self.do("until", code=SHOWN)

    def shown_again(self, times: int) -> None:
        """Wait until so many views have been shown."""
        self.do("until", code=f"Number({SHOWN}) === {times}")

    def text(self, at: str) -> str:
        """Return what a reader sees of an element."""
        said: str = self.do("text", at=at)
        return said

    def texts(self, at: str) -> list[str]:
        """Return what a reader sees of every such element."""
        said: list[str] = self.do("texts", at=at)
        return said

    def picture(self, name: str, *, whole: bool = False) -> Path:
        """Take a picture for a person to look at."""
        PICTURES.mkdir(parents=True, exist_ok=True)
        file = PICTURES / f"{name}.png"
        self.do("picture", file=str(file), whole=whole)
        return file

    def paper(self, name: str) -> int:
        """Print to PDF and return the number of pages."""
        PICTURES.mkdir(parents=True, exist_ok=True)
        file = PICTURES / f"{name}.pdf"
        self.do("paper", file=str(file))
        return file.read_bytes().count(b"/Type /Page\n")

    def behaved(self, *, but: tuple[str, ...] = ()) -> None:
        """Fail when the page logged, threw, showed a dialog, or asked anybody else for anything."""
        said = [line for line in self.do("said") if not any(known in line for known in but)]
        assert said == []
        others = [
            url
            for url in self.do("requests")
            if not url.startswith((self.address, "data:", "blob:", "file:"))
        ]
        assert others == []
