/* A review on paper: one side of A4 a patient that can be read, or the whole review on as many as it takes. */
"use strict";

Weatherglass.paper = (() => {
  const root = document.documentElement;
  const SIDE_PX = ((297 - 18) / 25.4) * 96;
  // A little room to spare: on paper lines break a hair differently.
  const LIMIT = 0.985 * SIDE_PX;
  // Body text of 17 px at a zoom of 0.78 is 9.9 pt, at 0.56 it is 7.1 pt; nothing is smaller than 7 pt.
  const LARGEST = 0.78;
  const SMALLEST = 0.56;
  const STEP = 0.02;
  const WHOLE = 0.6;
  const HANDOVER = 0.92;
  const LEAST_PX = 9.4;
  const SHRINK = 0.62;
  /** How much of the width the findings take beside the log; the one that makes the side shortest. */
  const SHARES = ["44%", "48%", "52%", "56%", "60%"];
  /** The kidneys stand under the one of the two that is shorter. */
  /** The words that name what is left out take less than this. */
  const WORDS_PX = 40;
  const PLACES = ["findings", "log"].flatMap((kidneys) => SHARES.map((share) => ({ kidneys, share })));
  /** What a side does without when it is too short, the most dispensable first. The side says what it is. */
  const DISPENSABLE = ["further", "echoes", "routine", "rounds", "cautions", "restarts", "unspoken", "mechanisms", "reasons", "results", "strips"];
  let taken = [];

  /** Set the page as paper; `sheets` are the open logs by their article. */
  function lay(what, sheets) {
    if (root.dataset.print) return;
    root.dataset.print = what;
    zoom(root, WHOLE);
    for (const [article, sheet] of sheets) {
      if (what === "side") oneSide(article, sheet);
      else if (what === "whole") sheet.draw(drawnAt(WHOLE, 0.8));
      else enlarge(HANDOVER, (size) => zoom(article, size) || heightOf(article) <= LIMIT);
    }
    const articles = [...document.querySelectorAll("[data-article]")];
    taken = articles.map((article) => footOf(article, articles.length === 1));
  }

  /** Everything as it was. */
  function takeUp(sheets) {
    delete root.dataset.print;
    root.style.removeProperty("--print-zoom");
    for (const undo of taken.reverse()) undo();
    taken = [];
    for (const [article, sheet] of sheets) {
      leave(article, []);
      delete article.dataset.without;
      delete article.dataset.kidneys;
      article.style.removeProperty("--print-zoom");
      columnsOf(article).style.removeProperty("--share");
      for (const one of article.querySelectorAll("[data-shed], [data-away]")) {
        delete one.dataset.shed;
        delete one.dataset.away;
      }
      article.querySelector("[data-left='shed']").hidden = true;
      sheet.draw();
    }
  }

  const zoom = (element, size) => element.style.setProperty("--print-zoom", size.toFixed(2));
  const heightOf = (element) => element.getBoundingClientRect().height;

  const columnsOf = (article) => article.querySelector(".columns");

  /** The largest letters that fit, or the smallest. */
  function enlarge(largest, fits) {
    let size = largest;
    while (!fits(size) && size > SMALLEST) size = Math.max(size - STEP, SMALLEST);
    return size;
  }

  /** Letters on a canvas keep to the least size too. */
  const drawnAt = (size, shrink) => ({ fine: 3, shrink, grow: Math.max(1, LEAST_PX / size / 11) });

  /** Everything, if that can be read; then without what can be spared; then without the least urgent. */
  function oneSide(article, sheet) {
    letters(article, sheet, SMALLEST);
    const fits = () => fitting(article, PLACES).length > 0;
    leave(article, []);
    for (const one of routineOf(article)) one.toggleAttribute("data-away", true);
    const without = DISPENSABLE.slice(0, fewest(DISPENSABLE.length, (many) => {
      leave(article, DISPENSABLE.slice(0, many));
      return fits();
    }));
    leave(article, without);
    shed(article, fits);
    leave(article, stillWithout(article, without));
    if (!article.querySelector("[data-shed]")) bringBackRoutine(article);
    const size = largest(article, sheet);
    letters(article, sheet, size);
    shortest(article);
    sheet.draw(drawnAt(size, SHRINK));
  }

  /** The letters of a side, and the room for its drawings. */
  function letters(article, sheet, size) {
    zoom(article, size);
    sheet.reserve(drawnAt(size, SHRINK));
  }

  /** How few it takes, when more never fits worse; all of them when even they are not enough. */
  function fewest(all, fits) {
    if (fits(0)) return 0;
    let [few, enough] = [0, all];
    while (enough - few > 1) {
      const middle = (few + enough) >> 1;
      if (fits(middle)) enough = middle;
      else few = middle;
    }
    return enough;
  }

  /** What turned out to take no room, beside a longer column, comes back: the most needed first. */
  function stillWithout(article, without) {
    if (!without.length) return without;
    // What is much too long already does not fit with more.
    const near = PLACES.filter((place) => heightIn(article, place) <= LIMIT + WORDS_PX);
    let still = without;
    for (const one of [...without].reverse()) {
      const rest = still.filter((other) => other !== one);
      leave(article, rest);
      if (fitting(article, near).length) still = rest;
    }
    return still;
  }

  /** The largest letters with which the side fits: a place that is too short for some is so for larger ones. */
  function largest(article, sheet) {
    let size = SMALLEST;
    let places = PLACES;
    while (size < LARGEST) {
      const next = Math.min(size + STEP, LARGEST);
      letters(article, sheet, next);
      places = fitting(article, places);
      if (!places.length) break;
      size = next;
    }
    return size;
  }

  /** How high the side is with this place for the kidneys and this share of the width for the findings. */
  function heightIn(article, { kidneys, share }) {
    article.dataset.kidneys = kidneys;
    columnsOf(article).style.setProperty("--share", share);
    return heightOf(article);
  }

  /** The places from the first in which the side fits; none when it fits in none. */
  function fitting(article, places) {
    const first = places.findIndex((place) => heightIn(article, place) <= LIMIT);
    return first < 0 ? [] : places.slice(first);
  }

  /** Give the findings the share of the width, and the kidneys the place, that make the side shortest. */
  function shortest(article) {
    const heights = PLACES.map((place) => heightIn(article, place));
    heightIn(article, PLACES[heights.indexOf(Math.min(...heights))]);
  }

  /** Leave out what is named, and name it. */
  function leave(article, without) {
    article.dataset.without = without.join(" ");
    for (const said of article.querySelectorAll("[data-left]")) {
      if (said.dataset.left !== "shed") said.hidden = !without.includes(said.dataset.left);
    }
    countRoutine(article);
  }

  /** What calls for nothing and misses nothing; what began or changed comes before the rest. */
  function routineOf(article) {
    const isNews = (one) => Number(Boolean(one.querySelector(".standing")));
    return [...article.querySelectorAll(".finding-0")].filter((one) => !one.querySelector(".missing"))
      .sort((a, b) => isNews(b) - isNews(a));
  }

  /** Of the routine findings as many as there is room for. */
  function bringBackRoutine(article) {
    if (!article.dataset.without.includes("routine")) return;
    let places = PLACES.filter((place) => heightIn(article, place) <= LIMIT);
    for (const one of routineOf(article)) {
      one.toggleAttribute("data-away", false);
      const room = fitting(article, places);
      if (room.length) places = room;
      else one.toggleAttribute("data-away", true);
    }
    countRoutine(article);
  }

  /** The side says how many of them it does without. */
  function countRoutine(article) {
    const away = article.querySelectorAll("[data-away]").length;
    const said = article.querySelector("[data-left='routine']");
    said.textContent = `${away} routine finding${away > 1 ? "s" : ""}.`;
    said.hidden ||= away === 0;
  }

  /** Take the least urgent findings and lines of the chart off the side until it fits; the side counts them. */
  function shed(article, fits) {
    if (fits()) return;
    const urgency = (one) => Number(one.dataset.level);
    const order = [...article.querySelectorAll(".finding, .medicine")]
      .filter((one) => one.getClientRects().length).reverse().sort((a, b) => urgency(a) - urgency(b));
    if (!order.length) return; // The head alone is longer than a side.
    const said = article.querySelector("[data-left='shed']");
    said.hidden = false;
    said.textContent = shedWords(order);
    const shedFirst = (many) => {
      order.forEach((one, index) => one.toggleAttribute("data-shed", index < many));
      return fits();
    };
    const enough = fewest(order.length, shedFirst);
    shedFirst(enough);
    shortest(article);
    // The last one may have made more room than was needed: others that are as urgent come back.
    const last = urgency(order[enough - 1]);
    for (const one of order.slice(0, enough).reverse().filter((other) => urgency(other) === last)) {
      one.toggleAttribute("data-shed", false);
      if (heightOf(article) > LIMIT) one.toggleAttribute("data-shed", true);
    }
    said.textContent = shedWords(order.filter((one) => one.hasAttribute("data-shed")));
  }

  function shedWords(gone) {
    const count = (kind, one, more) => {
      const of = gone.filter((other) => other.matches(kind)).length;
      return of ? [`${of} ${of > 1 ? more : one}`] : [];
    };
    const findings = count(".finding", "finding", "findings");
    const suggestions = count(".medicine", "suggestion for the drug chart", "suggestions for the drug chart");
    return `Of the less urgent, ${[...findings, ...suggestions].join(" and ")}.`;
  }

  /** Whose sheet it is, at the foot of every one: sheets get loose. Returns what takes it away again. */
  function footOf(article, alone) {
    const said = (text) => `"${text.replace(/[^\p{L}\p{N} .,:;+()-]/gu, (sign) => `\\${sign.codePointAt(0).toString(16)} `)}"`;
    const letters = "font: 7.5pt system-ui, sans-serif; color: #18242e; vertical-align: top;";
    const count = alone ? `@bottom-right { content: counter(page) " of " counter(pages); ${letters} }` : "";
    const style = document.styleSheets[0];
    const rule = `@page ${article.id} { @bottom-left { content: ${said(article.dataset.foot)}; ${letters} } ${count} }`;
    const place = style.insertRule(rule, style.cssRules.length);
    article.style.setProperty("page", article.id);
    return () => {
      style.deleteRule(place);
      article.style.removeProperty("page");
    };
  }

  return { lay, takeUp };
})();
