// The worklist: only the lines in sight are there; the rest of its length is two empty rows. Keys move over lines that are not there yet.

/** @typedef {{ invokeMethodAsync(name: string, ...values: unknown[]): Promise<unknown> }} Page */

const keysKeptAs = "hotlight.keys";
const placeKeptAs = "hotlight.worklist";
const margin = 25;

/**
 * @param {HTMLTableElement} table
 * @param {Page} page
 */
export function start(table, page) {
  const closing = new AbortController();
  const { signal } = closing;
  /** The line that takes the focus as soon as it is there. */
  let wanted = -1;
  let asking = false;
  let askedFor = "";

  const body = () => table.tBodies[0];
  const number = (/** @type {string} */ name) => Number(body()?.dataset[name] ?? 0);
  const lines = () => [...table.querySelectorAll("tr[data-line]")].filter((row) => row instanceof HTMLTableRowElement);

  /** Height of a line in CSS pixels; all are alike. */
  function lineHeight() {
    const row = table.querySelector("tr[data-line]");
    return row ? row.getBoundingClientRect().height : 46;
  }

  function fit() {
    const spaces = table.querySelectorAll("tr.space > td");
    const height = lineHeight();
    const first = number("first");
    const below = Math.max(0, number("total") - first - number("shown"));
    [first, below].forEach((rows, index) => {
      const cell = spaces[index];
      if (cell instanceof HTMLElement) {
        cell.style.setProperty("height", `${rows * height}px`);
      }
    });
    focusWanted();
  }

  /** @returns {[number, number]} first line in sight and the one after the last */
  function inSight() {
    const height = lineHeight();
    const top = body()?.getBoundingClientRect().top ?? 0;
    const first = Math.max(0, Math.floor(-top / height));
    return [first, Math.min(number("total"), Math.ceil((innerHeight - top) / height))];
  }

  async function ask() {
    if (asking || signal.aborted) {
      return;
    }
    const [first, end] = inSight();
    const haveFirst = number("first");
    const haveEnd = haveFirst + number("shown");
    const total = number("total");
    const reach = Math.floor(margin / 2);
    if (Math.max(0, first - reach) >= haveFirst && Math.min(total, end + reach) <= haveEnd) {
      return;
    }
    const from = Math.max(0, first - margin);
    const count = end - from + margin;
    const asked = `${from}+${count} of ${total}`;
    if (asked === askedFor && haveFirst === from) {
      return;
    }
    askedFor = asked;
    asking = true;
    try {
      await page.invokeMethodAsync("Show", from, count);
    } catch {
      // The connection dropped: the next scroll, or the page that opens anew, asks again.
      askedFor = "";
    }
    asking = false;
    requestAnimationFrame(() => {
      fit();
      ask();
    });
  }

  /** @param {number} line */
  function rowOf(line) {
    const row = table.querySelector(`tr[data-line="${line}"]:not(.on-its-way)`);
    return row instanceof HTMLTableRowElement ? row : null;
  }

  function focusWanted() {
    const row = wanted >= 0 ? rowOf(wanted) : null;
    if (row) {
      wanted = -1;
      row.focus({ preventScroll: true });
      bringIn(row);
    }
  }

  /** Where the bar of acts begins, which covers the last lines in sight. */
  const foot = () => document.querySelector(".worklist-acts")?.getBoundingClientRect().top ?? innerHeight;

  /** Keeps a line clear of what stands still at the top. @param {HTMLElement} row */
  function bringIn(row) {
    const box = row.getBoundingClientRect();
    const head = table.tHead?.getBoundingClientRect().bottom ?? 0;
    if (box.top < head) {
      scrollBy({ top: box.top - head - 2 });
    } else if (box.bottom > foot()) {
      scrollBy({ top: box.bottom - foot() + 2 });
    }
  }

  /** @param {number} line */
  function goTo(line) {
    const total = number("total");
    if (total === 0) {
      return;
    }
    const target = Math.min(Math.max(line, 0), total - 1);
    wanted = target;
    if (rowOf(target)) {
      focusWanted();
      return;
    }
    const top = (body()?.getBoundingClientRect().top ?? 0) + scrollY;
    scrollTo({ top: top + target * lineHeight() - innerHeight / 2 });
    ask();
  }

  /** The line with the focus, or the first in sight. */
  function current() {
    const row = document.activeElement?.closest("tr[data-line]");
    return row instanceof HTMLElement && table.contains(row) ? row : null;
  }

  /** @param {number} by */
  function move(by) {
    const row = current();
    goTo(row ? Number(row.dataset.line) + by : wanted >= 0 ? wanted + by : inSight()[0]);
  }

  function letters() {
    try {
      return localStorage.getItem(keysKeptAs) !== "off";
    } catch {
      return true;
    }
  }

  /** @param {string} id */
  const focusOn = (id) => {
    const field = document.getElementById(id);
    field?.focus();
    return field;
  };

  document.addEventListener("keydown", (event) => {
    const target = event.target instanceof HTMLElement ? event.target : document.body;
    const typing = target.matches("textarea, select, input:not([type=checkbox])");
    if (event.ctrlKey || event.metaKey || event.altKey || document.querySelector(":popover-open")) {
      return;
    }
    if (typing) {
      if (event.key === "Escape" && target.closest(".filters, .worklist-acts")) {
        event.preventDefault();
        goTo(inSight()[0]);
      } else if (event.key === "ArrowDown" && target.id === "worklist-search") {
        event.preventDefault();
        goTo(0);
      }
      return;
    }
    const row = current();
    const onButton = target.matches("button, a") && !row;
    const page = Math.max(1, Math.floor((foot() - (table.tHead?.getBoundingClientRect().bottom ?? 0)) / lineHeight()) - 1);
    const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
    if (event.key.length === 1 && !letters()) {
      return;
    }
    /** @type {Record<string, () => unknown>} */
    const acts = {
      ArrowDown: () => move(1),
      ArrowUp: () => move(-1),
      j: () => move(1),
      k: () => move(-1),
      PageDown: () => move(page),
      PageUp: () => move(-page),
      Home: () => goTo(0),
      End: () => goTo(number("total") - 1),
      "/": () => focusOn("worklist-search"),
      g: () => focusOn("worklist-grouping"),
      a: () => {
        const box = row?.querySelector("input[type=checkbox]");
        const give = document.getElementById("worklist-give");
        if (give instanceof HTMLSelectElement && give.disabled && box instanceof HTMLInputElement) {
          box.click();
          new MutationObserver((_, watch) => {
            if (!give.disabled) {
              watch.disconnect();
              give.focus();
            }
          }).observe(give, { attributes: true });
          return;
        }
        give?.focus();
      },
      "?": () => document.getElementById("worklist-keys")?.togglePopover(),
    };
    if (row) {
      acts.x = () => /** @type {HTMLElement | null} */ (row.querySelector("input[type=checkbox]"))?.click();
      acts.Delete = () => {
        const box = row.querySelector("input[type=checkbox]");
        const button = document.getElementById("worklist-delete");
        if (!(button instanceof HTMLButtonElement)) {
          return;
        }
        if (!button.disabled) {
          button.click();
        } else if (box instanceof HTMLInputElement) {
          box.click();
          new MutationObserver((_, watch) => {
            if (!button.disabled) {
              watch.disconnect();
              button.click();
            }
          }).observe(button, { attributes: true });
        }
        wanted = Number(row.dataset.line);
      };
      if (target === row) {
        acts.Enter = () => /** @type {HTMLElement | null} */ (row.querySelector("th a, th button"))?.click();
      }
    }
    if (onButton && (key === "Home" || key === "End")) {
      return;
    }
    const act = acts[key];
    if (act) {
      event.preventDefault();
      act();
    }
  }, { signal });

  // A click beside the words takes the focus to the line, so that the keys go on from there.
  table.addEventListener("click", (event) => {
    const target = event.target instanceof HTMLElement ? event.target : null;
    const row = target?.closest("tr[data-line]");
    if (row instanceof HTMLElement && !target?.closest("a, button, input")) {
      row.focus({ preventScroll: true });
    }
  }, { signal });

  addEventListener("scroll", () => ask(), { signal, passive: true });
  addEventListener("resize", () => {
    fit();
    ask();
  }, { signal });
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") {
      page.invokeMethodAsync("LookAgain").catch(() => {});
    }
  }, { signal });

  // The window's rows come with the page's own drawing: the empty rows follow before anything is painted.
  const watch = new MutationObserver(() => {
    fit();
    ask();
  });
  watch.observe(table, { subtree: true, childList: true, attributes: true, attributeFilter: ["data-first", "data-shown", "data-total"] });
  fit();
  comeBack();
  ask();

  /** Where the reader was in this very list, kept when the page is left. */
  function comeBack() {
    try {
      const kept = JSON.parse(sessionStorage.getItem(placeKeptAs) ?? "null");
      if (kept && kept.address === location.search) {
        scrollTo({ top: kept.top });
        wanted = kept.line;
        ask();
      }
      sessionStorage.removeItem(placeKeptAs);
    } catch {
      // Without storage the list begins at its top.
    }
  }

  const address = () => location.search;
  let lastAddress = address();
  let lastTop = scrollY;
  let lastLine = -1;
  addEventListener("scroll", () => {
    if (location.pathname === "/") {
      lastAddress = address();
      lastTop = scrollY;
    }
  }, { signal, passive: true });
  table.addEventListener("focusin", () => {
    lastLine = Number(current()?.dataset.line ?? -1);
    lastAddress = address();
  }, { signal });

  function keepPlace() {
    try {
      sessionStorage.setItem(placeKeptAs, JSON.stringify({ address: lastAddress, top: lastTop, line: lastLine }));
    } catch {
      // Without storage the list begins at its top.
    }
  }

  // Also when the page opens anew by itself after the connection was lost.
  addEventListener("pagehide", keepPlace, { signal });

  return {
    stop: () => {
      closing.abort();
      watch.disconnect();
      keepPlace();
    },
  };
}
