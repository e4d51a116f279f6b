// The colours of depths, finer where shallow, in the job's units; a mark shows the depth that is pointed at.

class Legend {
  constructor(canvas) {
    this.canvas = canvas;
    this.ctx = canvas.getContext("2d");
  }

  draw({ palette, setup, words, ink, depth, standsAbove }) {
    const { ctx } = this,
      [w, h] = fitted(this.canvas, ctx),
      keys = standsAbove ? 2 : 1;
    const narrow = w < 560,
      left = 8,
      right = narrow ? w - 8 : w - 150 * keys - 10,
      top = 6,
      tall = 14,
      { face } = setup;
    const at = d => left + Math.sqrt(Math.min(1, Math.max(0, d / face))) * (right - left);
    ctx.clearRect(0, 0, w, h);
    for (let x = left; x < right; x++) {
      ctx.fillStyle = palette.css(((x - left) / (right - left)) ** 2 * face);
      ctx.fillRect(x, top, 2, tall);
    }
    ctx.strokeStyle = ink.line;
    ctx.lineWidth = 1;
    ctx.strokeRect(left - 0.5, top - 0.5, right - left + 1, tall + 1);
    let last = -40;
    for (const d of this._steps(face, words)) {
      const x = at(d),
        text = Number((d / words.perUnit).toFixed(3)).toString();
      const end = d === face;
      if (x - last < 30 || (!end && right - x < 60)) continue;
      line(ctx, x, top + tall, x, top + tall + 4);
      const said = end ? `${text} ${words.units} deep` : text;
      say(ctx, said, end ? right : x, top + tall + 12, { colour: ink.ink, align: end ? "right" : "center" });
      last = x;
    }
    const names = [["cut through", "through"], ...(standsAbove ? [["above the face", "above"]] : [])];
    names.forEach(([name, kind], i) => {
      const x = narrow ? left + 130 * i : right + 14 + 150 * i,
        y = narrow ? top + tall + 24 : top;
      this._swatch(x, y, kind, palette, ink);
      say(ctx, name, x + 24, y + 7, { colour: ink.ink });
    });
    if (depth === null || depth < -0.005 || depth > face) return;
    const x = at(depth);
    outlined(ctx, ink.ink, 1.5, ink.paper, () => ctx.rect(x - 2, top - 3, 4, tall + 6));
  }

  _steps(face, words) {
    const steps = words.inch
      ? [0, 0.005, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2]
      : [0, 0.1, 0.5, 1, 2, 4, 6, 10, 15, 20, 30, 50];
    return [...steps.map(s => s * words.perUnit).filter(d => d < face * 0.93), face];
  }

  _swatch(x, y, kind, palette, ink) {
    const { ctx } = this,
      css = c => `rgb(${c & 255} ${(c >> 8) & 255} ${(c >> 16) & 255})`;
    ctx.fillStyle = css(kind === "above" ? palette.aboveColour : palette.paper);
    ctx.fillRect(x, y, 18, 14);
    ctx.save();
    ctx.beginPath();
    ctx.rect(x, y, 18, 14);
    ctx.clip();
    ctx.strokeStyle = css(palette.stroke);
    if (kind === "through") for (let u = -14; u < 18; u += 7) line(ctx, x + u, y + 14, x + u + 14, y);
    ctx.restore();
    ctx.strokeStyle = ink.line;
    ctx.strokeRect(x + 0.5, y + 0.5, 17, 13);
  }
}
