// Draws 16-bit pixels through a display table on the processor: for browsers whose WebGL2 is itself only software, where this is several times as fast (docs/bench-viewer.md).

/** @import { Frame } from "./types.js" */
/** @import { Level, Pyramid } from "./pyramid.js" */

/** What a frame may take while the picture moves, in ms: half of 60 frames a second; beyond it, four pixels share one place. */
const patienceMs = 9;

export class PlainPicture {
  /** @param {HTMLCanvasElement} canvas */
  constructor(canvas) {
    const pen = canvas.getContext("2d", { alpha: false });
    if (!pen) {
      throw new Error("This browser draws on no canvas, so the radiograph cannot be shown.");
    }
    this.canvas = canvas;
    this.pen = pen;
    /** @type {Pyramid | null} */
    this.pyramid = null;
    this.greys = new Uint8Array(65536);
    this.colors = new Uint32Array(65536);
    /** @type {ImageData | null} */
    this.image = null;
    this.out = new Uint32Array(0);
    /** Canvas pixels that share one place, across and down, while it moves. */
    this.block = 1;
  }

  /** What draws it, for a reader who asks. */
  get means() {
    return "processor";
  }

  /** Halvings left out because of the browser's limits: none here. */
  get leftOut() {
    return 0;
  }

  /** @param {Pyramid} pyramid */
  load(pyramid) {
    this.pyramid = pyramid;
  }

  /** @param {Uint8Array} table one grey for every pixel value */
  setTable(table) {
    this.greys.set(table);
    this.greys.fill(table[table.length - 1], table.length);
    for (let value = 0; value < 65536; value++) {
      this.colors[value] = 0xff000000 | (this.greys[value] * 0x010101);
    }
  }

  /**
   * @param {Frame} frame
   * @param {[number, number, number]} surround 0 to 1
   * @param {boolean} moving whether speed counts more than smoothness
   */
  draw(frame, surround, moving) {
    const { canvas, pyramid } = this;
    if (!pyramid || canvas.width < 1 || canvas.height < 1) {
      return;
    }
    if (!this.image || this.image.width !== canvas.width || this.image.height !== canvas.height) {
      this.image = this.pen.createImageData(canvas.width, canvas.height);
      this.out = new Uint32Array(this.image.data.buffer);
    }
    const started = performance.now();
    const [red, green, blue] = surround.map((share) => Math.round(255 * share));
    const around = (0xff000000 | (blue << 16) | (green << 8) | red) >>> 0;
    const block = moving ? this.block : 1;
    const level = pyramid.at(Math.max(1, frame.step * block * (moving ? 1.42 : 1.001)));
    const across = lookUp(canvas.width, frame, "right", level, pyramid);
    const down = lookUp(canvas.height, frame, "down", level, pyramid);
    this.out.fill(around);
    if (moving || frame.step < 1 / 6 || (isWhole(across) && isWhole(down))) {
      nearest(this.out, canvas.width, across, down, level.pixels, this.colors, block);
    } else {
      smooth(this.out, canvas.width, across, down, level.pixels, this.greys);
    }
    this.pen.putImageData(this.image, 0, 0);
    if (moving) {
      const tookMs = performance.now() - started;
      this.block = tookMs > patienceMs ? Math.min(4, 2 * block) : tookMs < patienceMs / 6 ? Math.max(1, block >> 1) : block;
    }
  }

  /**
   * The greys on the canvas, as drawn last.
   * @param {number} x canvas pixels
   * @param {number} y
   * @param {number} width
   * @param {number} height
   * @returns {number[]}
   */
  drawn(x, y, width, height) {
    const { data } = this.pen.getImageData(x, y, width, height);
    return Array.from({ length: width * height }, (_, place) => data[4 * place]);
  }

  close() {
    this.pyramid = null;
    this.image = null;
    this.out = new Uint32Array(0);
  }
}

