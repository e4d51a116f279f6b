// The key of the map: a scale of depths, finer where shallow, in the job's units, and below it what each mark means.

class Legend {
  /** `canvas`: of the scale; `list`: of the marks. */
  constructor(canvas, list) {
    Object.assign(this, { canvas, list, ctx: canvas.getContext("2d") });
  }

  /** The scale; a mark on it shows `depth`, mm, unless that is null. `said`: its words with their boxes. */
  draw({ palette, setup, words, ink, depth }) {
    const { ctx } = this,
      [w, h] = fitted(this.canvas, ctx),
      left = 8,
      right = w - 8,
      top = 4,
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
    this._figures(at, right, top + tall, face, words, ink);
    if (depth === null || depth < -0.005 || depth > face) return;
    const x = at(depth);
    outlined(ctx, ink.ink, 1.5, ink.paper, () => ctx.rect(x - 2, top - 3, 4, tall + 6));
  }

  /** The deepest first, then as many as have room beside each other. */
  _figures(at, right, bottom, face, words, ink) {
    const { ctx } = this,
      figure = d => Number((d / words.perUnit).toFixed(3)).toString();
    ctx.font = fontOf({});
    this.said = [];
    for (const d of [face, ...this._steps(face, words)]) {
      const end = d === face,
        text = end ? `${figure(d)} ${words.units} deep` : figure(d);
      const wide = ctx.measureText(text).width,
        from = end ? right - wide : Math.max(0, at(d) - wide / 2);
      if (this.said.some(([, a, , b]) => from < b + 8 && from + wide > a - 8)) continue;
      this.said.push([text, from, bottom + 5, from + wide, bottom + 19]);
      ctx.strokeStyle = ink.line;
      line(ctx, at(d), bottom, at(d), bottom + 4);
      say(ctx, text, from, bottom + 12, { colour: ink.ink });
    }
  }

  _steps(face, words) {
    const steps = words.inch
      ? [0, 0.005, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2]
      : [0, 0.1, 0.5, 1, 2, 4, 6, 10, 15, 20, 30, 50];
    return steps.map(s => s * words.perUnit).filter(d => d < face * 0.97);
  }

  /** What each mark on a setup's map means: items of a list, which wrap and so never cover anything. */
  name({ palette, setup, ink, standsAbove, words }) {
    const css = c => `rgb(${c & 255} ${(c >> 8) & 255} ${(c >> 16) & 255})`,
      box = [0.5, 0.5, 23, 19];
    const plain = c => ctx => ((ctx.fillStyle = css(c)), ctx.fillRect(...box), edge(ctx));
    const edge = ctx => ((ctx.strokeStyle = ink.line), (ctx.lineWidth = 1), ctx.strokeRect(...box));
    const across = (dash, colour) => ctx => (
      ctx.setLineDash(dash), outlined(ctx, colour, 1.4, "#ffffffb0", () => (ctx.moveTo(0, 10), ctx.lineTo(24, 10)))
    );
    const entries = [];
    if (setup.parts.length) entries.push(["waste: paler than the part", plain(paled(palette.steps[0]))]);
    entries.push([
      "cut through",
      ctx => {
        plain(palette.paper)(ctx);
        ctx.save();
        ctx.beginPath();
        ctx.rect(...box);
        ctx.clip();
        ctx.strokeStyle = css(palette.stroke);
        for (let u = -20; u < 24; u += 7) line(ctx, u, 20, u + 20, 0);
        ctx.restore();
        ctx.strokeStyle = css(palette.rim);
        ctx.strokeRect(1, 1, 22, 18);
      },
    ]);
    if (standsAbove) entries.push([`above the ${setup.surface}`, plain(palette.aboveColour)]);
    if (setup.parts.length)
      entries.push([`edge of the part${setup.partsAreCut ? "" : ", not cut in this setup"}`, across(setup.partsAreCut ? [] : [6, 4], "#1d2733")]);
    if (setup.nut) entries.push([setup.nut[0], across([2, 4], "#1d2733")]);
    if (setup.seams.length) entries.push(["seam: the next place of the blank begins", across([10, 3, 2, 3], "#1d2733")]);
    entries.push(["zero of the programs, with the ways of X and Y", ctx => zeroMark(ctx, 6, 16, 13)]);
    entries.push(["line of the section", across([], ink.measure)]);
    if (setup.findings.some(f => f.place && f.weight !== "note"))
      entries.push(["finding, with its number", ctx => outlined(ctx, ink.alarm, 1.8, "#fff", () => ctx.arc(12, 10, 7, 0, 2 * Math.PI))]);
    for (const { shape, words: said } of setup.keys)
      entries.push([
        said,
        ctx => {
          plain(palette.steps[0])(ctx);
          SHAPES[shape](ctx, { x: 3, y: 2, w: 18, h: 16, toward: "right" }, ink);
        },
      ]);
    this.list.replaceChildren(...entries.map(([said, draw]) => this._item(said, draw)));
  }

  _item(said, draw) {
    const canvas = Object.assign(document.createElement("canvas"), { width: 48, height: 40 }),
      ctx = canvas.getContext("2d"),
      item = document.createElement("li");
    canvas.setAttribute("aria-hidden", "true");
    ctx.scale(2, 2);
    draw(ctx);
    item.append(canvas, said);
    return item;
  }
}
