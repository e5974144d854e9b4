// The repeat analysis: gives the reader a file, and says which theme it is to be drawn for.

/** @returns {"dark" | "light"} */
export function theme() {
  return document.documentElement.dataset.theme === "light" ? "light" : "dark";
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
