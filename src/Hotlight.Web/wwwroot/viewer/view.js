// Where a picture stands on its canvas: which place of the image lies in the middle, how large, turned and mirrored. Arithmetic only.

/** @import { Frame, PixelPoint } from "./types.js" */

/** Unit steps in the image for one step to the right and one down on the canvas, before mirroring, by quarter turns clockwise. */
const steps = [
  { right: [1, 0], down: [0, 1] },
  { right: [0, -1], down: [1, 0] },
  { right: [-1, 0], down: [0, -1] },
  { right: [0, 1], down: [-1, 0] },
];

export class View {
  constructor() {
    /** Columns and rows of the image. */
    this.columns = 1;
    this.rows = 1;
    /** Rows for the length of one column: column spacing over row spacing. */
    this.aspect = 1;
    /** Size of the canvas, in canvas pixels. */
    this.width = 1;
    this.height = 1;
    /** Image place in the middle of the canvas, from the image's left and top edge, in pixels. */
    this.centreX = 0.5;
    this.centreY = 0.5;
    /** Image columns per canvas pixel. */
    this.step = 1;
    /** Quarter turns clockwise, 0 to 3, after mirroring. */
    this.quarterTurns = 0;
    /** Whether left and right of the stored image are exchanged before it is turned. */
    this.mirrored = false;
  }

  /** Whether it is seen otherwise than stored. */
  get isTurned() {
    return this.mirrored || this.quarterTurns !== 0;
  }

  /**
   * @param {number} columns
   * @param {number} rows
   * @param {number} aspect
   */
  setImage(columns, rows, aspect) {
    this.columns = columns;
    this.rows = rows;
    this.aspect = aspect;
  }

  /**
   * @param {number} width canvas pixels
   * @param {number} height
   */
  setCanvas(width, height) {
    this.width = width;
    this.height = height;
  }

  /** Image offsets for one canvas pixel to the right and one down. */
  get axes() {
    const { right, down } = steps[this.quarterTurns];
    const x = this.mirrored ? -this.step : this.step;
    const y = this.step * this.aspect;
    return { rightX: x * right[0], rightY: y * right[1], downX: x * down[0], downY: y * down[1] };
  }

  /** @returns {Frame} what a picture needs to draw it */
  frame() {
    const axes = this.axes;
    return {
      ...axes,
      originX: this.centreX - (axes.rightX * this.width + axes.downX * this.height) / 2,
      originY: this.centreY - (axes.rightY * this.width + axes.downY * this.height) / 2,
      step: this.step,
    };
  }

  /**
   * @param {number} x canvas pixels
   * @param {number} y
   * @returns {PixelPoint} the image place there
   */
  toImage(x, y) {
    const axes = this.axes;
    const right = x - this.width / 2;
    const down = y - this.height / 2;
    return [this.centreX + right * axes.rightX + down * axes.downX - 0.5, this.centreY + right * axes.rightY + down * axes.downY - 0.5];
  }

  /**
   * @param {PixelPoint} point
   * @returns {[number, number]} where it lies on the canvas
   */
  toCanvas([x, y]) {
    const { right, down } = steps[this.quarterTurns];
    const alongX = (x + 0.5 - this.centreX) / (this.mirrored ? -this.step : this.step);
    const alongY = (y + 0.5 - this.centreY) / (this.step * this.aspect);
    return [this.width / 2 + alongX * right[0] + alongY * right[1], this.height / 2 + alongX * down[0] + alongY * down[1]];
  }

  /** The step at which the whole image is seen. */
  get wholeStep() {
    const across = this.columns;
    const high = this.rows / this.aspect;
    return this.quarterTurns % 2 === 0 ? Math.max(across / this.width, high / this.height) : Math.max(high / this.width, across / this.height);
  }

  /** The whole image. */
  fit() {
    this.step = this.wholeStep;
    this.centreX = this.columns / 2;
    this.centreY = this.rows / 2;
  }

