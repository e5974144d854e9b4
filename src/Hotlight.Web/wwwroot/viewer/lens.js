// The two lenses: the hot light, which spreads what is burned dark over the full range of grey, and the mottle lens, which shows the noise without the anatomy.

/** @import { Frame, PixelPoint } from "./types.js" */
/** @import { Pyramid } from "./pyramid.js" */

/** No grey may take more than so many times its even share of the range: noise of a flat place stays noise. */
const contrastLimit = 3;

/** Share of the image's values that the lens spreads at least. */
const leastSpread = 0.01;

/** Half the side of the square whose mean is taken for the anatomy, in pixels. */
const trendHalf = 7;

/** Half the side of the square whose deviation the residual is told in. */
const deviationHalf = 15;

/** Deviations from the mean that reach black and white. */
const deviationsShown = 4;

/** Side of the square that the noise is read from, in pixels, as the mottle of the measurements is. */
export const noiseSide = 64;

/**
 * @typedef {object} Lens
 * @property {number} x its middle, canvas pixels
 * @property {number} y
 * @property {number} radius canvas pixels
 */

/**
 * Where a lens looks: one image pixel on each canvas pixel, or larger where the picture itself is.
 * @param {Lens} lens
 * @param {Frame} frame of the picture
 * @param {boolean} square whether pixels are square
 */
export function underLens(lens, frame, square) {
  const scale = frame.step > 1 ? 1 / frame.step : 1;
  const axes = { rightX: frame.rightX * scale, rightY: frame.rightY * scale, downX: frame.downX * scale, downY: frame.downY * scale };
  const side = 2 * Math.ceil(lens.radius);
  let middleX = frame.originX + lens.x * frame.rightX + lens.y * frame.downX;
  let middleY = frame.originY + lens.x * frame.rightY + lens.y * frame.downY;
  if (frame.step >= 1 && square) {
    // The middle lies on a corner of pixels, so that each canvas pixel shows exactly one.
    middleX = Math.round(middleX);
    middleY = Math.round(middleY);
  }
  return {
    ...axes,
    step: Math.min(frame.step, 1),
    side,
    originX: middleX - (side / 2) * (axes.rightX + axes.downX),
    originY: middleY - (side / 2) * (axes.rightY + axes.downY),
    middleX,
    middleY,
  };
}

/**
 * The pixel values under a lens, row by row of the canvas; -1 beyond the image.
 * @param {ReturnType<typeof underLens>} under
 * @param {Pyramid} pyramid
 * @returns {Int32Array}
 */
export function valuesUnder(under, pyramid) {
  const level = pyramid.finest;
  const { side } = under;
  const values = new Int32Array(side * side);
  const { pixels, columns, rows, scale } = level;
  let place = 0;
  for (let y = 0; y < side; y++) {
    let column = under.originX + 0.5 * under.rightX + (y + 0.5) * under.downX;
    let row = under.originY + 0.5 * under.rightY + (y + 0.5) * under.downY;
    for (let x = 0; x < side; x++, place++) {
      values[place] = column < 0 || row < 0 || column >= pyramid.columns || row >= pyramid.rows
        ? -1
        : pixels[Math.min(Math.floor(row / scale), rows - 1) * columns + Math.min(Math.floor(column / scale), columns - 1)];
      column += under.rightX;
      row += under.rightY;
    }
  }
  return values;
}

const counts = new Uint32Array(65536);

/** Least share of the lens that must lie in the exposed field for the field alone to set the greys. */
const leastInField = 0.02;

/**
 * What the hot light shows: the values under it spread over the full range by how often they occur, with a limit to contrast. What lies outside the exposed field takes no part.
 * @param {Int32Array} values from valuesUnder
 * @param {number} side
 * @param {number} radius
 * @param {{ pixelMaximum: number, brightIsHigh: boolean, field?: [number, number][] | null }} how the field's outline in places of the lens
 * @returns {Uint8Array} greys
 */
export function equalised(values, side, radius, how) {
  let total = countUnder(values, side, radius, how.field ?? null);
  if (how.field && total < leastInField * Math.PI * radius * radius) {
    total = countUnder(values, side, radius, null);
  }
  const greys = new Uint8Array(values.length);
  if (total === 0) {
    return greys;
  }
  const table = spread(counts, total, how.pixelMaximum);
  for (let place = 0; place < values.length; place++) {
    const grey = values[place] < 0 ? 0 : table[values[place]];
    greys[place] = how.brightIsHigh ? grey : 255 - grey;
  }
  return greys;
}

/**
 * Counts the values in the lens's circle, by value, and within an outline where one is given.
 * @param {Int32Array} values
 * @param {number} side
 * @param {number} radius
 * @param {[number, number][] | null} outline
 * @returns {number} how many there are
 */
