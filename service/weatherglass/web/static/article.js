/* Brings a rendered review to life: its log, its copy button, its print. Used by the page and by a saved review alike. */
"use strict";

Weatherglass.article = (() => {
  const root = document.documentElement;
  const A4_HEIGHT_MM = 297 - 18;
  // Body text of 17 px at a zoom of 0.74 is 9.4 pt, at 0.58 it is 7.4 pt; nothing is smaller than 7 pt.
  const LARGEST = 0.74;
  const SMALLEST = 0.58;
  const OVER_SIDES = 0.66;
  const LEAST_PX = 9.4;
  let open = [];
  let foot = () => {};

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

  /** Set the page as paper: one side if it can be read there, or else as many as it takes. */
  function prepare(what) {
    if (root.dataset.print) return;
    root.dataset.print = what;
    const whole = what === "handover" ? 0.92 : LARGEST;
    // A ward takes the sheets that it takes. One patient fits one side; or one side without what is
    // routine, and the paper says so; or both sides of a sheet; or else as many as it needs.
    setSize(whole, false);
    const ways = [[1, false], [1, true], [2, false], [3, false]];
    if (open.length === 1 && !ways.some(([sides, brief]) => fitOn(sides, whole, brief))) setSize(OVER_SIDES, false);
    for (const sheet of open) sheet.resize();
    foot = footOf(document.querySelectorAll("[data-article]"));
  }

  /** Whose sheet it is, at the foot of every one: sheets get loose. Returns what takes it away again. */
  function footOf(articles) {
    const said = (text) => `"${text.replace(/[^\p{L}\p{N} .,:;+()-]/gu, (sign) => `\\${sign.codePointAt(0).toString(16)} `)}"`;
    const who = articles.length === 1 ? articles[0].dataset.foot : "";
    const style = document.styleSheets[0];
    const letters = "font: 7.5pt system-ui, sans-serif; color: #18242e; vertical-align: top;";
    const place = style.insertRule(
      `@page { @bottom-left { content: ${said(who)}; ${letters} } @bottom-right { content: counter(page) " of " counter(pages); ${letters} } }`,
      style.cssRules.length,
    );
    return () => style.deleteRule(place);
  }

  /** Make the print smaller until it fits so many sides, as long as it can be read. */
  function fitOn(sides, largest, brief) {
    // A little room to spare: on paper lines break a hair differently, and nothing is cut in two at an edge.
    const limit = (sides === 1 ? 0.98 : 0.94 * sides) * (A4_HEIGHT_MM / 25.4) * 96;
    const paper = document.querySelector("main");
    if (sides > 1) root.dataset.printSides = "";
    for (let zoom = largest; zoom > SMALLEST - 0.001; zoom -= 0.03) {
      setSize(zoom, brief);
      if (paper.getBoundingClientRect().height <= limit) return true;
    }
    return false;
  }

  /** Everything is drawn anew: letters on a canvas keep to the least size too. */
  function setSize(zoom, brief) {
    root.style.setProperty("--print-zoom", zoom.toFixed(2));
    if (brief) root.dataset.printBrief = "";
    else delete root.dataset.printBrief;
    for (const sheet of open) sheet.draw({ fine: 3, shrink: 0.8, grow: Math.max(1, LEAST_PX / zoom / 11) });
  }

  function restore() {
    delete root.dataset.print;
    delete root.dataset.printBrief;
    delete root.dataset.printSides;
    root.style.removeProperty("--print-zoom");
    foot();
    foot = () => {};
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
