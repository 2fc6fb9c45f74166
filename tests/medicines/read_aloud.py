"""The drug chart as people read it, at a door."""

import re
from pathlib import Path

from fastapi.testclient import TestClient

from weatherglass.api.app import create_app
from weatherglass.cli.printing.text import review_text
from weatherglass.pipeline import Answer, review

WARD = Path(__file__).parents[2] / "fixtures" / "bundles"


def in_text(answer: Answer) -> str:
    """Return the review as the command line prints it, on one line."""
    return " ".join(" ".join(review_text(one, ()).split()) for one in answer.reviews)


def on_the_page(name: str) -> str:
    """Return the drug chart of a demo patient's page, tags taken away."""
    with TestClient(create_app()) as client:
        view = client.post("/view", content=(WARD / f"{name}.json").read_bytes()).text
    chart = view.partition("Drug chart</h2>")[2].partition("</section>")[0]
    return " ".join(re.sub(r"<[^>]+>", " ", chart).split())


def demo(name: str) -> Answer:
    """Review a demo patient."""
    return review((WARD / f"{name}.json").read_bytes())
