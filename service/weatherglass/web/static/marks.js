/* What is drawn by hand on the strips: usual ranges, open ends, tallies, device words, doses. */
"use strict";

Weatherglass.marks = (() => {
  const ink = Weatherglass.ink;
  const DAY = 86400;
  const scaleOf = (tones) => (devicePixelRatio || 1) * tones.fine;

  /** Under the line: midnights, the moment of the review, the patient's own usual range. */
  function under(plot, drawing, tones, options) {
    const { ctx, bbox } = plot;
    const px = scaleOf(tones);
    const [from, to] = options.window();
    for (let at = Math.ceil(from / DAY) * DAY; at < to; at += DAY) {
      const x = plot.valToPos(at, "x", true);
      ink.line(ctx, x, bbox.top, x, bbox.top + bbox.height, tones.rule, px);
    }
    if (options.asOf >= from && options.asOf <= to) {
      const x = plot.valToPos(options.asOf, "x", true);
      ink.line(ctx, x, bbox.top, x, bbox.top + bbox.height, tones.ink, px, [2 * px, 3 * px]);
    }
    if (drawing.usual) {
      const top = plot.valToPos(drawing.usual[1], "y", true);
      const bottom = plot.valToPos(drawing.usual[0], "y", true);
      ink.hatch(ctx, bbox.left, top, bbox.width, bottom - top, tones.hatch, px);
    }
    for (const one of drawing.references || []) {
      const y = plot.valToPos(one.value, "y", true);
      ink.line(ctx, bbox.left, y, bbox.left + bbox.width, y, tones.soft, px, [6 * px, 4 * px]);
    }
  }

  function inside(plot, x) {
    return x >= plot.bbox.left - 1 && x <= plot.bbox.left + plot.bbox.width + 1;
  }

  /** A cross at the top edge where a value was set aside as impossible. */
  function line(plot, drawing, tones) {
    const px = scaleOf(tones);
    for (const at of drawing.aside || []) {
      const x = plot.valToPos(at, "x", true);
      if (inside(plot, x)) ink.text(plot.ctx, "×", x, plot.bbox.top + 6 * px, tones.soft, 14 * px, tones, "center");
    }
  }

  /** An incomplete score is a span from its lowest to its highest possible total. */
  function score(plot, drawing, tones) {
    const px = scaleOf(tones);
    drawing.at.forEach((at, index) => {
      const x = plot.valToPos(at, "x", true);
      if (drawing.total[index] !== null || !inside(plot, x)) return;
      const low = plot.valToPos(drawing.lowest[index], "y", true);
      const high = plot.valToPos(drawing.highest[index], "y", true);
      ink.line(plot.ctx, x, low, x, high, tones.ink, 1.5 * px, [3 * px, 2 * px]);
      ink.ring(plot.ctx, x, high, 3 * px, tones.ink, 1.5 * px, tones.paper);
    });
    const last = drawing.at.length - 1;
    const x = plot.valToPos(drawing.at[last], "x", true);
    if (inside(plot, x)) ink.ring(plot.ctx, x, plot.valToPos(drawing.lowest[last], "y", true), 4.5 * px, tones.ink, px, tones.ink);
  }

  /** Each part in a row of its own: a bar as high as its points, a ring where it was missing. */
  function parts(plot, drawing, tones) {
    const px = scaleOf(tones);
    const count = drawing.parts.length;
    const most = Math.max(3, ...drawing.parts.flatMap((one) => one.points.map((points) => points || 0)));
    drawing.parts.forEach((one, row) => {
      const floor = plot.valToPos(count - row - 1, "y", true) - 2 * px;
      const full = 13 * px * (plot.bbox.height / px / (17 * count));
      ink.line(plot.ctx, plot.bbox.left, floor + px, plot.bbox.left + plot.bbox.width, floor + px, tones.hair, px);
      drawing.at.forEach((at, index) => {
        const x = plot.valToPos(at, "x", true);
        if (!inside(plot, x)) return;
        const points = one.points[index];
        if (points === null) {
          ink.ring(plot.ctx, x, floor - 4 * px, 2.5 * px, tones.ink, 1.2 * px, tones.paper);
        } else if (points > 0) {
          plot.ctx.fillStyle = tones.ink;
          const height = (full * points) / most;
          plot.ctx.fillRect(Math.round(x - 2 * px), floor - height, Math.round(4 * px), height);
        } else {
          plot.ctx.fillStyle = tones.rule;
          plot.ctx.fillRect(Math.round(x - px), floor - px, Math.round(2 * px), 2 * px);
        }
      });
    });
  }

  /** Litres and percentages at each change, the newest first, where there is room. */
  function step(plot, drawing, tones) {
    const px = scaleOf(tones);
    let free = Infinity;
    for (let index = drawing.at.length - 1; index >= 0; index -= 1) {
      const note = drawing.note[index];
      const changed = index === 0 || drawing.said[index] !== drawing.said[index - 1];
      const x = plot.valToPos(drawing.at[index], "x", true);
      if (!note || !changed || !inside(plot, x)) continue;
      plot.ctx.font = ink.font(11 * px, tones);
      const width = plot.ctx.measureText(note).width;
      const start = Math.min(x, plot.bbox.left + plot.bbox.width - width);
      if (start + width > free) continue;
      const y = plot.valToPos(drawing.value[index], "y", true) - 8 * px;
      ink.text(plot.ctx, note, start, y, tones.soft, 11 * px, tones);
      free = start - 4 * px;
    }
  }

  /** The stage by each criterion, above and below the result it belongs to. */
  function kidneys(plot, drawing, tones) {
    const px = scaleOf(tones);
    const apart = 10 * px * Math.max(1, 0.75 * tones.grow); // Figures grow on paper.
    const half = 7 * px * tones.grow; // Letters grow on paper, and their own line must not strike them.
    const figures = [];
    drawing.stages.forEach((criterion, which) => {
      criterion.stage.forEach((stage, index) => {
        const x = plot.valToPos(drawing.at[index], "x", true);
        if (stage === null || stage === 0 || !inside(plot, x)) return;
        const y = plot.valToPos(drawing.value[index], "y", true) + (which ? apart : -apart);
        ink.text(plot.ctx, String(stage), x, y, tones.ink, 12 * px, tones, "center", 700);
        figures.push({ x, y });
      });
    });
    const floor = plot.bbox.top + plot.bbox.height - 0.7 * half;
    named(plot, drawing.references || [], 2.2 * half).forEach((one) => {
      const words = `reference ${one.said.join(", ")}`;
      plot.ctx.font = ink.font(11 * px, tones);
      const width = plot.ctx.measureText(words).width;
      const left = plot.bbox.left + 4 * px;
      const right = plot.bbox.left + plot.bbox.width - 4 * px - width;
      // Under the line or above it, at the foot of the strip else: where no figure of a stage stands.
      const under = Math.min(one.y + 0.8 * half, floor);
      const over = Math.max(one.y - half, plot.bbox.top + half);
      const places = [under, over, floor].flatMap((y) => [{ x: right, y }, { x: left, y }]);
      const isFree = ({ x, y }) => !figures.some((figure) =>
        Math.abs(figure.y - y) < 1.3 * half && figure.x > x - half && figure.x < x + width + half);
      const { x, y } = places.find(isFree) || places[0];
      ink.text(plot.ctx, words, x, y, tones.soft, 11 * px, tones);
    });
  }

  /** References whose lines leave no room for words between them are named together, under the lowest. */
  function named(plot, references, room) {
    const groups = [];
    for (const one of [...references].sort((a, b) => b.value - a.value)) {
      const y = plot.valToPos(one.value, "y", true);
      const group = groups[groups.length - 1];
      if (!group || y - group.y >= room) groups.push({ y, said: [one.said] });
      else Object.assign(group, { y, said: [...new Set([...group.said, one.said])] });
    }
    return groups;
  }

  function given(plot, drawing, tones) {
    const px = scaleOf(tones);
    const y = plot.bbox.top + plot.bbox.height / 2;
    ink.line(plot.ctx, plot.bbox.left, y, plot.bbox.left + plot.bbox.width, y, tones.hair, px);
    drawing.from.forEach((from, index) => {
      const x0 = plot.valToPos(from, "x", true);
      const x1 = plot.valToPos(drawing.to[index], "x", true);
      if (drawing.to[index] > from && x1 > plot.bbox.left) {
        ink.line(plot.ctx, Math.max(x0, plot.bbox.left), y, Math.min(x1, plot.bbox.left + plot.bbox.width), y, tones.ink, 4 * px);
      }
      if (inside(plot, x0)) ink.diamond(plot.ctx, x0, y, 5.5 * px, tones.ink);
    });
  }

  return { under, line, score, parts, step, kidneys, given };
})();
