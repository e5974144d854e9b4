// Saves a text that the page holds as a file of the reader's.

/**
 * @param {string} name
 * @param {string} text
 * @param {string} type
 */
export function save(name, text, type) {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([text], { type }));
  link.download = name;
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}

export function print() {
  window.print();
}
