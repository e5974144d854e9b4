// The pixels and their halvings, as far as they have arrived.

/** @typedef {{ pixels: Uint16Array, columns: number, rows: number, scale: number }} Level */

export class Pyramid {
  /**
   * @param {Uint16Array} pixels block means of scale × scale pixels, row by row; at scale 1 the pixels themselves
   * @param {number} columns columns of the whole image
   * @param {number} rows rows of the whole image
   * @param {number} scale 1, 2, 4, 8 …
   */
  constructor(pixels, columns, rows, scale) {
    this.columns = columns;
    this.rows = rows;
    /** @type {Level[]} */
    this.levels = [{ pixels, columns: reduced(columns, scale), rows: reduced(rows, scale), scale }];
  }

  /** Whether the pixels themselves are there. */
  get isFull() {
    return this.levels[0].scale === 1;
  }

  /** The finest level that has arrived. */
  get finest() {
    return this.levels[0];
  }

  /**
   * The level whose pixels are at most a given number of image pixels wide, or the finest there is.
   * @param {number} scale image pixels, 1 or more
   * @returns {Level}
   */
  at(scale) {
    for (;;) {
      const last = this.levels[this.levels.length - 1];
      if (last.scale * 2 > scale || (last.columns === 1 && last.rows === 1)) {
        break;
      }
      this.#halveOnce();
    }
    let found = this.levels[0];
    for (const level of this.levels) {
      if (level.scale <= scale) {
        found = level;
      }
    }
    return found;
  }

  /** All levels down to one pixel. */
  all() {
    while (this.levels[this.levels.length - 1].columns > 1 || this.levels[this.levels.length - 1].rows > 1) {
      this.#halveOnce();
    }
    return this.levels;
  }

  #halveOnce() {
    const last = this.levels[this.levels.length - 1];
    this.levels.push({ pixels: halve(last.pixels, last.columns, last.rows), columns: Math.max(1, last.columns >> 1), rows: Math.max(1, last.rows >> 1), scale: 2 * last.scale });
  }
}

/**
 * Columns or rows of a level: whole blocks only, as the server sends it.
 * @param {number} size
 * @param {number} scale
 */
export function reduced(size, scale) {
  return Math.max(1, Math.floor(size / scale));
}

/**
 * Half the size: each pixel the rounded mean of four.
 * @param {Uint16Array} pixels
 * @param {number} columns
 * @param {number} rows
 * @returns {Uint16Array}
 */
export function halve(pixels, columns, rows) {
  const halfColumns = Math.max(1, columns >> 1);
  const halfRows = Math.max(1, rows >> 1);
  const half = new Uint16Array(halfColumns * halfRows);
  const right = columns > 1 ? 1 : 0;
  const below = rows > 1 ? columns : 0;
  for (let row = 0; row < halfRows; row++) {
    let from = 2 * row * columns;
    let to = row * halfColumns;
    for (let column = 0; column < halfColumns; column++) {
      half[to++] = (pixels[from] + pixels[from + right] + pixels[from + below] + pixels[from + below + right] + 2) >> 2;
      from += 2;
    }
  }
  return half;
}
