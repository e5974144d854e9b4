// Files and whole folders that are dropped on a page or picked: the one way in for every page that takes files.

/** @typedef {{ name: string, open: () => Promise<File> }} Waiting */
/**
 * @typedef {object} Taker
 * @property {(files: Waiting[]) => void} take is given files, a few at a time
 * @property {(change: 1 | -1) => void} counting is told when a folder is begun and when it is through
 * @property {(name: string) => void} unreadable is told the name of a folder that cannot be read
 */

/**
 * Watches a page for files until the signal stops it. What was picked before is taken at once.
 * @param {HTMLElement} area
 * @param {HTMLInputElement} picker
 * @param {HTMLButtonElement} folderPicker
 * @param {Taker} taker
 * @param {AbortSignal} signal
 */
export function watchFiles(area, picker, folderPicker, taker, signal) {
  /** @param {FileList | null} files */
  const picked = (files) => taker.take([...(files ?? [])].map((file) => ({ name: file.name, open: () => Promise.resolve(file) })));
  const takePicked = () => {
    picked(picker.files);
    picker.value = "";
  };
  picker.addEventListener("change", takePicked, { signal });
  folderPicker.addEventListener("click", () => {
    const folder = document.createElement("input");
    folder.type = "file";
    folder.webkitdirectory = true;
    folder.addEventListener("change", () => picked(folder.files));
    folder.click();
  }, { signal });
  window.addEventListener("dragover", (event) => {
    if (event.dataTransfer?.types.includes("Files")) {
      event.preventDefault();
      area.dataset.over = "true";
    }
  }, { signal });
  window.addEventListener("dragleave", (event) => {
    if (!event.relatedTarget) {
      delete area.dataset.over;
    }
  }, { signal });
  window.addEventListener("drop", (event) => {
    if (!event.dataTransfer?.types.includes("Files")) {
      return;
    }
    event.preventDefault();
    delete area.dataset.over;
    // Entries can only be asked for during the event.
    const entries = [...event.dataTransfer.items].filter((item) => item.kind === "file").map((item) => item.webkitGetAsEntry());
    walk(entries.filter((entry) => entry !== null), taker);
  }, { signal });
  area.dataset.files = "heard";
  // Files picked before this module was there wait in the picker.
  if (picker.files?.length) {
    takePicked();
  }
}

/**
 * Goes through dropped folders.
 * @param {FileSystemEntry[]} entries
 * @param {Taker} taker
 */
async function walk(entries, taker) {
  taker.counting(1);
  for (const entry of entries) {
    if (entry.isFile) {
      taker.take([{ name: entry.name, open: () => new Promise((resolve, reject) => /** @type {FileSystemFileEntry} */ (entry).file(resolve, reject)) }]);
      continue;
    }
    const reader = /** @type {FileSystemDirectoryEntry} */ (entry).createReader();
    try {
      // A reader gives its entries a hundred at a time, then none.
      for (;;) {
        const some = await new Promise((/** @type {(value: FileSystemEntry[]) => void} */ resolve, reject) => reader.readEntries(resolve, reject));
        if (some.length === 0) {
          break;
        }
        await walk(some, taker);
      }
    } catch {
      taker.unreadable(entry.name);
    }
  }
  taker.counting(-1);
}
