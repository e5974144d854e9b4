// From pixel values to displayed grey: PS3.3 C.11.2.1.2 and C.11.2.1.3 (window) after the modality transform, in the same arithmetic as the picture that is rendered elsewhere.

/** @import { DisplayWindow } from "./types.js" */

/**
 * One displayed grey, 0 to 255, for every pixel value.
 * @param {Float64Array} modality modality value of every pixel value
 * @param {DisplayWindow} window
 * @param {boolean} highIsDark whether the highest value is shown black
 * @returns {Uint8Array}
 */
export function displayTable(modality, window, highIsDark) {
  // A clamped array rounds halves to the even neighbour, as the server does.
  const table = new Uint8ClampedArray(modality.length);
  const { center, width } = window;
  const kind = window.function;
  const half = kind === "linear-exact" ? width / 2 : (width - 1) / 2;
  const middle = kind === "linear-exact" ? center : center - 0.5;
  const divisor = kind === "linear-exact" ? width : width - 1;
  for (let value = 0; value < table.length; value++) {
    const x = modality[value];
    let shown;
    if (kind === "sigmoid") {
      shown = 1 / (1 + Math.exp((-4 * (x - center)) / width));
    } else {
      shown = x <= middle - half ? 0 : x > middle + half ? 1 : (x - middle) / divisor + 0.5;
    }
    table[value] = Math.fround(Math.fround(highIsDark ? 1 - shown : shown) * 255);
  }
  return new Uint8Array(table.buffer);
}
