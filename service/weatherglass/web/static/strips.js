/* One strip of the log on a uPlot canvas. Kinds: line, step, score, parts, kidneys, given. */
"use strict";

Weatherglass.strips = (() => {
  const ink = Weatherglass.ink;
  const LEAST_AXIS = 60;
  const DAY = 86400;
  const utc = (seconds) => uPlot.tzDate(new Date(seconds * 1000), "Etc/UTC");
  const MONTHS = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split(" ");
  const two = (number) => String(number).padStart(2, "0");
  const dayWords = (date) => `${date.getUTCDate()} ${MONTHS[date.getUTCMonth()]}`;

  /** Write a moment of the record's own clock; the day only when it is not that of the review. */
  function clock(seconds, now) {
    const date = new Date(seconds * 1000);
    const time = `${two(date.getUTCHours())}:${two(date.getUTCMinutes())}`;
    return Math.floor(seconds / DAY) === Math.floor(now / DAY) ? time : `${time}, ${dayWords(date)}`;
  }

  const HEIGHTS = { line: 66, score: 116, parts: 0, step: 0, kidneys: 74, given: 28 };

  /** Below a strip stand its times, or half a figure of the scale. */
  const footOf = (withTimes, grow) => (withTimes ? 34 : 5) * grow;

  /** How high a strip is, with its line of times where it has one. */
  function heightOf(kind, drawing, { shrink, grow, withTimes }) {
    let height = HEIGHTS[kind];
    if (drawing.lines && drawing.lines.length > 1) height = 92;
    // A row a word: it needs room for its letters.
    if (kind === "parts") height = (6 + 17 * drawing.parts.length) * grow;
    if (kind === "kidneys") height *= grow;
    if (kind === "step") height = Math.max(44, 14 + 18 * drawing.words.length) * grow;
    return Math.round(height * (["parts", "step", "kidneys"].includes(kind) ? Math.max(shrink, 0.9) : shrink)) + footOf(withTimes, grow);
  }

  /** How wide the words beside the strips are: one width for all, so that all begin at one place. */
  function axisFor(planned, grow) {
    const ctx = document.createElement("canvas").getContext("2d");
    ctx.font = ink.font(12, ink.palette(grow));
    const words = planned.flatMap(({ kind, values }) => (labelsOf(kind, values) || { values: [] }).values.map(shortened));
    return Math.ceil(Math.max(LEAST_AXIS * grow, ...words.map((word) => ctx.measureText(word).width + 12)));
  }

  /** The rows of numbers that uPlot wants: times, then a row a line. */
  function rowsOf(kind, drawing, span) {
    if (kind === "line") {
      if (drawing.lines.length === 1) return [drawing.lines[0].at, drawing.lines[0].value];
      return uPlot.join(drawing.lines.map((one) => [one.at, one.value]));
    }
    if (kind === "score") return [drawing.at, drawing.lowest];
    if (kind === "parts") return [drawing.at, drawing.at.map(() => 0)];
    if (kind === "given") return [[span[0], span[1]], [0, 0]];
    return [drawing.at, drawing.value];
  }

  function rangeOf(kind, drawing) {
    if (kind === "step") return [-0.6, Math.max(1, drawing.words.length - 1) + 0.6];
    if (kind === "parts") return [0, drawing.parts.length];
    if (kind === "given") return [-1, 1];
    if (kind === "score") return [0, Math.max(10, ...drawing.highest) + 1.5];
    const values = drawing.lines ? drawing.lines.flatMap((one) => one.value) : [...drawing.value];
    if (drawing.usual) values.push(...drawing.usual);
    for (const one of drawing.references || []) values.push(one.value);
    let low = values[0];
    let high = values[0];
    for (const value of values) {
      if (value < low) low = value;
      if (value > high) high = value;
    }
    const span = drawing.span || (high - low || Math.abs(high) || 1) * 1.2;
    // The stages stand above and below the results.
    const room = Math.max(span - (high - low), 0) / 2 + span * (kind === "kidneys" ? 0.32 : 0.06);
    // And the words of a reference under its line, which is often the lowest.
    const below = (drawing.references || []).length ? 0.2 * span : 0;
    return [low - room - below, high + room];
  }

  function labelsOf(kind, drawing) {
    if (kind === "step") return { splits: drawing.words.map((_, i) => i), values: drawing.words };
    if (kind === "parts") {
      const count = drawing.parts.length;
      return { splits: drawing.parts.map((_, i) => count - i - 0.5), values: drawing.parts.map((one) => one.label) };
    }
    if (kind === "given") return { splits: [], values: [] };
    return null;
  }

  const SHORT = {
    "nasal cannula": "cannula", "simple mask": "mask", "Venturi mask": "Venturi", "reservoir mask": "reservoir",
    "oxygen, device not named": "oxygen", "new confusion": "confused", "responds to voice": "voice", "responds to pain": "pain",
  };

  const shortened = (word) => SHORT[word] || word;

  function axesOf(kind, drawing, tones, { withTimes, axis, grow, fine }) {
    const labels = labelsOf(kind, drawing);
    return [
      {
        size: footOf(withTimes, grow) * fine, gap: 3 * fine, stroke: tones.soft, font: ink.font(12 * fine, tones),
        space: 46 * grow * fine, grid: { stroke: tones.hair, width: fine }, ticks: { show: false },
        values: (plot, splits) => splits.map((at, index) => {
          if (!withTimes) return "";
          const date = new Date(at * 1000);
          const first = index === 0 || Math.floor(at / DAY) !== Math.floor(splits[index - 1] / DAY);
          const hour = `${two(date.getUTCHours())}:${two(date.getUTCMinutes())}`;
          return first ? `${hour}\n${dayWords(date)}` : hour;
        }),
      },
      {
        size: axis * fine, gap: 5 * fine, stroke: tones.soft, font: ink.font(12 * fine, tones), ticks: { show: false },
        space: (kind === "score" ? 24 : 18) * grow * fine,
        grid: { show: kind !== "given", stroke: tones.hair, width: kind === "parts" ? 0 : fine },
        ...(labels ? { splits: () => labels.splits, values: () => labels.values.map(shortened) } : {}),
      },
    ];
  }

  function seriesOf(kind, drawing, tones, fine) {
    const points = (plot) => plot.data[0].length < 400;
    const dot = { show: points, size: 5 * fine, width: 0, fill: tones.ink };
    if (kind === "parts" || kind === "given") return [{}, { show: true, stroke: "transparent", points: { show: false }, paths: () => null }];
    if (kind === "score") return [{}, { stroke: tones.ink, width: 2 * fine, paths: uPlot.paths.stepped({ align: 1 }), points: dot }];
    if (kind === "step") return [{}, { stroke: tones.ink, width: 2 * fine, paths: uPlot.paths.stepped({ align: 1 }), points: { ...dot, size: 4 * fine } }];
    const lines = (drawing.lines || [drawing]).map((_, index) => ({
      stroke: index ? tones.soft : tones.ink, width: (index ? 1 : 1.5) * fine, spanGaps: true,
      points: index ? { show: points, size: 4 * fine, width: fine, stroke: tones.soft, fill: tones.paper } : dot,
    }));
    return [{}, ...lines];
  }

  /** Make the strip's plot inside an element. For paper it is made `fine` times as large and shown so much smaller. */
  function plot(holder, kind, drawing, options) {
    const tones = ink.palette(options.grow, options.fine);
    const { fine } = options;
    const [low, high] = rangeOf(kind, drawing);
    const marks = Weatherglass.marks[kind] || (() => {});
    const height = heightOf(kind, drawing, options);
    // The plot is drawn a moment later; its place is taken at once, so that the page can be measured.
    holder.style.height = `${height}px`;
    const made = new uPlot({
      width: Math.max(120, holder.clientWidth) * fine, height: height * fine,
      padding: [5 * options.grow * fine, 18 * fine, 2 * fine, 0], tzDate: utc, pxAlign: 1, legend: { show: false },
      cursor: {
        y: false, sync: { key: options.sync, scales: ["x", null] }, drag: { x: true, y: false, setScale: false },
        points: { show: kind !== "given" && kind !== "parts", size: 9, width: 2, stroke: tones.ink, fill: tones.paper }, focus: { prox: -1 },
      },
      scales: { x: { time: true, range: () => options.window() }, y: { range: [low, high] } },
      axes: axesOf(kind, drawing, tones, options),
      series: seriesOf(kind, drawing, tones, fine),
      hooks: {
        drawAxes: [(self) => Weatherglass.marks.under(self, drawing, tones, options)],
        draw: [(self) => marks(self, drawing, tones)],
        setCursor: [(self) => options.onCursor(self)],
        setSelect: [(self) => options.onSelect(self)],
      },
    }, rowsOf(kind, drawing, options.window()), holder);
    made.root.style.zoom = String(1 / fine);
    // The label on the holder says all that the canvas shows.
    made.root.setAttribute("aria-hidden", "true");
    return made;
  }

  /** Say what a strip shows at a place: the word and its time. */
  function saidAt(kind, drawing, plotted, index) {
    if (index === null || index === undefined || kind === "given" || kind === "parts") return null;
    const at = plotted.data[0][index];
    if (kind === "line") {
      const words = drawing.lines.map((one) => { const i = one.at.indexOf(at); return i < 0 ? "–" : one.said[i]; });
      return { words: words.join("/"), at };
    }
    return { words: drawing.said[index], at, when: drawing.when && drawing.when[index] };
  }

  return { plot, heightOf, clock, saidAt, axisFor, DAY };
})();