  /**
   * A part of the image in the middle, with as much around it as it is wide and high, never closer than two canvas pixels to a column.
   * @param {PixelPoint[]} points what must be seen
   * @returns {boolean} whether the part is small enough to be worth going to: less than half of the image's area
   */
  lookAt(points) {
    if (points.length === 0) {
      return false;
    }
    const xs = points.map((point) => point[0]);
    const ys = points.map((point) => point[1]);
    const across = Math.max(...xs) - Math.min(...xs) + 1;
    const high = Math.max(...ys) - Math.min(...ys) + 1;
    if (across * high >= 0.5 * this.columns * this.rows) {
      return false;
    }
    const lengths = this.quarterTurns % 2 === 0 ? [across, high / this.aspect] : [high / this.aspect, across];
    this.step = Math.min(Math.max((2 * lengths[0]) / this.width, (2 * lengths[1]) / this.height, 0.5), this.wholeStep);
    this.centreX = (Math.max(...xs) + Math.min(...xs)) / 2 + 0.5;
    this.centreY = (Math.max(...ys) + Math.min(...ys)) / 2 + 0.5;
    return true;
  }

  /**
   * Zooms so that the place under a point of the canvas stays there.
   * @param {number} step image columns per canvas pixel
   * @param {number} x canvas pixels
   * @param {number} y
   */
  zoomTo(step, x, y) {
    const before = this.toImage(x, y);
    this.step = Math.min(Math.max(step, 1 / 32), Math.max(2 * this.wholeStep, 1));
    const after = this.toImage(x, y);
    this.centreX += before[0] - after[0];
    this.centreY += before[1] - after[1];
    this.keepInSight();
  }

  /**
   * Moves the image with a hand on it.
   * @param {number} x canvas pixels to the right
   * @param {number} y down
   */
  pan(x, y) {
    const axes = this.axes;
    this.centreX -= x * axes.rightX + y * axes.downX;
    this.centreY -= x * axes.rightY + y * axes.downY;
    this.keepInSight();
  }

  /** Turns what is seen a quarter clockwise (1) or back (-1). The middle stays. @param {number} quarters */
  turn(quarters) {
    this.quarterTurns = (((this.quarterTurns + quarters) % 4) + 4) % 4;
  }

  /** Exchanges left and right as they are seen now. The middle stays. */
  mirror() {
    this.mirrored = !this.mirrored;
    this.quarterTurns = (4 - this.quarterTurns) % 4;
  }

  /** As stored again. The middle stays. */
  upright() {
    this.mirrored = false;
    this.quarterTurns = 0;
  }

  /** Lays image pixels on canvas pixels, so that at one to one every canvas pixel shows one image pixel. */
  snap() {
    const axes = this.axes;
    const halfX = Math.abs(axes.rightX * this.width + axes.downX * this.height) / 2;
    const halfY = Math.abs(axes.rightY * this.width + axes.downY * this.height) / 2;
    this.centreX = Math.round(this.centreX - halfX) + halfX;
    this.centreY = Math.round(this.centreY - halfY) + halfY;
  }

  /** Never lets the image leave the canvas. */
  keepInSight() {
    const axes = this.axes;
    const wide = Math.abs(axes.rightX * this.width + axes.downX * this.height);
    const high = Math.abs(axes.rightY * this.width + axes.downY * this.height);
    this.centreX = Math.min(Math.max(this.centreX, -0.25 * wide), this.columns + 0.25 * wide);
    this.centreY = Math.min(Math.max(this.centreY, -0.25 * high), this.rows + 0.25 * high);
  }
}

/**
 * How it is seen otherwise than stored, in words; empty where it is not.
 * @param {View} view
 * @returns {string}
 */
export function turnedWords(view) {
  const turned = ["", "a quarter turn clockwise", "upside down (half a turn)", "a quarter turn anticlockwise"][view.quarterTurns];
  return [view.mirrored ? "left-right mirrored" : "", turned].filter((each) => each).join(", then ");
}
