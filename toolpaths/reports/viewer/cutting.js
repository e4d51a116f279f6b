// STAND-IN: replaced by the exact replay's own module.
class Cutting {
  constructor(data, grid) {
    const n = data.kind.length;
    const cumulative = new Float64Array(n);
    let sum = 0;
    for (let i = 0; i < n; i++) cumulative[i] = sum += data.seconds[i];
    this.moves = { ...data, count: n, seconds: cumulative };
    Object.assign(this, { rows: grid.rows, cols: grid.cols, x0: grid.x0, y0: grid.y0, pitch: grid.pitch });
    this.final = grid;
    this.heights = grid.heights.slice();
    this.dirty = null;
  }
  heightAt(x, y) { const i = this.final.cell(x, y); return i < 0 ? NaN : this.final.heights[i]; }
  seek() { this.dirty = null; }
}
Cutting.prototype.radiusOf = () => 1;
