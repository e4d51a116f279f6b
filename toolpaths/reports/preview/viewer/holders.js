// What holds the blank, each drawn as what it is: on the map to scale, in the key small.

const SHAPES = {
  /** A head from above, with its cross slot. */
  screw(ctx, { x, y, w, h }, ink) {
    const cx = x + w / 2, cy = y + h / 2, r = Math.max(3, Math.min(w, h) / 2);
    filled(ctx, ink.clamp, "#ffffffe0", () => ctx.arc(cx, cy, r, 0, 2 * Math.PI));
    ctx.lineWidth = Math.max(1, r / 4);
    line(ctx, cx - r * 0.6, cy, cx + r * 0.6, cy);
    line(ctx, cx, cy - r * 0.6, cx, cy + r * 0.6);
  },
  /** The end of a round pin. */
  pin(ctx, { x, y, w, h }, ink) {
    const cx = x + w / 2, cy = y + h / 2, r = Math.max(3, Math.min(w, h) / 2);
    filled(ctx, ink.clamp, ink.clamp, () => ctx.arc(cx, cy, r, 0, 2 * Math.PI));
    ctx.fillStyle = "#ffffff";
    ctx.beginPath();
    ctx.arc(cx, cy, r / 3, 0, 2 * Math.PI);
    ctx.fill();
  },
  /** A strap with the bolt through it. */
  clamp(ctx, { x, y, w, h }, ink) {
    filled(ctx, ink.clamp, "#dfe7f1d0", () => ctx.roundRect(x, y, w, h, Math.min(6, w / 4, h / 4)));
    const r = Math.max(2.5, Math.min(9, w / 5, h / 5));
    filled(ctx, ink.clamp, "#ffffff", () => ctx.arc(x + w / 2, y + h / 2, r, 0, 2 * Math.PI));
    line(ctx, x + w / 2 - r * 0.6, y + h / 2, x + w / 2 + r * 0.6, y + h / 2);
  },
  /** A solid block; `toward` is the edge that the blank lies against. */
  stop(ctx, { x, y, w, h, toward = "right" }, ink) {
    filled(ctx, ink.clamp, "#9fb2c9e0", () => ctx.rect(x, y, w, h));
    ctx.lineWidth = 4;
    const at = { left: [x, y, x, y + h], right: [x + w, y, x + w, y + h], top: [x, y, x + w, y], bottom: [x, y + h, x + w, y + h] };
    line(ctx, ...at[toward]);
  },
  /** Crossed out: the bit must not come here. */
  keep_out(ctx, { x, y, w, h }, ink) {
    filled(ctx, ink.alarm, "#ffffff80", () => ctx.rect(x, y, w, h));
    ctx.save();
    ctx.beginPath();
    ctx.rect(x, y, w, h);
    ctx.clip();
    ctx.lineWidth = 1.2;
    for (let u = x - h; u < x + w; u += 9) (line(ctx, u, y + h, u + h, y), line(ctx, u, y, u + h, y + h));
    ctx.restore();
  },
  /** Under the blank: stripes. */
  tape(ctx, { x, y, w, h }, ink) {
    under(ctx, x, y, w, h, ink, () => {
      for (let u = x - h; u < x + w; u += 14) line(ctx, u, y + h, u + h, y);
    });
  },
  /** Under the blank: rings. */
  vacuum(ctx, { x, y, w, h }, ink) {
    under(ctx, x, y, w, h, ink, () => {
      for (let v = y + 7; v < y + h; v += 14)
        for (let u = x + 7; u < x + w; u += 14) {
          ctx.beginPath();
          ctx.arc(u, v, 2.5, 0, 2 * Math.PI);
          ctx.stroke();
        }
    });
  },
};

function filled(ctx, stroke, fill, draw) {
  ctx.fillStyle = fill;
  ctx.strokeStyle = stroke;
  ctx.lineWidth = 1.8;
  ctx.beginPath();
  draw();
  ctx.fill();
  ctx.stroke();
}

function under(ctx, x, y, w, h, ink, fill) {
  ctx.strokeStyle = ink.clamp;
  ctx.save();
  ctx.beginPath();
  ctx.rect(x, y, w, h);
  ctx.clip();
  ctx.lineWidth = 0.8;
  ctx.globalAlpha = 0.6;
  fill();
  ctx.restore();
  ctx.lineWidth = 1.5;
  ctx.setLineDash([6, 4]);
  ctx.strokeRect(x, y, w, h);
  ctx.setLineDash([]);
}

/** Which edge of a stop the blank lies against: the one nearest to the blank. */
function edgeToward({ x, y }, [x0, y0, x1, y1]) {
  const gaps = { right: Math.abs(x0 - x[1]), left: Math.abs(x[0] - x1), top: Math.abs(y0 - y[1]), bottom: Math.abs(y[0] - y1) };
  return Object.keys(gaps).reduce((a, b) => (gaps[b] < gaps[a] ? b : a));
}

/** The holder over a place; null where there is none. */
function holderAt(setup, x, y) {
  for (const it of setup.clamps) {
    const inBox = x >= it.x[0] && x <= it.x[1] && y >= it.y[0] && y <= it.y[1];
    if (!inBox) continue;
    if (!it.radius || Math.hypot(x - (it.x[0] + it.x[1]) / 2, y - (it.y[0] + it.y[1]) / 2) <= it.radius) return it;
  }
  return null;
}

/** The program's zero: a right angle whose corner lies at zero, with arrows along +X and +Y. */
function zeroMark(ctx, x, y, size) {
  const head = size / 5;
  outlined(ctx, "#1d2733", 1.6, "#ffffffd0", () => {
    (ctx.moveTo(x + size, y), ctx.lineTo(x, y), ctx.lineTo(x, y - size));
    (ctx.moveTo(x + size - head, y - head), ctx.lineTo(x + size, y), ctx.lineTo(x + size - head, y + head));
    (ctx.moveTo(x - head, y - size + head), ctx.lineTo(x, y - size), ctx.lineTo(x + head, y - size + head));
  });
}
