"""Files that hold little, are none, or are very large: what the page says and does."""

import json
from pathlib import Path

from tests.web.browser import Browser
from tests.web.records import large_record, no_vital_signs, only_creatinine


class TestUsefulFailures:
    def test_no_vital_signs(self, browser: Browser, tmp_path: Path) -> None:
        """What can be reviewed is; the strips say that nothing was recorded."""
        file = tmp_path / "no-vitals.json"
        file.write_text(json.dumps(no_vital_signs()), "utf-8")
        browser.open_file(file)
        assert "No vital signs are recorded" in browser.text(".who")
        assert "no vital signs are recorded" in browser.text(".first")
        assert browser.text("[data-strip='respiration-rate'] [data-now]") == "not recorded"
        assert "stage" in browser.text(".kidneys")
        browser.behaved()
        browser.picture("no-vital-signs", whole=True)

    def test_single_creatinine(self, browser: Browser, tmp_path: Path) -> None:
        """One result cannot be staged, and the page says so instead of showing a zero."""
        file = tmp_path / "one.json"
        file.write_text(json.dumps(only_creatinine()), "utf-8")
        browser.open_file(file)
        kidneys = browser.text(".kidneys")
        # Nobody was assessed: that is no "routine", in its word, its shape and what stands for a call.
        assert browser.text(".first h2").casefold() == "not assessed"
        assert "first-open" in browser.do("run", code="document.querySelector('.first').className")
        assert "Not assessed: no vital signs are recorded." in browser.text(".call")
        assert "None of these findings" not in browser.text("main")
        assert "not staged" in kidneys
        assert "stage 0" not in kidneys
        browser.behaved()
        browser.picture("single-creatinine", whole=True)

    def test_not_fhir(self, browser: Browser, tmp_path: Path) -> None:
        """A spreadsheet is refused in words, and another file can be opened at once."""
        file = tmp_path / "ward.csv"
        file.write_text("name,pulse\nsomebody,80\n", "utf-8")
        browser.open_file(file)
        assert "This could not be reviewed" in browser.text("h1")
        assert browser.do("run", code="document.activeElement.tagName") == "H1"
        browser.do("click", at=".masthead [data-open-again]")
        browser.do("click", at="[data-paste-form] button")
        assert browser.do("run", code="document.activeElement.id") == "pasted", "an empty paste is not sent"
        browser.do("choose", at="[data-file]", file=str(file))
        browser.shown_again(2)
        browser.picture("not-fhir")
        browser.do("click", at=".failure [data-open-again]")
        assert browser.text("[data-opening] h1") == "Open a record"
        # The browser itself logs that the answer was a refusal.
        browser.behaved(but=("status of 422",))

    def test_twenty_megabytes(self, browser: Browser, tmp_path: Path) -> None:
        """Progress is told, the tab stays alive all the while, and the view stands in the end."""
        file = tmp_path / "large.json"
        file.write_bytes(large_record())
        browser.visit()
        browser.do(
            "run",
            code="""(() => { window.longest = 0; window.told = new Set(); let last = performance.now();
              setInterval(() => {
                const now = performance.now();
                window.longest = Math.max(window.longest, now - last);
                last = now;
                const bar = document.querySelector('[data-progress]');
                const words = document.querySelector('[data-progress-words]').textContent;
                if (!bar.hidden) window.told.add(words);
              }, 20); })()""",
        )
        browser.do("choose", at="[data-file]", file=str(file))
        browser.do("until", code="document.documentElement.dataset.shown", within=120_000)
        longest = browser.do("run", code="window.longest")
        told = browser.do("run", code="[...window.told]")
        assert longest < 2_000
        assert any("20.2 MB" in words for words in told)
        assert browser.text("h1") == "Ambrose Tidewell"
        browser.behaved()
        browser.picture("twenty-megabytes")

    def test_can_be_cancelled(self, browser: Browser, tmp_path: Path) -> None:
        """A large file on its way can be called back; the opening page stays."""
        file = tmp_path / "large.json"
        file.write_bytes(large_record())
        browser.visit()
        browser.do("choose", at="[data-file]", file=str(file))
        browser.do("until", code="!document.querySelector('[data-progress]').hidden")
        browser.do("click", at="[data-cancel]")
        browser.do("until", code="document.querySelector('[data-progress]').hidden")
        assert browser.text("[data-opening] h1") == "Open a record"