/**
 * @typedef {object} LookUp places of the level along one axis of the canvas, as offsets into its pixels
 * @property {Int32Array} near the pixel that covers the canvas pixel's middle
 * @property {Int32Array} first the pixel before that middle
 * @property {Int32Array} second the pixel behind it
 * @property {Float32Array} part how far from the first to the second, 0 to 1
 * @property {number} from first canvas pixel on the image
 * @property {number} to first one beyond
 */

/**
 * @param {number} length canvas pixels
 * @param {Frame} frame
 * @param {"right" | "down"} axis
 * @param {Level} level
 * @param {Pyramid} pyramid
 * @returns {LookUp}
 */
function lookUp(length, frame, axis, level, pyramid) {
  // Turned by quarters, either the column or the row goes with an axis of the canvas, never both.
  const byColumn = frame[`${axis}X`] !== 0;
  const origin = byColumn ? frame.originX : frame.originY;
  const stride = byColumn ? frame[`${axis}X`] : frame[`${axis}Y`];
  const size = byColumn ? pyramid.columns : pyramid.rows;
  const last = (byColumn ? level.columns : level.rows) - 1;
  const pitch = byColumn ? 1 : level.columns;
  const found = { near: new Int32Array(length), first: new Int32Array(length), second: new Int32Array(length), part: new Float32Array(length), from: length, to: 0 };
  for (let place = 0; place < length; place++) {
    const at = origin + (place + 0.5) * stride;
    if (at < 0 || at >= size) {
      continue;
    }
    found.from = Math.min(found.from, place);
    found.to = place + 1;
    const onLevel = at / level.scale;
    found.near[place] = pitch * Math.min(Math.floor(onLevel), last);
    const before = Math.floor(onLevel - 0.5);
    found.part[place] = onLevel - 0.5 - before;
    found.first[place] = pitch * Math.min(Math.max(before, 0), last);
    found.second[place] = pitch * Math.min(Math.max(before + 1, 0), last);
  }
  return found;
}

/**
 * Whether every canvas pixel's middle is the middle of a pixel of the level.
 * @param {LookUp} places
 */
function isWhole(places) {
  for (let place = places.from; place < places.to; place++) {
    if (places.part[place] !== 0) {
      return false;
    }
  }
  return true;
}

/**
 * @param {Uint32Array} out
 * @param {number} width
 * @param {LookUp} across
 * @param {LookUp} down
 * @param {Uint16Array} pixels
 * @param {Uint32Array} colors
 * @param {number} block
 */
function nearest(out, width, across, down, pixels, colors, block) {
  const { near, from, to } = across;
  for (let y = down.from; y < down.to; y += block) {
    const row = down.near[y];
    const start = y * width;
    if (block === 1) {
      for (let x = from; x < to; x++) {
        out[start + x] = colors[pixels[row + near[x]]];
      }
      continue;
    }
    for (let x = from; x < to; x += block) {
      const color = colors[pixels[row + near[x]]];
      const end = Math.min(x + block, to);
      for (let at = x; at < end; at++) {
        out[start + at] = color;
      }
    }
    for (let below = y + 1; below < Math.min(y + block, down.to); below++) {
      out.copyWithin(below * width + from, start + from, start + to);
    }
  }
}

/**
 * Blends the greys of the four nearest pixels: every place is looked up in the table first, since blending stored values would invent greys at a table's steps.
 * @param {Uint32Array} out
 * @param {number} width
 * @param {LookUp} across
 * @param {LookUp} down
 * @param {Uint16Array} pixels
 * @param {Uint8Array} greys
 */
function smooth(out, width, across, down, pixels, greys) {
  const { first, second, part, from, to } = across;
  for (let y = down.from; y < down.to; y++) {
    const top = down.first[y];
    const bottom = down.second[y];
    const share = down.part[y];
    const start = y * width;
    for (let x = from; x < to; x++) {
      const left = first[x];
      const right = second[x];
      const along = part[x];
      const a = greys[pixels[top + left]];
      const b = greys[pixels[bottom + left]];
      const above = a + along * (greys[pixels[top + right]] - a);
      const below = b + along * (greys[pixels[bottom + right]] - b);
      out[start + x] = 0xff000000 | (Math.round(above + share * (below - above)) * 0x010101);
    }
  }
}
