// Exposures on their way into the records: of images only the beginning of each file is sent, of a table all of it, in pieces that go on from the last byte after a dropped connection.
// The page is told sums a few times a second, however many files there are.

import { watchFiles } from "./files.js";

/**
 * @typedef {object} News
 * @property {number} waiting
 * @property {number} sent
 * @property {boolean} isCounting
 * @property {boolean} isRetrying
 * @property {string | null} tableName
 * @property {string | null} tableId
 * @property {number} tablePercent
 * @property {string | null} sentence
 */
/** @typedef {import("./files.js").Waiting} Waiting */
/** @typedef {{ invokeMethodAsync(name: string, ...values: unknown[]): Promise<unknown> }} Page */

const headBytes = 256 * 1024;
const wholeBytes = 64 * 1024 * 1024;
const pieceBytes = 2 * 1024 * 1024;
const atOnce = 3;
const tellEveryMs = 300;
const isTable = /\.(csv|tsv|txt)$/i;

/** An answer of the bench that ends the matter; anything else is tried again. */
class Refusal extends Error {}

/**
 * @param {HTMLElement} area
 * @param {HTMLInputElement} picker
 * @param {HTMLButtonElement} folderPicker
 * @param {Page} page
 * @param {string} firstBatch
 * @param {number} limitBytes
 */
export function start(area, picker, folderPicker, page, firstBatch, limitBytes) {
  const closing = new AbortController();
  const { signal } = closing;
  let batch = firstBatch;
  /** @type {Waiting[]} */
  const queue = [];
  let under = 0;
  let sent = 0;
  let counting = 0;
  let retrying = 0;
  /** @type {string | null} */
  let sentence = null;
  /** @type {{name: string, id: string | null, percent: number} | null} */
  let table = null;
  let isTelling = false;
  let tellAgain = false;

  /** Tells the page, at most every so often. */
  async function tell() {
    tellAgain = true;
    if (isTelling) {
      return;
    }
    isTelling = true;
    while (tellAgain && !signal.aborted) {
      tellAgain = false;
      /** @type {News} */
      const news = {
        waiting: queue.length + under, sent, isCounting: counting > 0, isRetrying: retrying > 0,
        tableName: table?.name ?? null, tableId: table?.id ?? null, tablePercent: table?.percent ?? 0, sentence,
      };
      try {
        await page.invokeMethodAsync("Tell", news);
      } catch {
        // The connection is down: the next change tells it.
        break;
      }
      await new Promise((resolve) => setTimeout(resolve, tellEveryMs));
    }
    isTelling = false;
  }

  /** @param {Waiting[]} files */
  function take(files) {
    sentence = null;
    for (const file of files) {
      if (!isTable.test(file.name)) {
        queue.push(file);
      } else if (table) {
        sentence = `One table at a time: ${table.name} is here, ${file.name} was left out.`;
      } else {
        table = { name: file.name, id: null, percent: 0 };
        bringTable(file, table);
      }
    }
    while (under < atOnce && queue.length > 0) {
      work();
    }
    tell();
  }

  async function work() {
    under++;
    for (let next = queue.shift(); next; next = queue.shift()) {
      tell();
      try {
        const file = await next.open();
        if (file.size > 0) {
          await bringFile(file);
        }
      } catch (error) {
        sentence = error instanceof Refusal ? error.message : `${next.name} could not be read from its place.`;
      }
      sent++;
    }
    under--;
    tell();
  }

  /** @param {File} file */
  async function bringFile(file) {
    const place = `/records/batches/${batch}/files?name=${encodeURIComponent(file.name)}&bytes=${file.size}`;
    const answer = await ask("PUT", place, await file.slice(0, headBytes).arrayBuffer(), 0);
    if (answer?.isMoreNeeded) {
      // Attributes longer than the beginning: reports, or a damaged file, which is then said to be one.
      await ask("PUT", file.size <= wholeBytes ? place : `${place.replace(/bytes=\d+$/, "")}bytes=${wholeBytes}`, await file.slice(0, wholeBytes).arrayBuffer(), 0);
    }
  }

  /**
   * @param {Waiting} waiting
   * @param {{name: string, id: string | null, percent: number}} own
   */
  async function bringTable(waiting, own) {
    try {
      const file = await waiting.open();
      if (file.size === 0) {
        throw new Refusal(`${file.name} is empty.`);
      }
      if (file.size > limitBytes) {
        throw new Refusal(`${file.name} is larger than ${Math.floor(limitBytes / 1048576)} MiB, the most the page takes; 'hotlight records bring-in' takes any size.`);
      }
      for (let round = 0; round < 4 && table === own; round++) {
        const begun = await ask("POST", `/uploads?name=${encodeURIComponent(file.name)}&bytes=${file.size}`, null, 0);
        let arrived = 0;
        while (begun && arrived < file.size && table === own) {
          const answer = await ask("PATCH", `/uploads/${begun.id}`, await file.slice(arrived, arrived + pieceBytes).arrayBuffer(), arrived);
          if (!answer) {
            break;
          }
          arrived = answer.arrived;
          own.percent = Math.floor((100 * arrived) / file.size);
          tell();
        }
        if (begun && arrived === file.size) {
          own.id = begun.id;
          tell();
          return;
        }
      }
    } catch (error) {
      sentence = error instanceof Refusal ? error.message : `${waiting.name} could not be read from its place.`;
    }
    if (table === own) {
      table = null;
    }
    tell();
  }

  /**
   * One request, tried again until the bench answers. Null: the bench does not know the place any more.
   * @param {string} method
   * @param {string} place
   * @param {ArrayBuffer | null} body
   * @param {number} offset
   */
  async function ask(method, place, body, offset) {
    const token = document.querySelector("meta[name=hotlight-token]")?.getAttribute("content") ?? "";
    let isDown = false;
    try {
      for (let waitMs = 400; !signal.aborted; waitMs = Math.min(15000, waitMs * 2)) {
        let response;
        try {
          response = await fetch(place, { method, body, cache: "no-store", signal, headers: { "X-Hotlight-Token": token, "Upload-Offset": `${offset}`, "Content-Type": "application/octet-stream" } });
        } catch {
          response = null;
        }
        if (response && response.status < 500) {
          const answer = await response.json().catch(() => null);
          if (answer && (response.ok || response.status === 409)) {
            return answer;
          }
          if (response.status === 404 && place.startsWith("/uploads")) {
            return null;
          }
          throw new Refusal(answer?.detail ?? "The bench could not take the file.");
        }
        if (!isDown) {
          isDown = true;
          retrying++;
          tell();
        }
        await new Promise((resolve) => setTimeout(resolve, waitMs));
      }
      throw new Refusal("The page was left.");
    } finally {
      if (isDown) {
        retrying--;
        tell();
      }
    }
  }

  watchFiles(area, picker, folderPicker, {
    take,
    counting: (change) => {
      counting += change;
      tell();
    },
    unreadable: (name) => {
      sentence = `The folder ${name} cannot be read.`;
    },
  }, signal);
  tell();
  return {
    /** @param {string} next */
    nextBatch: (next) => {
      batch = next;
      sent = 0;
      sentence = null;
      tell();
    },
    nextTable: () => {
      table = null;
      sentence = null;
      tell();
    },
    stop: () => closing.abort(),
  };
}
