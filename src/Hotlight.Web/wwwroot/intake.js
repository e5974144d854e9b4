// Files on their way in: dropped or picked, sent one after the other, each with its own result. One that fails doesn't hold up the others.

/**
 * @typedef {object} Arrival
 * @property {string} key
 * @property {string} name
 * @property {number} bytes
 * @property {"waiting" | "sending" | "measuring" | "kept" | "refused"} state
 * @property {number} percent
 * @property {string | null} sentence
 * @property {string | null} caseId
 */

/** @typedef {{ invokeMethodAsync(name: string, ...values: unknown[]): Promise<unknown> }} Page */

/**
 * @param {HTMLElement} area
 * @param {HTMLInputElement} picker
 * @param {Page} page
 * @param {number} limitBytes
 */
export function start(area, picker, page, limitBytes) {
  const closing = new AbortController();
  const { signal } = closing;
  /** @type {{file: File, arrival: Arrival}[]} */
  const queue = [];
  let busy = false;
  let number = 0;

  /** @param {{file: File, isFolder: boolean}[]} files */
  const take = async (files) => {
    /** @type {Arrival[]} */
    const arrivals = [];
    for (const { file, isFolder } of files) {
      /** @type {Arrival} */
      const arrival = { key: `${Date.now()}-${number++}`, name: file.name, bytes: file.size, state: "waiting", percent: 0, sentence: null, caseId: null };
      const refusal = isFolder
        ? "This is a folder; drop the files in it."
        : file.size === 0
          ? "The file is empty."
          : file.size > limitBytes
            ? `The file is larger than ${Math.floor(limitBytes / 1048576)} MiB, the most the bench takes.`
            : null;
      if (refusal) {
        arrival.state = "refused";
        arrival.sentence = refusal;
      } else {
        queue.push({ file, arrival });
      }
      arrivals.push(arrival);
    }
    if (arrivals.length > 0) {
      await page.invokeMethodAsync("Announce", arrivals);
    }
    if (!busy) {
      busy = true;
      for (let next = queue.shift(); next; next = queue.shift()) {
        await send(next.file, next.arrival, page, signal);
      }
      busy = false;
    }
  };

  const takePicked = () => {
    const files = [...(picker.files ?? [])].map((file) => ({ file, isFolder: false }));
    picker.value = "";
    take(files);
  };
  picker.addEventListener("change", takePicked, { signal });
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
    /** @type {{file: File, isFolder: boolean}[]} */
    const files = [];
    for (const item of event.dataTransfer.items) {
      const file = item.kind === "file" ? item.getAsFile() : null;
      if (file) {
        files.push({ file, isFolder: item.webkitGetAsEntry()?.isDirectory ?? false });
      }
    }
    take(files);
  }, { signal });
  // Files picked before this module was there wait in the picker.
  if (picker.files?.length) {
    takePicked();
  }
  return { stop: () => closing.abort() };
}

/**
 * @param {File} file
 * @param {Arrival} arrival
 * @param {Page} page
 * @param {AbortSignal} signal
 */
function send(file, arrival, page, signal) {
  const token = document.querySelector("meta[name=hotlight-token]")?.getAttribute("content") ?? "";
  return new Promise((resolve) => {
    const request = new XMLHttpRequest();
    let said = 0;
    /** @param {Partial<Arrival>} change */
    const goOn = (change) => {
      Object.assign(arrival, change);
      // The page may have been left meanwhile; the file is brought in all the same.
      page.invokeMethodAsync("GoOn", arrival).catch(() => undefined);
    };
    request.open("POST", `/cases?name=${encodeURIComponent(file.name)}`);
    request.setRequestHeader("X-Hotlight-Token", token);
    request.setRequestHeader("Content-Type", "application/octet-stream");
    request.upload.addEventListener("progress", (event) => {
      const percent = Math.floor((100 * event.loaded) / Math.max(1, event.total));
      if (performance.now() - said > 120) {
        said = performance.now();
        goOn({ state: "sending", percent });
      }
    });
    request.upload.addEventListener("load", () => goOn({ state: "measuring", percent: 100 }));
    request.addEventListener("load", () => {
      let answer = null;
      try {
        answer = JSON.parse(request.responseText);
      } catch {
        // No document: the plain sentence below stands.
      }
      if (request.status === 201 && answer) {
        goOn({ state: "kept", caseId: answer.id, sentence: answer.sameFileAs ? `(the same file is already kept as “${answer.sameFileAs}”)` : null });
      } else {
        goOn({ state: "refused", sentence: answer?.detail ?? "The bench did not take it; try again." });
      }
      resolve(undefined);
    });
    request.addEventListener("error", () => {
      goOn({ state: "refused", sentence: "The connection broke off, or the file could not be read; nothing of it was kept." });
      resolve(undefined);
    });
    request.addEventListener("abort", () => resolve(undefined));
    signal.addEventListener("abort", () => resolve(undefined));
    request.send(file);
  });
}
