// One setup on the bench: its wood at a moment, what was asked for, and the surfaces that can be looked at.

/** How long a frame may spend on the way to another moment, milliseconds. */
const PATIENCE = 20;

class Work {
  /** `setup`: what the page carries of it, unpacked; `table`, `rules`: of the colours. */
  constructor(setup, table, rules) {
    this.setup = setup;
    this.cutting = new Cutting(setup.replay);
    this.moments = new Moments(this.cutting.moves);
    this.moment = this.moments.end;
    this.wanted = new Wanted(setup.wanted);
    this.view = new View(setup.view);
    this.palette = new Palette(table, setup.face, rules);
    this.final = new Relief(Grid.ofMap(setup.map));
    setup.map = null;
    this.live = this.asked = this.section = this.stale = this.found = null;
    this.arrived = true;
    this.standsAbove = this.final.grid.heights.some(z => z > this.palette.above);
  }

  get atEnd() {
    return this.moments.isEnd(this.moment);
  }

  /** The exact height of the wood at a place at this moment; NaN beside it. */
  height(x, y) {
    const [x0, y0, x1, y1] = this.setup.stock;
    if (x < x0 || x > x1 || y < y0 || y > y1) return NaN;
    return this.cutting.heightAt(x, y, this.moment.move, this.moment.fraction);
  }

  /** The height that was asked for; NaN beside the wood. */
  target(x, y) {
    const [x0, y0, x1, y1] = this.setup.stock;
    return x <= x0 || x >= x1 || y <= y0 || y >= y1 ? NaN : this.wanted.at(x, y).height;
  }

  goTo(moment) {
    this.moment = moment;
    if (!this.atEnd) this.follow();
  }

  /** Brings the moving surface to the moment, or part of the way: false then, and the same again goes on. */
  follow() {
    const { cutting } = this;
    const fresh = !this.live;
    if (fresh) {
      const { rows, cols, x0, y0, pitch, heights } = cutting;
      this.live = new Relief(new Grid(rows, cols, x0, y0, pitch, heights));
    }
    this.arrived = cutting.seek(this.moment.move, this.moment.fraction, PATIENCE);
    const box = cutting.dirty;
    if (box) {
      this.live.refresh(box);
      const [r0, c0, r1, c1] = this.stale ?? box;
      this.stale = [Math.min(r0, box[0]), Math.min(c0, box[1]), Math.max(r1, box[2]), Math.max(c1, box[3])];
    }
    return this.arrived;
  }

  /** Works ahead for a few milliseconds, so that jumps in time are short; true once there is nothing left to do. */
  prepare() {
    if (!this.live) {
      this.follow();
      this.live.mark(this.wanted.bounds(this.live.grid), true);
      return false;
    }
    return this.cutting.prepare() && this.follow();
  }

  /** The surface to show: as asked for, finished, or as it stands. */
  surface(asAsked) {
    if (!asAsked) return this.atEnd ? this.final : this.live;
    const { rows, cols, x0, y0, pitch } = this.final.grid;
    this.asked ??= new Relief(new Grid(rows, cols, x0, y0, pitch, this.wanted.target(this.final.grid)));
    return this.asked;
  }

  /** Paints a surface on the map's ground. `layers`: bits of marks to show. */
  paint(ground, asAsked, layers) {
    const relief = this.surface(asAsked);
    const changing = relief === this.live;
    if (layers && !relief.isMarked) relief.mark(this.wanted.bounds(relief.grid), changing);
    ground.paint(relief, this.view, this.palette, layers, { changing, stale: this.stale });
    if (changing) this.stale = null;
  }

  /** Looks along the section: while things move with fewer samples, and without what was asked for. */
  look(moving) {
    const { section, cutting, moment } = this;
    const count = Math.min(moving ? 1500 : 6000, Math.max(1200, Math.ceil(section.length / 0.1)));
    const crossed = cutting.crossings(section.a, section.b, moment.move).map(part => part * section.length);
    section.look(count, (x, y) => this.height(x, y), crossed, moving ? null : (x, y) => this.target(x, y));
  }
}
