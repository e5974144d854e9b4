// Files on their way in: dropped or picked, whole folders too. Each is sent in pieces; after a dropped connection it goes on from the last byte the bench has.
// The page is told sums and results a few times a second, however many files there are.

import { watchFiles } from "./files.js";

/**
 * @typedef {object} Result
 * @property {string} name
 * @property {number} bytes
 * @property {"kept" | "known" | "refused"} state
 * @property {string | null} sentence
 * @property {string | null} caseId
 * @property {string | null} title
 */
/**
 * @typedef {object} News
 * @property {number} waiting
 * @property {number} kept
 * @property {number} known
 * @property {number} refused
 * @property {number} toLookAt
 * @property {boolean} isCounting
 * @property {boolean} isRetrying
 * @property {{name: string, percent: number, isMeasuring: boolean}[]} under
 * @property {Result[]} results
 */
/** @typedef {import("./files.js").Waiting} Waiting */
/** @typedef {{ invokeMethodAsync(name: string, ...values: unknown[]): Promise<unknown> }} Page */

const pieceBytes = 2 * 1024 * 1024;
const atOnce = 2;
const tellEveryMs = 300;
const mostResultsAtOnce = 50;
const keptInSession = "hotlight-intake";

/** Companions of images that are none themselves: [pattern of the name, what it is]. */
const companions = /** @type {[RegExp, string][]} */ ([
  [/^DICOMDIR$/i, "a table of contents of a DICOM medium"],
  [/^(thumbs\.db|desktop\.ini|\.ds_store)$/i, "a file of the operating system"],
  [/^\./, "a hidden file"],
  [/\.(txt|md|rtf|log|ini|inf|csv|json|xml|html?|css|js|url|lnk)$/i, "a text file"],
  [/\.(pdf|docx?|xlsx?|pptx?|odt|ods)$/i, "a document"],
  [/\.(exe|dll|jar|bat|cmd|sh|msi|app|com|ocx)$/i, "a program"],
  [/\.(zip|7z|rar|gz|tar|iso)$/i, "an archive; unpack it and drop the files"],
  [/\.(mp4|avi|mov|mkv|mp3|wav)$/i, "a recording"],
]);

/** @type {Waiting[]} */
const queue = [];
/** @type {Map<number, {name: string, percent: number, isMeasuring: boolean}>} */
const under = new Map();
/** @type {Result[]} */
let untold = [];
const sums = { kept: 0, known: 0, refused: 0, toLookAt: 0 };
let counting = 0;
let retrying = 0;
let number = 0;
let limit = 0;
/** @type {Page | null} */
let page = null;
let isTelling = false;
let tellAgain = false;
/** @type {(() => void)[]} */
let whenIdle = [];

const isBusy = () => queue.length > 0 || under.size > 0 || counting > 0;

/**
 * @param {HTMLElement} area
 * @param {HTMLInputElement} picker
 * @param {HTMLButtonElement} folderPicker
 * @param {Page} toTell
 * @param {number} limitBytes
 */
export function start(area, picker, folderPicker, toTell, limitBytes) {
  const closing = new AbortController();
  const { signal } = closing;
  page = toTell;
  limit = limitBytes;
  watchFiles(area, picker, folderPicker, {
    take,
    counting: (change) => {
      counting += change;
      tell();
    },
    unreadable: (name) => finish({ name, bytes: 0, state: "refused", sentence: "The folder cannot be read.", caseId: null, title: null }),
  }, signal);
  recall();
  tell();
  return {
    stop: () => {
      closing.abort();
      if (page === toTell) {
        page = null;
      }
    },
  };
}

/** What was said before the page was opened anew. */
function recall() {
  const kept = sessionStorage.getItem(keptInSession);
  sessionStorage.removeItem(keptInSession);
  if (!kept || isBusy()) {
    return;
  }
  try {
    const { results, before } = JSON.parse(kept);
    Object.assign(sums, before);
    untold = results;
  } catch {
    // Nothing of ours.
  }
}

document.addEventListener("hotlight-opening-again", (event) => {
  if (isBusy()) {
    const unfinished = /** @type {CustomEvent<Promise<unknown>[]>} */ (event).detail;
    unfinished.push(new Promise((resolve) => whenIdle.push(() => resolve(undefined))));
  }
  whenIdle.push(remember);
  if (!isBusy()) {
    remember();
  }
});

function remember() {
  if (untold.length > 0) {
    sessionStorage.setItem(keptInSession, JSON.stringify({ results: untold.slice(0, 200), before: sums }));
  }
}

window.addEventListener("beforeunload", (event) => {
  if (isBusy()) {
    event.preventDefault();
  }
});

/** @param {Waiting[]} files */
function take(files) {
  for (const file of files) {
    const companion = companions.find(([pattern]) => pattern.test(file.name));
    if (companion) {
      finish({ name: file.name, bytes: 0, state: "refused", sentence: `This is ${companion[1]}, not an image.`, caseId: null, title: null });
    } else {
      queue.push(file);
    }
  }
  while (under.size < atOnce && queue.length > 0) {
    work();
  }
  tell();
}

