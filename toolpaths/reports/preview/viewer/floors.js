// The forms of wanted floors: height and steepness at a place. See `toolpaths/reports/preview/viewer_wanted.py`.

function floorOf(data) {
  return FLOORS[data.form](data);
}

/** Distance from a place to the nearest of some lines, each x, y, x, y, ... */
function away(lines, x, y) {
  let least = Infinity;
  for (const line of lines) {
    for (let i = 0; i + 3 < line.length; i += 2) {
      const dx = line[i + 2] - line[i],
        dy = line[i + 3] - line[i + 1],
        ux = x - line[i],
        uy = y - line[i + 1];
      const length = dx * dx + dy * dy,
        t = length ? Math.min(1, Math.max(0, (ux * dx + uy * dy) / length)) : 0;
      const ex = ux - t * dx,
        ey = uy - t * dy;
      least = Math.min(least, ex * ex + ey * ey);
    }
  }
  return Math.sqrt(least);
}

const FLOORS = {
  level: ({ z }) => ({ level: z, height: () => z, slope: () => 0 }),

  // Rising aside of a point or of any path.
  aside: ({ point, lines, z, flat, rise, most }) => {
    const distance = point ? (x, y) => Math.hypot(x - point[0], y - point[1]) : (x, y) => away(lines, x, y);
    return { height: (x, y) => z + rise * Math.min(most, Math.max(0, distance(x, y) - flat)), slope: () => rise };
  },

  // Falling inwards from the walls of an area.
  walls: ({ lines, top, rise, lowest }) => ({
    height: (x, y) => Math.max(top - rise * away(lines, x, y), lowest),
    slope: () => rise,
  }),

  // The same all across; heights evenly along x.
  along: ({ x0, x1, z }) => {
    const step = (x1 - x0) / (z.length - 1);
    const place = x => Math.min(z.length - 1.000001, Math.max(0, (x - x0) / step));
    return {
      height: x => {
        const u = place(x),
          i = Math.floor(u);
        return z[i] + (z[i + 1] - z[i]) * (u - i);
      },
      slope: x => {
        const i = Math.floor(place(x));
        return Math.abs(z[i + 1] - z[i]) / step;
      },
    };
  },

  // A groove across the neck at x: as low as the furthest tip of a flat end that reaches a place; tips evenly from the
  // centreline to the end.
  across: ({ x, radius, end, z }) => {
    const step = end / (z.length - 1),
      near = 1e-3;
    const height = (px, py) => {
      const aside = Math.sqrt(Math.max(0, radius * radius - (px - x) * (px - x)));
      const u = Math.min(z.length - 1.000001, Math.min(Math.abs(py) + aside, end) / step),
        i = Math.floor(u);
      return z[i] + (z[i + 1] - z[i]) * (u - i);
    };
    const slope = (px, py) =>
      Math.min(
        10,
        Math.hypot(
          height(px + near, py) - height(px - near, py),
          height(px, py + near) - height(px, py - near),
        ) /
          (2 * near),
      );
    return { height, slope };
  },

  // A floor under a rounded top: lower by the sagitta y^2 / (R + sqrt(R^2 - y^2)), R linear along x.
  domed: data => {
    const base = floorOf(data.base),
      { nut, end, length, levelFrom } = data;
    const parts = (x, y) => {
      const r = nut + ((end - nut) * x) / length,
        v = Math.abs(Math.min(Math.max(y, -levelFrom[0]), levelFrom[1]));
      const root = Math.sqrt(Math.max(r * r - v * v, 1e-9));
      return [v, root, (v * v) / (r + root)];
    };
    return {
      height: (x, y) => base.height(x, y) - parts(x, y)[2],
      slope: (x, y) => {
        const [v, root, drop] = parts(x, y);
        return base.slope(x, y) + Math.hypot(v / root, ((drop / root) * (end - nut)) / length);
      },
    };
  },

  // Cones whose tip goes straight from start to end, on a level or rounded floor: the lowest of them all at a place.
  cones: ({ under, start, end, flat, rise, rim }) => {
    const top = floorOf(under),
      length = Math.hypot(end[0] - start[0], end[1] - start[1]),
      ux = (end[0] - start[0]) / length,
      uy = (end[1] - start[1]) / length;
    const tip = s => top.height(start[0] + ux * s, Math.max(0, Math.abs(start[1] + uy * s) - flat)),
      clamp = s => Math.min(length, Math.max(0, s));
    const height = (x, y) => {
      const foot = (x - start[0]) * ux + (y - start[1]) * uy,
        aside = Math.abs((y - start[1]) * ux - (x - start[0]) * uy);
      const within = r => Math.sqrt(Math.max(0, r * r - aside * aside));
      let at = clamp(foot);
      for (let round = 0; round < 3; round++) {
        const fall = (tip(at - 1e-4) - tip(at + 1e-4)) / 2e-4,
          past = (Math.abs(fall) * aside) / Math.sqrt(Math.max(1e-8, rise * rise - fall * fall));
        at = clamp(foot + Math.sign(fall) * Math.min(within(rim), Math.max(within(flat), past)));
      }
      return tip(at) + rise * Math.max(0, Math.hypot(at - foot, aside) - flat);
    };
    return { height, slope: (x, y) => rise + top.slope(x, y) };
  },

  // Known at the corners of a grid only.
  sampled: ({ x0, y0, step, cols, z }) => {
    const rows = z.length / cols,
      clamp = (v, n) => Math.min(n - 1.000001, Math.max(0, v));
    const height = (x, y) => {
      const u = clamp((x - x0) / step, cols),
        v = clamp((y - y0) / step, rows);
      const i = Math.floor(u),
        j = Math.floor(v),
        at = j * cols + i,
        s = u - i,
        t = v - j;
      return (z[at] * (1 - s) + z[at + 1] * s) * (1 - t) + (z[at + cols] * (1 - s) + z[at + cols + 1] * s) * t;
    };
    const slope = (x, y) =>
      Math.hypot(height(x + step, y) - height(x - step, y), height(x, y + step) - height(x, y - step)) / (2 * step);
    return { height, slope };
  },
};
