/* The sheet: every strip on one time axis, one cursor for all, a slider for hands and keys. */
"use strict";

Weatherglass.sheet = (() => {
  const strips = Weatherglass.strips;
  const HOUR = 3600;
  let sheets = 0;

  /** Every strip that has something to draw, with its kind. */
  function plan(section, drawing) {
    const found = [];
    for (const holder of section.querySelectorAll("[data-strip]")) {
      const key = holder.dataset.strip;
      let kind = key;
      let values = null;
      if (key === "score" || key === "parts") values = drawing.score;
      else if (key === "kidneys") values = drawing.kidneys;
      else if (key.startsWith("given-")) {
        kind = "given";
        values = drawing.treatments.rows[Number(key.slice(6))];
      } else {
        values = drawing.strips[key] || null;
        kind = values ? values.kind : "";
      }
      if (values) found.push({ holder, kind, values, place: holder.querySelector("[data-draw]") });
    }
    return found;
  }

  /** First and last moment of what is measured at the bedside. */
  function extent(drawing) {
    const times = [];
    for (const one of Object.values(drawing.strips)) {
      for (const row of one.lines || [one]) if (row.at.length) times.push(row.at[0], row.at[row.at.length - 1]);
    }
    if (!times.length && drawing.kidneys) times.push(drawing.kidneys.at[0], drawing.kidneys.at[drawing.kidneys.at.length - 1]);
    const end = drawing.asOf;
    const start = times.length ? Math.min(...times) : end - 24 * HOUR;
    return [Math.min(start, end - HOUR), end];
  }

  /** Give a section its drawings; returns what can be asked of it later. */
  function open(section) {
    const drawing = JSON.parse(section.querySelector("[data-drawing]").textContent);
    const planned = plan(section, drawing);
    const [first, last] = extent(drawing);
    const room = (hours) => Math.max(0.02 * hours * HOUR, 600);
    let shown = [first - room((last - first) / HOUR), last + room((last - first) / HOUR)];
    let plots = [];
    let finer = 1;
    sheets += 1;
    const sync = `sheet-${sheets}`;

    function choose(hours) {
      const start = hours ? Math.max(last - hours * HOUR, first) : first;
      const edge = room((last - start) / HOUR);
      shown = [start - edge, last + edge];
      for (const button of section.querySelectorAll("[data-hours]")) {
        button.setAttribute("aria-pressed", String(Number(button.dataset.hours) === hours));
      }
    }

    function show(hours) {
      choose(hours);
      redraw();
    }

    function redraw() {
      for (const { made } of plots) made.setScale("x", { min: shown[0], max: shown[1] });
    }

    function tell(item, made, index) {
      const said = strips.saidAt(item.kind, item.values, made, index);
      const now = item.holder.querySelector("[data-now]");
      if (!said || !now) return;
      if (item.latest === undefined) {
        item.latest = [now.textContent, item.holder.querySelector("[data-now-at]").textContent];
      }
      section.querySelector("[data-strips]").classList.add("is-looking");
      now.textContent = said.words;
      item.holder.querySelector("[data-now-at]").textContent = said.when || strips.clock(said.at, drawing.asOf);
    }

    /** Beside the strips stands the newest value again, and no longer that of an earlier moment. */
    function restore() {
      section.querySelector("[data-strips]").classList.remove("is-looking");
      for (const item of planned) {
        if (item.latest === undefined) continue;
        [item.holder.querySelector("[data-now]").textContent, item.holder.querySelector("[data-now-at]").textContent] = item.latest;
      }
    }

    /** Take the room that the drawings will need, without drawing them. */
    function reserve(options) {
      planned.forEach((item, index) => {
        item.place.replaceChildren();
        item.place.style.height = `${strips.heightOf(item.kind, item.values, { ...options, withTimes: withTimes(index) })}px`;
      });
    }

    const withTimes = (index) => index === 0 || index === planned.length - 1;

    function draw({ fine = 1, shrink = 1, grow = 1 } = {}) {
      for (const { made } of plots) made.destroy();
      finer = fine;
      const axis = strips.axisFor(planned, grow);
      // All widths are read before the first strip is drawn: one layout instead of one a strip.
      plots = planned.map((item, index) => {
        item.place.replaceChildren();
        const options = {
          sync, fine, shrink, grow, axis, asOf: drawing.asOf, window: () => shown,
          withTimes: withTimes(index),
          onCursor: (self) => {
            if (self.cursor.left === null || self.cursor.left < 0) restore();
            else tell(item, self, self.cursor.idx);
          },
          onSelect: (self) => {
            if (self.select.width < 12) return;
            shown = [self.posToVal(self.select.left, "x"), self.posToVal(self.select.left + self.select.width, "x")];
            for (const button of section.querySelectorAll("[data-hours]")) button.setAttribute("aria-pressed", "false");
            for (const { made } of plots) made.setSelect({ left: 0, top: 0, width: 0, height: 0 }, false);
            redraw();
          },
        };
        return { item, made: strips.plot(item.place, item.kind, item.values, options) };
      });
    }

    function resize() {
      const widths = plots.map(({ item }) => item.place.clientWidth);
      plots.forEach(({ made }, index) => {
        const width = widths[index] * finer;
        if (width > 0 && Math.abs(width - made.width) > finer) made.setSize({ width, height: made.height });
      });
    }

    /** A slider over the moments at which something was measured: the cursor for keys and thumbs. */
    function slider() {
      const moments = [...new Set(planned.filter((item) => !["given", "kidneys"].includes(item.kind))
        .flatMap((item) => (item.values.lines ? item.values.lines[0].at : item.values.at)))].sort((a, b) => a - b);
      const holder = section.querySelector("[data-look]");
      if (moments.length < 2) return;
      const range = holder.querySelector("[data-look-range]");
      const words = holder.querySelector("[data-look-at]");
      holder.hidden = false;
      range.max = String(moments.length - 1);
      range.value = range.max;
      const say = () => {
        const at = moments[Number(range.value)];
        words.textContent = strips.clock(at, drawing.asOf);
        const values = planned.map((item) => valueAt(item, at)).filter(Boolean).join("; ");
        range.setAttribute("aria-valuetext", `${strips.clock(at, drawing.asOf)}: ${values}`);
        return at;
      };
      say();
      range.addEventListener("input", () => {
        const at = say();
        if (at < shown[0] || at > shown[1]) show(0);
        for (const { made } of plots) made.setCursor({ left: made.valToPos(at, "x"), top: 0 });
      });
      range.addEventListener("blur", () => {
        for (const { made } of plots) made.setCursor({ left: -10, top: -10 });
        restore();
      });
    }

    function valueAt(item, at) {
      const rows = item.values.lines || (item.values.said ? [item.values] : []);
      const said = rows.map((row) => row.said[row.at.indexOf(at)]).filter(Boolean);
      const name = item.holder.querySelector("h3");
      return said.length && name ? `${name.textContent.trim()} ${said.join("/")}` : "";
    }

    section.querySelector("[data-sheet-tools]").hidden = planned.length === 0;
    for (const button of section.querySelectorAll("[data-hours]")) {
      const hours = Number(button.dataset.hours);
      button.hidden = hours * HOUR >= last - first && hours !== 0;
      button.addEventListener("click", () => show(hours));
    }
    choose(last - first > 72 * HOUR ? 72 : 0);
    draw();
    slider();
    return { draw, reserve, resize, close: () => plots.forEach(({ made }) => made.destroy()) };
  }

  return { open };
})();
