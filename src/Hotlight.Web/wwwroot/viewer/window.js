// From pixel values to displayed grey: PS3.3 C.11.2.1.2 (window) after the modality transform.

/** @import { DisplayWindow } from "./types.js" */

/**
 * One displayed grey, 0 to 255, for every pixel value.
 * @param {Float32Array} modality modality value of every pixel value
 * @param {DisplayWindow} window
 * @param {boolean} highIsDark whether the highest value is shown black
 * @returns {Uint8Array}
 */
export function displayTable(modality, window, highIsDark) {
  const table = new Uint8Array(modality.length);
  const { center, width } = window;
  for (let value = 0; value < table.length; value++) {
    const x = modality[value];
    let share;
    if (window.function === "sigmoid") {
      share = 1 / (1 + Math.exp((-4 * (x - center)) / width));
    } else if (window.function === "linear-exact") {
      share = (x - center) / width + 0.5;
    } else {
      share = width <= 1 ? (x <= center - 0.5 ? 0 : 1) : (x - (center - 0.5)) / (width - 1) + 0.5;
    }
    share = share < 0 ? 0 : share > 1 ? 1 : share;
    table[value] = Math.round(255 * (highIsDark ? 1 - share : share));
  }
  return table;
}

/**
 * The window that spreads the given pixel values, sorted or not, over the full range of grey.
 * @param {Uint16Array | number[]} values pixel values
 * @param {Float32Array} modality
 * @param {number} tailPercent share cut off at either end
 * @returns {DisplayWindow | null} null when there is nothing to spread
 */
export function windowOver(values, modality, tailPercent) {
  if (values.length === 0) {
    return null;
  }
  const sorted = Uint16Array.from(values).sort();
  const cut = Math.floor((sorted.length * tailPercent) / 100);
  const low = modality[sorted[cut]];
  const high = modality[sorted[sorted.length - 1 - cut]];
  const width = Math.max(Math.abs(high - low), 2);
  return { center: (low + high) / 2, width, function: "linear-exact" };
}