async function work() {
  const key = number++;
  const state = { name: "", percent: 0, isMeasuring: false };
  under.set(key, state);
  for (let next = queue.shift(); next; next = queue.shift()) {
    Object.assign(state, { name: next.name, percent: 0, isMeasuring: false });
    tell();
    finish(await bring(next, state));
  }
  under.delete(key);
  tell();
  if (!isBusy()) {
    const waiting = whenIdle;
    whenIdle = [];
    waiting.forEach((resolve) => resolve());
  }
}

/** @param {Result} result */
function finish(result) {
  sums[result.state]++;
  untold.push(result);
  tell();
}

/** Tells the page, at most every so often; what the page did not take is told again. */
async function tell() {
  tellAgain = true;
  if (isTelling) {
    return;
  }
  isTelling = true;
  while (tellAgain && page) {
    tellAgain = false;
    const results = untold.slice(0, mostResultsAtOnce);
    /** @type {News} */
    const news = { waiting: queue.length, ...sums, isCounting: counting > 0, isRetrying: retrying > 0, under: [...under.values()], results };
    try {
      await page.invokeMethodAsync("Tell", news);
      untold = untold.slice(results.length);
      tellAgain ||= untold.length > 0;
    } catch {
      // The connection is down or the page was left: the next start or result tells it.
      break;
    }
    await new Promise((resolve) => setTimeout(resolve, tellEveryMs));
  }
  isTelling = false;
}

/** Forgets what was told, when nothing is under way. */
export function clear() {
  if (!isBusy()) {
    Object.assign(sums, { kept: 0, known: 0, refused: 0, toLookAt: 0 });
    untold = [];
    tell();
  }
}

/** Leaves out what still waits. */
export function skip() {
  queue.length = 0;
  tell();
}

/** An answer of the bench that ends the matter; anything else is tried again. */
class Refusal extends Error {}

/**
 * @param {Waiting} waiting
 * @param {{percent: number, isMeasuring: boolean}} state
 * @returns {Promise<Result>}
 */
async function bring(waiting, state) {
  /** @type {Result} */
  const result = { name: waiting.name, bytes: 0, state: "refused", sentence: null, caseId: null, title: null };
  try {
    const file = await waiting.open();
    result.bytes = file.size;
    if (file.size === 0) {
      throw new Refusal("The file is empty.");
    }
    if (file.size > limit) {
      throw new Refusal(`The file is larger than ${Math.floor(limit / 1048576)} MiB, the most the bench takes.`);
    }
    const answer = await upload(file, state);
    result.state = answer.wasKept ? "known" : "kept";
    result.caseId = answer.id;
    result.title = answer.title;
    if (!answer.wasKept && answer.warnings?.length > 0) {
      sums.toLookAt++;
    }
  } catch (error) {
    result.sentence = error instanceof Refusal ? error.message : "The file could not be read from its place; nothing of it was kept.";
  }
  return result;
}

/**
 * @param {File} file
 * @param {{percent: number, isMeasuring: boolean}} state
 */
async function upload(file, state) {
  // An upload that the bench no longer knows begins anew, a few times.
  for (let round = 0; round < 4; round++) {
    state.isMeasuring = false;
    const begun = await ask("POST", `/uploads?name=${encodeURIComponent(file.name)}&bytes=${file.size}`, null, 0);
    if (!begun) {
      continue;
    }
    const place = `/uploads/${begun.id}`;
    let arrived = 0;
    while (arrived < file.size) {
      // Read first: a file that cannot be read is another matter than a connection that is down.
      const piece = await file.slice(arrived, arrived + pieceBytes).arrayBuffer();
      const answer = await ask("PATCH", place, piece, arrived);
      if (!answer) {
        break;
      }
      arrived = answer.arrived;
      state.percent = Math.floor((100 * arrived) / file.size);
      tell();
    }
    if (arrived < file.size) {
      continue;
    }
    state.isMeasuring = true;
    tell();
    const done = await ask("POST", `${place}/finish`, null, 0);
    if (done) {
      return done;
    }
  }
  throw new Refusal("The bench lost the upload again and again; try it later.");
}

/**
 * One request, tried again until the bench answers. Null: the bench does not know the upload any more.
 * @param {string} method
 * @param {string} place
 * @param {ArrayBuffer | null} body
 * @param {number} offset
 */
async function ask(method, place, body, offset) {
  const token = document.querySelector("meta[name=hotlight-token]")?.getAttribute("content") ?? "";
  let isDown = false;
  try {
    for (let waitMs = 400; ; waitMs = Math.min(15000, waitMs * 2)) {
      let response;
      try {
        response = await fetch(place, { method, body, cache: "no-store", headers: { "X-Hotlight-Token": token, "Upload-Offset": `${offset}`, "Content-Type": "application/octet-stream" } });
      } catch {
        response = null;
      }
      if (response && response.status !== 502 && response.status !== 503 && response.status !== 500) {
        const answer = await response.json().catch(() => null);
        // 409: another place than the bench has; its answer says which.
        if (answer && (response.ok || response.status === 409)) {
          return answer;
        }
        if (response.status === 404) {
          return null;
        }
        if (answer?.detail) {
          throw new Refusal(answer.detail);
        }
      } else if (response && waitMs > 6000) {
        throw new Refusal("The bench could not take the file.");
      }
      if (!isDown) {
        isDown = true;
        retrying++;
        tell();
      }
      await new Promise((resolve) => setTimeout(resolve, waitMs));
    }
  } finally {
    if (isDown) {
      retrying--;
      tell();
    }
  }
}
