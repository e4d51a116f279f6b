// Bits, and the exact height that a straight move of one leaves over a place. Lengths mm.
//
// Over a place the tip's height plus the bit's profile is a convex function of the way along the move. It is least where
// the profile rises, along the move, as steeply as the move falls: `past` mm beyond the foot of the place, toward the
// move's lower side; convexity lets that be held to the stretch in which the bit covers the place.

const NO_RUN = 1e-9;

/** What turns in the collet. `profile(rho)`: height of its surface above its tip at a distance from its axis. */
class BitShape {
  constructor({ name, shape, radius, angle = 0, tip = 0, corner = 0 }) {
    Object.assign(this, { name, shape, radius, isFlat: shape === "flat" });
    const half = (angle / 2) * (Math.PI / 180), spread = Math.tan(half);
    const kinds = { flat: [flatBit], vee: [coneBit, tip / 2, spread], drill: [coneBit, 0, spread], ball: [ballBit, radius],
      bull: [bullBit, radius, corner], "tapered ball": [taperedBit, tip / 2, half, spread] };
    const [make, ...sizes] = kinds[shape];
    Object.assign(this, make(...sizes));
  }

  /** How far from its axis it is below a surface when its tip is `depth` mm below that; 0 above it. */
  reachAt(depth) {
    return depth > 0 ? Math.min(this.radius, this.rhoAt(depth)) : 0;
  }
}

function flatBit() {
  return { profile: () => 0, past: () => Infinity, rhoAt: () => Infinity };
}

function onBall(rho, radius) {
  return radius - Math.sqrt(Math.max((radius - rho) * (radius + rho), 0));
}

function ballAt(depth, radius) {
  return depth < radius ? Math.sqrt(depth * (2 * radius - depth)) : radius;
}

function ballBit(radius) {
  return {
    profile: rho => onBall(rho, radius),
    // u / sqrt(R^2 - u^2 - aside^2) = k
    past: (aside, k) => k * Math.sqrt(Math.max((radius - aside) * (radius + aside), 0) / (1 + k * k)),
    rhoAt: depth => (depth < radius ? ballAt(depth, radius) : Infinity),
  };
}

/** A cone around a flat tip, or a sharp one. */
function coneBit(flat, spread) {
  return {
    profile: rho => Math.max(rho - flat, 0) / spread,
    past: (aside, k) => Math.max(pastOnCone(aside, k * spread), Math.sqrt(Math.max(flat * flat - aside * aside, 0))),
    rhoAt: depth => flat + depth * spread,
  };
}

/** u / rho = s, with rho^2 = u^2 + aside^2. */
function pastOnCone(aside, s) {
  return s < 1 ? (s * aside) / Math.sqrt((1 - s) * (1 + s)) : Infinity;
}

/** A quarter circle around a flat: where it is as steep as the ramp has no closed form; halving finds it. */
function bullBit(radius, corner) {
  const flat = radius - corner;
  return {
    profile: rho => onBall(Math.max(rho - flat, 0), corner),
    past: (aside, k) => {
      let low = Math.sqrt(Math.max(flat * flat - aside * aside, 0));
      let high = Math.sqrt(Math.max(radius * radius - aside * aside, 0));
      for (let i = 0; i < 48; i++) {
        const u = (low + high) / 2, rho = Math.sqrt(u * u + aside * aside), out = Math.max(rho - flat, 0);
        if (out * u < k * rho * Math.sqrt(Math.max((corner - out) * (corner + out), 0))) low = u;
        else high = u;
      }
      return (low + high) / 2;
    },
    rhoAt: depth => (depth < corner ? flat + ballAt(depth, corner) : Infinity),
  };
}

/** A ball that a cone touches. */
function taperedBit(ball, half, spread) {
  const touch = ball * Math.cos(half), height = ball * (1 - Math.sin(half));
  return {
    profile: rho => (rho <= touch ? onBall(rho, ball) : height + (rho - touch) / spread),
    past: (aside, k) => {
      const u = aside < ball ? k * Math.sqrt(((ball - aside) * (ball + aside)) / (1 + k * k)) : Infinity;
      return u * u + aside * aside <= touch * touch ? u : pastOnCone(aside, k * spread);
    },
    rhoAt: depth => (depth <= height ? ballAt(depth, ball) : touch + (depth - height) * spread),
  };
}

/** One straight move of a bit, made ready: `over(x, y)` is the height that it leaves there; infinite beside it. */
class SweptMove {
  set(bit, x0, y0, z0, x1, y1, z1) {
    const dx = x1 - x0, dy = y1 - y0, run = Math.sqrt(dx * dx + dy * dy), upright = run < NO_RUN;
    this.bit = bit;
    this.x = x0, this.y = y0, this.z = upright ? Math.min(z0, z1) : z0;
    this.endX = x1, this.endY = y1;
    this.run = upright ? 0 : run;
    this.ux = upright ? 0 : dx / run, this.uy = upright ? 0 : dy / run;
    this.slope = upright ? 0 : (z1 - z0) / run;
    this.low = Math.min(z0, z1);
    return this;
  }

  over(x, y) {
    const { bit, run, slope } = this, px = x - this.x, py = y - this.y, reach = bit.radius * bit.radius;
    const foot = px * this.ux + py * this.uy;
    // Square to the move; over a bit that stands still, all of the way.
    const aside = run > 0 ? Math.abs(px * this.uy - py * this.ux) : Math.sqrt(px * px + py * py);
    const left = reach - aside * aside;
    if (left < 0) return Infinity;
    const half = Math.sqrt(left), first = Math.max(foot - half, 0), last = Math.min(foot + half, run);
    if (first > last) return Infinity;
    let at = foot;
    if (slope !== 0) at += slope < 0 ? bit.past(aside, -slope) : -bit.past(aside, slope);
    at = at < first ? first : at > last ? last : at;
    if (bit.isFlat) return this.z + slope * at;
    const off = at - foot;
    return this.z + slope * at + bit.profile(Math.sqrt(off * off + aside * aside));
  }
}
