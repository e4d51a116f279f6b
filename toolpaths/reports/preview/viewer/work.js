// One setup on the bench: its wood at a moment, what was asked for, and the surfaces that can be looked at.

/** How long a frame may spend on the way to another moment, milliseconds. */
const PATIENCE = 20;

class Work {
  /** `setup`: what the page carries of it, unpacked; `table`, `rules`: of the colours; `beneath`: the other side. */
  constructor(setup, table, rules, beneath) {
    Object.assign(this, { setup, beneath });
    this.cutting = new Cutting(setup.replay);
    this.moments = new Moments(this.cutting.moves);
    this.moment = this.moments.end;
    this.wanted = new Wanted(setup.wanted);
    this.view = new View(setup.view);
    this.palette = new Palette(table, setup.face, rules);
    this.final = this._relief(Grid.ofMap(setup.map));
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
    const z = this.cutting.heightAt(x, y, this.moment.move, this.moment.fraction);
    return this._isOpen(x, y, z) ? 0 : z;
  }

  /** Up to which height the other side's programs have left no wood: the exact height; 0 where they cut nothing. */
  underside(x, y) {
    if (!this.beneath) return 0;
    const { cutting, moments } = this.beneath;
    return Math.max(0, this.setup.thickness - cutting.heightAt(x, -y, moments.end.move)) || 0;
  }

  /** Whether at this height what the other side has lost is open to above. */
  _isOpen(x, y, z) {
    const under = this.underside(x, y);
    return under > 0 && z <= under + this.palette.through;
  }

  /** Whether one sees the bed at a place only because the other side was cut there. */
  isOpened(x, y) {
    return this._isOpen(x, y, this.cutting.heightAt(x, y, this.moment.move, this.moment.fraction));
  }

  /** A relief of this side; where the other side's map, to the nearest cell, has left no wood one sees through it. */
  _relief(grid) {
    if (!this.beneath) return new Relief(grid);
    const { rows, cols, x0, y0, pitch } = grid,
      other = this.beneath.final.grid,
      most = this.setup.thickness + this.palette.through;
    const open = Float32Array.from({ length: rows * cols }, (_, i) => {
      const cell = other.cell(x0 + (i % cols) * pitch, -(y0 + Math.floor(i / cols) * pitch));
      return cell < 0 ? 0 : most - other.heights[cell];
    });
    return new Relief(grid, open);
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
      this.live = this._relief(new Grid(rows, cols, x0, y0, pitch, heights));
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

  /** Whether a place is waste; nothing is where the setup cuts nothing from its surroundings. */
  isWaste(x, y) {
    this.regions ??= this.setup.parts.map(part => ({ rings: [part.flat()], box: this.setup.stock }));
    return this.regions.length > 0 && !this.regions.some(region => within(region, x, y));
  }

  /** Where one looks closer than the map's cells, walls are drawn where they exactly are. */
  sharpen(ground, asAsked) {
    ground.sharpen(this.palette, asAsked ? (x, y) => this.target(x, y) : (x, y) => this.height(x, y));
  }

  /** Paints a surface on the map's ground. `layers`: bits of marks to show. */
  paint(ground, asAsked, layers) {
    const relief = this.surface(asAsked);
    const changing = relief === this.live;
    if (layers && !relief.isMarked) relief.mark(this.wanted.bounds(relief.grid), changing);
    ground.paint(relief, this.view, this.palette, layers, { changing, stale: this.stale, parts: this.setup.parts });
    if (changing) this.stale = null;
  }

  /** Looks along the section: while things move with fewer samples, and without what was asked for. */
  look(moving) {
    const { section, cutting, moment } = this;
    const count = Math.min(moving ? 1500 : 6000, Math.max(1200, Math.ceil(section.length / 0.1)));
    // Passes one above the other cross it at one place: it is looked at once, to a millionth of a mm.
    const crossed = new Set(
      cutting.crossings(section.a, section.b, moment.move).map(part => Math.round(part * section.length * 1e6) / 1e6)
    );
    section.look(count, (x, y) => this.height(x, y), crossed, moving ? null : (x, y) => this.target(x, y));
    section.under = section.s.map(far => this.underside(...section.place(far)));
  }
}
