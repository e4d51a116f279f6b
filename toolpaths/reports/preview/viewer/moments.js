// Time: where the cut stands after so many seconds, and which program and feature that is.
// A moment is {move, fraction}: so much of that move has been made, and all of those before it.

class Moments {
  /** `moves`: of `Cutting`; `seconds` there are those that have passed when a move is done. */
  constructor(moves) {
    Object.assign(this, { moves, programs: moves.programs, features: moves.features, count: moves.count });
    this.total = this.count ? moves.seconds[this.count - 1] : 0;
    this.parts = [];
    for (let i = 0; i < this.count; i++) {
      const last = this.parts[this.parts.length - 1];
      if (last && last.program === moves.program[i] && last.feature === moves.feature[i]) last.stop = i + 1;
      else this.parts.push({ program: moves.program[i], feature: moves.feature[i], first: i, stop: i + 1 });
    }
  }

  get begin() {
    return { move: 0, fraction: 0 };
  }
  get end() {
    return { move: Math.max(0, this.count - 1), fraction: 1 };
  }

  isEnd({ move, fraction }) {
    return !this.count || (move === this.count - 1 && fraction >= 1);
  }

  /** Seconds before a move begins. */
  before(move) {
    return move > 0 ? this.moves.seconds[move - 1] : 0;
  }

  seconds({ move, fraction }) {
    if (!this.count) return 0;
    const from = this.before(move);
    return from + fraction * (this.moves.seconds[move] - from);
  }

  at(seconds) {
    if (!this.count || seconds >= this.total) return this.end;
    let low = 0,
      high = this.count - 1;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (this.moves.seconds[middle] > seconds) high = middle;
      else low = middle + 1;
    }
    const from = this.before(low),
      whole = this.moves.seconds[low] - from;
    return { move: low, fraction: whole > 0 ? Math.max(0, Math.min(1, (seconds - from) / whole)) : 1 };
  }

  /** One move on or back; a move begun is ended first, or taken back first. */
  step({ move, fraction }, by) {
    if (!this.count) return this.end;
    if (by > 0) return fraction < 1 ? { move, fraction: 1 } : { move: Math.min(this.count - 1, move + 1), fraction: 1 };
    if (fraction < 1 || move === 0) return move === 0 ? this.begin : { move: move - 1, fraction: 1 };
    return { move: move - 1, fraction: 1 };
  }

  partOf({ move }) {
    return this.parts.findIndex(p => move >= p.first && move < p.stop);
  }

  /** The moment at which a line of a program has been done; null where it makes no move. */
  ofLine(program, line) {
    const number = this.programs.indexOf(program),
      { moves } = this;
    let found = -1;
    for (let i = 0; i < this.count; i++) {
      if (moves.program[i] !== number) continue;
      if (moves.line[i] > line && found >= 0) break;
      if (moves.line[i] <= line) found = i;
    }
    return found < 0 ? null : { move: found, fraction: 1 };
  }

  /** Where the tip is: x, y, z in mm. */
  tip({ move, fraction }) {
    const { start, end } = this.moves,
      at = 3 * move;
    return [0, 1, 2].map(k => start[at + k] + (end[at + k] - start[at + k]) * fraction);
  }
}
