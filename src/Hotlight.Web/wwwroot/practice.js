// Keys of practice beside those of the bench: certainty, and on to what comes next.

import { start as startBench } from "./keys.js";

export { keepInSight } from "./keys.js";

/** @typedef {{ invokeMethodAsync(name: string, ...values: unknown[]): Promise<unknown> }} Page */

/** @type {Record<string, string>} */
const acts = { y: "certainty-0", e: "certainty-1", b: "certainty-2" };

/**
 * @param {Page} page
 * @param {HTMLElement} toggle button that switches single keys on and off
 */
export function start(page, toggle) {
  const bench = startBench(page, toggle);
  const closing = new AbortController();
  document.addEventListener("keydown", (event) => {
    const target = event.target instanceof HTMLElement ? event.target : document.body;
    if (event.key === "Enter" && (event.ctrlKey || event.metaKey) && !event.altKey) {
      event.preventDefault();
      page.invokeMethodAsync("Act", "proceed");
      return;
    }
    if (event.ctrlKey || event.metaKey || event.altKey || toggle.getAttribute("aria-pressed") === "false" || target.matches("textarea, select, input:not([type=radio])")) {
      return;
    }
    const act = acts[event.key.toLowerCase()];
    if (act) {
      event.preventDefault();
      page.invokeMethodAsync("Act", act);
    }
  }, { signal: closing.signal });
  return {
    stop: () => {
      closing.abort();
      bench.stop();
    },
  };
}

/**
 * Brings a line into sight.
 * @param {string} id
 */
export function show(id) {
  document.getElementById(id)?.scrollIntoView({ block: "nearest" });
}
