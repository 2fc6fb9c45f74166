/* Brings a rendered review to life: its log, its copy button, its print. Used by the page and by a saved review alike. */
"use strict";

Weatherglass.article = (() => {
  const root = document.documentElement;
  const A4_HEIGHT_MM = 297 - 18;
  let open = [];

  /** Take over every review inside an element. */
  function enliven(within) {
    for (const sheet of open) sheet.close();
    open = [];
    for (const section of within.querySelectorAll("[data-sheet]")) open.push(Weatherglass.sheet.open(section));
    // Figures on the canvas do not change by themselves when the typeface arrives.
    if (!document.fonts.check("12px Hyperlegible")) document.fonts.ready.then(redraw);
    for (const section of within.querySelectorAll("[data-handover]")) handover(section);
    for (const article of within.querySelectorAll("[data-article]")) running(article);
    for (const column of within.querySelectorAll("[data-beside]")) beside(column);
  }

  /** Who this is stays in sight: the running line says it once the head has scrolled away. */
  function running(article) {
    const line = article.querySelector("[data-running]");
    new IntersectionObserver(([head]) => line.classList.toggle("is-stuck", !head.isIntersecting))
      .observe(article.querySelector("[data-title]"));
  }

  /** The log stays beside the findings as far as it can: its end is reached before it stops moving. */
  function beside(column) {
    new ResizeObserver(() => {
      const top = Math.min(64, innerHeight - column.offsetHeight - 16);
      column.style.setProperty("--beside", `${top}px`);
    }).observe(column);
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
        prepare(button.dataset.print);
        print();
      });
    }
  }

  function textOf(holder) {
    return [...holder.children]
      .map((part) => [...part.children].map((line) => line.textContent).join("\n"))
      .join("\n\n");
  }

  /** Set the page as paper and make it smaller until one patient fits one sheet. */
  function prepare(what) {
    if (root.dataset.print) return;
    root.dataset.print = what;
    // A little room to spare: on paper lines break a hair differently.
    const limit = 0.98 * (A4_HEIGHT_MM / 25.4) * 96;
    const main = document.querySelector("main");
    const tooTall = () => open.length === 1 && main.getBoundingClientRect().height > limit;
    let zoom = what === "handover" ? 0.92 : 0.74;
    root.style.setProperty("--print-zoom", String(zoom));
    for (const sheet of open) sheet.draw({ sharpness: 4, shrink: 0.8 });
    // A ward may take several sheets; one patient may not. Below a size that can be read, what is
    // routine stays off the paper, and the paper says so.
    while (tooTall() && zoom > 0.4) {
      zoom -= 0.02;
      if (zoom < 0.56 && root.dataset.printBrief === undefined) {
        root.dataset.printBrief = "";
        zoom = 0.74;
      }
      root.style.setProperty("--print-zoom", zoom.toFixed(2));
    }
    for (const sheet of open) sheet.resize();
  }

  function restore() {
    delete root.dataset.print;
    delete root.dataset.printBrief;
    root.style.removeProperty("--print-zoom");
    for (const sheet of open) sheet.draw();
  }

  addEventListener("beforeprint", () => prepare("sheet"));
  addEventListener("afterprint", restore);

  let waiting = 0;
  addEventListener("resize", () => {
    cancelAnimationFrame(waiting);
    waiting = requestAnimationFrame(() => {
      if (!root.dataset.print) for (const sheet of open) sheet.resize();
    });
  });
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => redraw());
  function redraw() {
    if (!root.dataset.print) for (const sheet of open) sheet.draw();
  }

  if (!document.querySelector("[data-view]")) {
    addEventListener("DOMContentLoaded", () => enliven(document));
  }
  return { enliven, redraw };
})();