function countUnder(values, side, radius, outline) {
  counts.fill(0);
  let total = 0;
  for (let y = 0; y < side; y++) {
    const high = y + 0.5 - side / 2;
    const half = Math.sqrt(Math.max(0, radius * radius - high * high));
    const from = Math.max(0, Math.ceil(side / 2 - half - 0.5));
    const to = Math.min(side, Math.floor(side / 2 + half + 0.5));
    for (const [left, right] of outline ? spans(outline, y + 0.5, from, to) : [[from, to]]) {
      for (let x = left; x < right; x++) {
        const value = values[y * side + x];
        if (value >= 0) {
          counts[value]++;
          total++;
        }
      }
    }
  }
  return total;
}

/**
 * The parts of a line that lie in an outline, by the even-odd rule.
 * @param {[number, number][]} outline
 * @param {number} y
 * @param {number} from
 * @param {number} to
 * @returns {[number, number][]}
 */
function spans(outline, y, from, to) {
  const crossings = [];
  for (let corner = 0; corner < outline.length; corner++) {
    const [x1, y1] = outline[corner];
    const [x2, y2] = outline[(corner + 1) % outline.length];
    if (y1 <= y !== y2 <= y) {
      crossings.push(x1 + ((y - y1) * (x2 - x1)) / (y2 - y1));
    }
  }
  crossings.sort((a, b) => a - b);
  /** @type {[number, number][]} */
  const found = [];
  for (let pair = 0; pair + 1 < crossings.length; pair += 2) {
    const left = Math.max(from, Math.ceil(crossings[pair] - 0.5));
    const right = Math.min(to, Math.floor(crossings[pair + 1] + 0.5));
    if (right > left) {
      found.push([left, right]);
    }
  }
  return found;
}

/**
 * Where image places lie under a lens, in its own pixels from its upper left corner.
 * @param {PixelPoint[]} points
 * @param {ReturnType<typeof underLens>} under
 * @returns {[number, number][]}
 */
export function onLens(points, under) {
  // The axes run along columns and rows, one each: each is undone by itself.
  const rightSquare = under.rightX ** 2 + under.rightY ** 2;
  const downSquare = under.downX ** 2 + under.downY ** 2;
  return points.map(([column, row]) => {
    const x = column + 0.5 - under.originX;
    const y = row + 0.5 - under.originY;
    return [(x * under.rightX + y * under.rightY) / rightSquare, (x * under.downX + y * under.downY) / downSquare];
  });
}

/**
 * A table that spreads counted values over 0 to 255: half a percent cut off at either end, no bin counted beyond the contrast limit, what is cut off given to all bins alike.
 * @param {Uint32Array} counts by value
 * @param {number} total above 0
 * @param {number} maximum largest possible value
 * @returns {Uint8Array}
 */
export function spread(counts, total, maximum) {
  let low = 0;
  for (let seen = counts[0]; seen <= 0.005 * total; seen += counts[++low]);
  let high = maximum;
  for (let seen = counts[high]; seen <= 0.005 * total; seen += counts[--high]);
  const least = Math.max(2, Math.ceil(leastSpread * maximum));
  if (high - low < least) {
    const missing = least - (high - low);
    low = Math.max(0, low - Math.floor(missing / 2));
    high = Math.min(maximum, low + least);
  }
  const bins = Math.min(256, high - low + 1);
  const binned = new Float64Array(bins);
  for (let value = low; value <= high; value++) {
    binned[Math.floor(((value - low) * bins) / (high - low + 1))] += counts[value];
  }
  const within = binned.reduce((sum, each) => sum + each, 0);
  const limit = (contrastLimit * within) / bins;
  let cut = 0;
  for (let bin = 0; bin < bins; bin++) {
    if (binned[bin] > limit) {
      cut += binned[bin] - limit;
      binned[bin] = limit;
    }
  }
  const table = new Uint8Array(maximum + 1);
  const edges = new Float64Array(bins + 1);
  for (let bin = 0; bin < bins; bin++) {
    edges[bin + 1] = edges[bin] + binned[bin] + cut / bins;
  }
  for (let value = 0; value <= maximum; value++) {
    if (value <= low) {
      table[value] = 0;
    } else if (value >= high) {
      table[value] = 255;
    } else {
      const at = ((value - low) * bins) / (high - low);
      const bin = Math.min(Math.floor(at), bins - 1);
      table[value] = Math.round((255 * (edges[bin] + (at - bin) * (edges[bin + 1] - edges[bin]))) / edges[bins]);
    }
  }
  return table;
}

/**
 * What the mottle lens shows: the signal less its local mean (for the square around a pixel the same as a fitted plane's value in its middle), in units of its local deviation.
 * @param {Int32Array} values from valuesUnder
 * @param {number} side
 * @param {Float64Array} signal of every pixel value
 * @param {boolean} brightIsHigh
 * @returns {Uint8Array} greys: middle grey is the local mean, black and white lie 4 deviations from it
 */
