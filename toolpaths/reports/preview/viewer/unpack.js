"use strict";
// Arrays that the page carries: base64 text, mostly deflated, little end first. See `toolpaths/reports/preview/packed.py`.

const KINDS = { f4: Float32Array, f8: Float64Array, u1: Uint8Array, u2: Uint16Array, u4: Uint32Array, i4: Int32Array };

async function unpacked(packed) {
  const text = atob(packed.data);
  let bytes = new Uint8Array(text.length);
  for (let i = 0; i < text.length; i++) bytes[i] = text.charCodeAt(i);
  if (packed.deflated) {
    const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate"));
    bytes = new Uint8Array(await new Response(stream).arrayBuffer());
  }
  const Kind = KINDS[packed.kind];
  return new Kind(bytes.buffer, 0, Math.floor(bytes.byteLength / Kind.BYTES_PER_ELEMENT));
}

/** Every packed array within a value replaced by its typed array; the rest as it is. */
async function unpackedAll(value) {
  if (Array.isArray(value) || value === null || typeof value !== "object") return value;
  if (typeof value.data === "string" && value.kind in KINDS) return unpacked(value);
  const names = Object.keys(value);
  const parts = await Promise.all(names.map(name => unpackedAll(value[name])));
  return Object.fromEntries(names.map((name, i) => [name, parts[i]]));
}

/** A grid of heights: mm above the bed at the centres of its cells; x0, y0 is the centre of row 0, column 0. */
class Grid {
  constructor(rows, cols, x0, y0, pitch, heights) {
    Object.assign(this, { rows, cols, x0, y0, pitch, heights });
  }

  /** From the page's finished map, stored in whole steps above its lowest place. */
  static ofMap(map) {
    const heights = new Float32Array(map.heights.length);
    for (let i = 0; i < heights.length; i++) heights[i] = map.lowest + map.heights[i] * map.step;
    return new Grid(map.rows, map.cols, map.x0, map.y0, map.pitch, heights);
  }

  /** Index of the cell over a place, -1 beside the grid. */
  cell(x, y) {
    const col = Math.round((x - this.x0) / this.pitch),
      row = Math.round((y - this.y0) / this.pitch);
    return col < 0 || col >= this.cols || row < 0 || row >= this.rows ? -1 : row * this.cols + col;
  }
}
