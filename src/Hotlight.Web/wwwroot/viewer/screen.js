// How large a pixel of this screen is: measured once by the person, kept in this browser for each ratio of device pixels.

/** Long side of a bank card, ISO/IEC 7810 ID-1, in mm. */
export const cardWidthMm = 85.6;

/** Short side, in mm. */
export const cardHeightMm = 53.98;

/** @param {number} ratio device pixels per CSS pixel */
function keptAs(ratio) {
  return `hotlight.screen:${ratio.toFixed(4)}`;
}

/**
 * Size of a device pixel.
 * @returns {number | null} mm; null where it was not measured for this browser and ratio
 */
export function devicePixelMm() {
  try {
    const kept = Number(localStorage.getItem(keptAs(globalThis.devicePixelRatio || 1)));
    return Number.isFinite(kept) && kept > 0.02 && kept < 2 ? kept : null;
  } catch {
    return null;
  }
}

/**
 * Keeps what was measured.
 * @param {number} cssPixels length of what was drawn
 * @param {number} mm its length on the screen
 * @returns {boolean} whether it is a size that a screen can have
 */
export function keepScreen(cssPixels, mm) {
  const ratio = globalThis.devicePixelRatio || 1;
  const pixelMm = mm / (cssPixels * ratio);
  if (!(pixelMm > 0.02 && pixelMm < 2)) {
    return false;
  }
  try {
    localStorage.setItem(keptAs(ratio), String(pixelMm));
  } catch {
    return false;
  }
  return true;
}

/**
 * The dialog in which the screen is measured.
 * @param {HTMLDialogElement} dialog
 * @param {() => void} done
 * @param {AbortSignal} signal
 */
export function wireScreenDialog(dialog, done, signal) {
  const outline = /** @type {HTMLElement} */ (dialog.querySelector("[data-screen=outline]"));
  const size = /** @type {HTMLInputElement} */ (dialog.querySelector("[data-screen=size]"));
  const measured = /** @type {HTMLInputElement} */ (dialog.querySelector("[data-screen=mm]"));
  const fault = /** @type {HTMLElement} */ (dialog.querySelector("[data-screen=fault]"));
  const show = () => {
    outline.style.width = `${size.value}px`;
    outline.style.height = `${(Number(size.value) * cardHeightMm) / cardWidthMm}px`;
  };
  size.addEventListener("input", show, { signal });
  dialog.addEventListener("toggle", show, { signal });
  dialog.querySelector("form")?.addEventListener("submit", (event) => {
    event.preventDefault();
    if (keepScreen(Number(size.value), Number(measured.value))) {
      fault.textContent = "";
      dialog.close();
      done();
    } else {
      fault.textContent = "That cannot be kept: no screen has pixels of that size, or this browser keeps nothing. Measure again.";
    }
  }, { signal });
  dialog.querySelector("[data-screen=cancel]")?.addEventListener("click", () => dialog.close(), { signal });
  show();
}
