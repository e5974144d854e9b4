// The phantom lab's page: draws previews, saves files, hears the keys of undo.

/** @typedef {{ invokeMethodAsync(name: string, ...values: unknown[]): Promise<unknown> }} Page */

/**
 * Draws a preview.
 * @param {HTMLCanvasElement} canvas
 * @param {Uint8Array} greys 0 black to 255 white, row by row
 * @param {number} columns
 * @param {number} rows
 */
export function draw(canvas, greys, columns, rows) {
  const pixels = new ImageData(columns, rows);
  const words = new Uint32Array(pixels.data.buffer);
  for (let place = 0; place < words.length; place++) {
    words[place] = 0xff000000 | ((greys[place] ?? 0) * 0x010101);
  }
  if (canvas.width !== columns || canvas.height !== rows) {
    canvas.width = columns;
    canvas.height = rows;
  }
  canvas.getContext("2d")?.putImageData(pixels, 0, 0);
  canvas.dataset.drawn = String(Number(canvas.dataset.drawn ?? 0) + 1);
}

/**
 * Gives the reader a file.
 * @param {string} name
 * @param {string} type
 * @param {{ arrayBuffer(): Promise<ArrayBuffer> }} stream
 */
export async function save(name, type, stream) {
  const address = URL.createObjectURL(new Blob([await stream.arrayBuffer()], { type }));
  const link = document.createElement("a");
  link.href = address;
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(address), 10_000);
}

/**
 * Undo and redo by keyboard; in a box that is typed into they belong to the box.
 * @param {Page} page
 */
export function start(page) {
  const closing = new AbortController();
  document.addEventListener("keydown", (event) => {
    const target = event.target instanceof HTMLElement ? event.target : document.body;
    const key = event.key.toLowerCase();
    if ((event.ctrlKey || event.metaKey) && !event.altKey && (key === "z" || key === "y") && !target.matches("textarea, input[type=number]")) {
      event.preventDefault();
      page.invokeMethodAsync("Go", key === "z" && !event.shiftKey);
    }
  }, { signal: closing.signal });
  return { stop: () => closing.abort() };
}
