/* Brings a rendered review to life: its log, its copy button, its print. Used by the page and by a saved review alike. */
"use strict";

Weatherglass.article = (() => {
  const root = document.documentElement;
  const paper = Weatherglass.paper;
  // The open log of each review, by its article.
  let open = new Map();

  /** Take over every review inside an element. */
  function enliven(within) {
    for (const sheet of open.values()) sheet.close();
    open = new Map([...within.querySelectorAll("[data-sheet]")].map(
      (section) => [section.closest("[data-article]"), Weatherglass.sheet.open(section)],
    ));
    // Figures on the canvas do not change by themselves when the typeface arrives.
    if (!document.fonts.check("12px Hyperlegible")) document.fonts.ready.then(redraw);
    for (const section of within.querySelectorAll("[data-handover]")) handover(section);
    for (const article of within.querySelectorAll("[data-article]")) {
      running(article);
      byClock(article);
      everything(article);
    }
    for (const column of within.querySelectorAll("[data-beside]")) beside(column);
    for (const ward of within.querySelectorAll("[data-ward]")) tickWard(ward);
  }

  /** Who this is stays in sight: the running line says it once the head has scrolled away. */
  function running(article) {
    const line = article.querySelector("[data-running]");
    new IntersectionObserver(([head]) => line.classList.toggle("is-stuck", !head.isIntersecting))
      .observe(article.querySelector("[data-title]"));
  }

  const lasting = (minutes) => {
    const [size, word] = minutes < 60 ? [1, "minute"] : minutes < 48 * 60 ? [60, "hour"] : [1440, "day"];
    const many = Math.round(minutes / size);
    return `${many} ${word}${many === 1 ? "" : "s"}`;
  };

  const since = (moment) => (Date.now() - Date.parse(moment)) / 60000;

  /** How old each thing is now, while it is of today. */
  function ages(within) {
    for (const one of within.querySelectorAll("[data-age-of]")) {
      const minutes = since(one.dataset.ageOf);
      one.hidden = !(minutes >= 1 && minutes <= 1440);
      if (!one.hidden) one.textContent = ` ${inShort(minutes)} ago`;
    }
  }

  const inShort = (minutes) => (minutes < 60 ? `${Math.floor(minutes)} min` : `${Math.floor(minutes / 60)} h${minutes % 60 >= 1 ? ` ${Math.floor(minutes % 60)} min` : ""}`);

  /** A deadline on the ward's list that has passed since the review, by this computer's clock. */
  function lateOnWard(row) {
    const late = since(row.dataset.due);
    const passed = row.dataset.due && since(row.dataset.moment) > late && since(row.dataset.moment) <= 1440;
    const said = row.querySelector("[data-late]");
    if (!said || !passed || late < 1) return;
    said.textContent = `Overdue ${inShort(late)}`;
    said.hidden = false;
  }

  /** How old the review is by this computer's clock, and a deadline that has passed since: every minute anew. */
  function byClock(article) {
    const minutes = since(article.dataset.moment);
    ages(article);
    const said = article.querySelector("[data-by-clock]");
    said.hidden = Math.abs(minutes) < 1;
    said.textContent = `${lasting(Math.abs(minutes))} ${minutes > 0 ? "ago" : "ahead"}`;
    said.title = "by this computer's clock";
    said.classList.toggle("stale", Math.abs(minutes) > 1440);
    const overdue = article.querySelector("[data-overdue]");
    const due = Date.parse(article.dataset.due);
    // What was overdue at the review says so itself; here is what became so while it lay open, within a day.
    if (!overdue || due <= Date.parse(article.dataset.moment) || minutes > 1440) return;
    const late = (Date.now() - due) / 60000;
    overdue.hidden = late < 1;
    const words = `Overdue: the call was due ${lasting(late)} ago by this computer's clock.`;
    if (!overdue.hidden && overdue.textContent !== words) overdue.textContent = words;
  }

  function tickWard(ward) {
    ages(ward);
    ward.querySelectorAll("[data-row]").forEach(lateOnWard);
  }

  const tick = () => {
    document.querySelectorAll("[data-article]").forEach(byClock);
    document.querySelectorAll("[data-ward]").forEach(tickWard);
  };
  setInterval(tick, 60000);

  /** Everything that stands on demand, at once. */
  function everything(article) {
    const button = article.querySelector("[data-everything]");
    button.hidden = false;
    button.addEventListener("click", () => {
      const open = button.getAttribute("aria-pressed") !== "true";
      button.setAttribute("aria-pressed", String(open));
      article.classList.toggle("is-whole", open);
      for (const one of article.querySelectorAll("details")) one.open = open;
    });
    // A link to what stands on demand opens it.
    article.addEventListener("click", (event) => {
      const link = event.target.closest("a[href^='#']");
      const at = link && document.getElementById(link.getAttribute("href").slice(1));
      const aside = at && at.matches(".on-demand") && at.closest(".letter").querySelector(".aside");
      if (aside) aside.open = true;
    });
  }

  /** The log stays beside the findings as far as it can: its end is reached before it stops moving. */
  function beside(column) {
    new ResizeObserver(() => {
      const top = Math.min(64, innerHeight - column.offsetHeight - 16);
      column.style.setProperty("--beside", `${top}px`);
    }).observe(column);
    // What has the keyboard's focus must be in sight: a column that hangs above the edge comes down first.
    column.addEventListener("focusin", (event) => {
      if (!event.target.matches(":focus-visible")) return;
      column.classList.add("is-used");
      event.target.scrollIntoView({ block: "center", behavior: "instant" });
    });
    column.addEventListener("focusout", () => column.classList.remove("is-used"));
  }

  function handover(section) {
    section.querySelector("[data-handover-tools]").hidden = false;
    const done = section.querySelector("[data-copied]");
    section.querySelector("[data-copy]").addEventListener("click", async () => {
      const words = textOf(section.querySelector("[data-handover-text]"));
      try {
        await navigator.clipboard.writeText(words);
        done.textContent = "Copied.";
      } catch {
        done.textContent = "The browser did not allow copying; the text below is selected.";
        getSelection().selectAllChildren(section.querySelector("[data-handover-text]"));
      }
    });
    for (const button of section.querySelectorAll("[data-print]")) {
      button.addEventListener("click", () => {
        paper.lay(button.dataset.print, open);
        print();
      });
    }
  }

  function textOf(holder) {
    return [...holder.querySelectorAll(".spoken, .sbar > div")]
      .map((part) => [...part.children].map((line) => line.textContent).join("\n"))
      .join("\n\n");
  }

  addEventListener("beforeprint", tick);
  addEventListener("beforeprint", () => paper.lay("side", open));
  addEventListener("afterprint", () => paper.takeUp(open));

  let waiting = 0;
  addEventListener("resize", () => {
    cancelAnimationFrame(waiting);
    waiting = requestAnimationFrame(() => {
      if (!root.dataset.print) for (const sheet of open.values()) sheet.resize();
    });
  });
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => redraw());
  function redraw() {
    if (!root.dataset.print) for (const sheet of open.values()) sheet.draw();
  }

  if (!document.querySelector("[data-view]")) {
    addEventListener("DOMContentLoaded", () => enliven(document));
  }
  return { enliven, redraw, tick };
})();
