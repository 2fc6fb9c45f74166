"""What the README tells people to type exists, and it stays short enough to be read."""

import re
import shlex
from pathlib import Path

import pytest

from tests.deploy.command_lines import accepted
from weatherglass.knowledge.medicines.limits.kidney_limits import LIMITS
from weatherglass.knowledge.medicines.named_rules import NAMED_RULES
from weatherglass.knowledge.medicines.pairs import PAIRS
from weatherglass.knowledge.medicines.rules.rules import RULES
from weatherglass.model.sources import Mark

_ROOT = Path(__file__).parents[1]
_README = (_ROOT / "README.md").read_text("utf-8")
_TYPED = "\n".join(re.findall(r"^```console\n(.*?)^```", _README, re.MULTILINE | re.DOTALL)).replace(
    "\\\n", " "
)


def test_it_is_short() -> None:
    assert len(_README.splitlines()) < 120


@pytest.mark.parametrize("line", [line for line in _TYPED.splitlines() if line.startswith("weatherglass ")])
def test_its_commands_exist(line: str) -> None:
    accepted(shlex.split(line)[1:])


def test_what_is_submitted_to_a_cluster_exists() -> None:
    (line,) = [line for line in _TYPED.splitlines() if line.startswith("spark-submit ")]
    words = shlex.split(line)
    program = next(index for index, word in enumerate(words) if word.endswith(".py"))
    assert (_ROOT / words[program]).is_file()
    accepted(words[program + 1 :])


def test_its_make_targets_exist() -> None:
    makefile = (_ROOT / "Makefile").read_text("utf-8").replace("$(VENV)", ".venv")
    for target in re.findall(r"(?:^|`)make ([\w./-]+)", _README, re.MULTILINE):
        assert re.search(rf"^{re.escape(target)}:", makefile, re.MULTILINE), target


def test_its_links_lead_somewhere() -> None:
    for link in re.findall(r"\]\(([^)#:]+)(?:#[^)]*)?\)", _README):
        assert (_ROOT / link).exists(), link


def test_it_counts_the_rows_of_the_drug_chart() -> None:
    """A rule counts as read where its first source is; as remembered where that is from memory."""
    sources = [rule.sources[0] for rule in RULES] + [rule.sources[0] for rule in NAMED_RULES]
    read = sum(source.mark in (Mark.CONFIRMED, Mark.SECONDARY) for source in sources)
    remembered = sum(source.mark is Mark.FROM_MEMORY for source in sources)
    assert f"{len(sources)} rules ({read} with a publication read, {remembered} from memory," in _README
    assert f"{len(PAIRS)} named pairs, {len(LIMITS)} kidney limits," in _README