export function mottle(values, side, signal, brightIsHigh) {
  const signals = new Float64Array(values.length);
  for (let place = 0; place < values.length; place++) {
    const value = values[place] < 0 ? 0 : signal[values[place]];
    signals[place] = Number.isFinite(value) ? value : 0;
  }
  const residual = new Float64Array(values.length);
  const trend = sums(signals, side, false);
  for (let y = 0, place = 0; y < side; y++) {
    for (let x = 0; x < side; x++, place++) {
      // Towards the border the square shrinks on all sides, so that its middle stays the pixel.
      const half = Math.min(trendHalf, x, y, side - 1 - x, side - 1 - y);
      residual[place] = values[place] < 0 ? 0 : signals[place] - boxSum(trend, side, x - half, y - half, x + half, y + half) / (2 * half + 1) ** 2;
    }
  }
  const squares = sums(residual, side, true);
  const greys = new Uint8Array(values.length);
  for (let y = 0, place = 0; y < side; y++) {
    for (let x = 0; x < side; x++, place++) {
      const left = Math.max(0, x - deviationHalf);
      const top = Math.max(0, y - deviationHalf);
      const right = Math.min(side - 1, x + deviationHalf);
      const bottom = Math.min(side - 1, y + deviationHalf);
      const variance = boxSum(squares, side, left, top, right, bottom) / ((right - left + 1) * (bottom - top + 1));
      const deviations = variance > 0 ? residual[place] / Math.sqrt(variance) : 0;
      greys[place] = values[place] < 0 ? 0 : Math.round(Math.min(Math.max(127.5 + ((brightIsHigh ? 1 : -1) * 127.5 * deviations) / deviationsShown, 0), 255));
    }
  }
  return greys;
}

/**
 * Sums over all rectangles from the corner.
 * @param {Float64Array} values
 * @param {number} side
 * @param {boolean} squared
 */
function sums(values, side, squared) {
  const wide = side + 1;
  const total = new Float64Array(wide * wide);
  for (let y = 0; y < side; y++) {
    let row = 0;
    for (let x = 0; x < side; x++) {
      const value = values[y * side + x];
      row += squared ? value * value : value;
      total[(y + 1) * wide + x + 1] = total[y * wide + x + 1] + row;
    }
  }
  return total;
}

/**
 * @param {Float64Array} total
 * @param {number} side
 * @param {number} left
 * @param {number} top
 * @param {number} right inclusive
 * @param {number} bottom inclusive
 */
function boxSum(total, side, left, top, right, bottom) {
  const wide = side + 1;
  return total[(bottom + 1) * wide + right + 1] - total[top * wide + right + 1] - total[(bottom + 1) * wide + left] + total[top * wide + left];
}

/** Terms of a quadratic surface. */
const trendTerms = 6;

/** Straight and bent polynomial on a side of the square, orthogonal to each other and to a constant. */
const line = Float64Array.from({ length: noiseSide }, (_, place) => place - (noiseSide - 1) / 2);
const bent = line.map((at) => at * at - (noiseSide * noiseSide - 1) / 12);
const lineNorm = line.reduce((sum, at) => sum + at * at, 0);
const bentNorm = bent.reduce((sum, at) => sum + at * at, 0);

/**
 * The noise in the square of 64 × 64 pixels around a place: deviation of the signal about a fitted quadratic surface, rounding taken off. What structure is left counts as noise, so it is an upper limit on anatomy.
 * @param {Pyramid} pyramid full
 * @param {Float64Array} signal of every pixel value
 * @param {number} x image place from the left edge, in pixels
 * @param {number} y
 * @returns {{ mean: number, deviation: number } | null} null where the square leaves the image or holds values without a signal
 */
export function noiseAt(pyramid, signal, x, y) {
  const left = Math.round(x) - noiseSide / 2;
  const top = Math.round(y) - noiseSide / 2;
  if (!pyramid.isFull || left < 0 || top < 0 || left + noiseSide > pyramid.columns || top + noiseSide > pyramid.rows) {
    return null;
  }
  const { pixels } = pyramid.finest;
  const last = signal.length - 1;
  let squares = 0;
  let step = 0;
  // Sums of the signal with polynomials of degree 0 to 2 that are orthogonal on the square's places.
  let one = 0;
  let alongX = 0;
  let alongY = 0;
  let bentX = 0;
  let bentY = 0;
  let twisted = 0;
  for (let row = 0; row < noiseSide; row++) {
    const y = line[row];
    const yy = bent[row];
    for (let column = 0; column < noiseSide; column++) {
      const value = pixels[(top + row) * pyramid.columns + left + column];
      const at = signal[value];
      if (!Number.isFinite(at)) {
        return null;
      }
      squares += at * at;
      const below = Math.max(value - 1, 0);
      const above = Math.min(value + 1, last);
      step += Math.abs(signal[above] - signal[below]) / (above - below);
      one += at;
      alongX += at * line[column];
      alongY += at * y;
      bentX += at * bent[column];
      bentY += at * yy;
      twisted += at * line[column] * y;
    }
  }
  const count = noiseSide * noiseSide;
  const explained = (one * one) / count
    + (alongX * alongX + alongY * alongY) / (noiseSide * lineNorm)
    + (bentX * bentX + bentY * bentY) / (noiseSide * bentNorm)
    + (twisted * twisted) / (lineNorm * lineNorm);
  step /= count;
  const variance = Math.max(0, (squares - explained) / (count - trendTerms) - (step * step) / 12);
  return { mean: one / count, deviation: Math.sqrt(variance) };
}
