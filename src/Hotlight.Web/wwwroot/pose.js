// The position in space: draws the phantom, and lays the radiograph over it.

export { draw } from "./lab.js";

/**
 * How much of the picture is seen over what lies under it.
 * @param {HTMLCanvasElement} canvas
 * @param {number} share 0 nothing to 1 all
 */
export function fade(canvas, share) {
  canvas.style.opacity = String(share);
}

/** Scrolls the list so that the point that is asked for is seen. */
export function bringInSight() {
  document.querySelector(".pose-points li.current")?.scrollIntoView({ block: "nearest" });
}
