/* How the log is drawn: the page's own ink, hairlines, hatching. Nothing here knows what a value means. */
"use strict";
var Weatherglass = globalThis.Weatherglass || {};

Weatherglass.ink = (() => {
  /** Read the page's ink at the moment of drawing, so that night and print come out right. */
  function palette(grow = 1, fine = 1) {
    const style = getComputedStyle(document.documentElement);
    const tone = (name) => style.getPropertyValue(name).trim();
    return {
      ink: tone("--ink"), soft: tone("--ink-soft"), hair: tone("--hair"), rule: tone("--rule"),
      hatch: tone("--hatch"), paper: tone("--paper"), sans: tone("--sans"), grow, fine,
    };
  }

  /** A typeface for the canvas; on paper it grows by as much as the paper is made smaller.
      In whole pixels: the plotting library reads no other size. */
  const font = (size, tones, weight = 400) => `${weight} ${Math.ceil(size * tones.grow)}px ${tones.sans}`;

  /** Fill a band with slanting hairlines: a texture that survives grey, print and any eye. */
  function hatch(ctx, left, top, width, height, tone, scale) {
    if (width <= 0 || height <= 0) return;
    ctx.save();
    ctx.beginPath();
    ctx.rect(left, top, width, height);
    ctx.clip();
    ctx.strokeStyle = tone;
    ctx.lineWidth = scale;
    ctx.beginPath();
    for (let x = left - height; x < left + width; x += 5 * scale) {
      ctx.moveTo(x, top + height);
      ctx.lineTo(x + height, top);
    }
    ctx.stroke();
    ctx.restore();
  }

  function line(ctx, x0, y0, x1, y1, tone, width, dash = []) {
    ctx.save();
    ctx.strokeStyle = tone;
    ctx.lineWidth = width;
    ctx.setLineDash(dash);
    ctx.beginPath();
    ctx.moveTo(x0, y0);
    ctx.lineTo(x1, y1);
    ctx.stroke();
    ctx.restore();
  }

  function text(ctx, words, x, y, tone, size, tones, align = "left", weight = 400) {
    ctx.save();
    ctx.font = font(size, tones, weight);
    ctx.textAlign = align;
    ctx.textBaseline = "middle";
    ctx.lineJoin = "round";
    ctx.strokeStyle = tones.paper;
    ctx.lineWidth = size / 3;
    ctx.strokeText(words, x, y);
    ctx.fillStyle = tone;
    ctx.fillText(words, x, y);
    ctx.restore();
  }

  function ring(ctx, x, y, radius, tone, width, fill) {
    ctx.save();
    ctx.beginPath();
    ctx.arc(x, y, radius, 0, 2 * Math.PI);
    ctx.fillStyle = fill;
    ctx.fill();
    ctx.strokeStyle = tone;
    ctx.lineWidth = width;
    ctx.stroke();
    ctx.restore();
  }

  function diamond(ctx, x, y, radius, tone) {
    ctx.save();
    ctx.fillStyle = tone;
    ctx.beginPath();
    ctx.moveTo(x, y - radius);
    ctx.lineTo(x + radius, y);
    ctx.lineTo(x, y + radius);
    ctx.lineTo(x - radius, y);
    ctx.fill();
    ctx.restore();
  }

  return { palette, font, hatch, line, text, ring, diamond };
})();
