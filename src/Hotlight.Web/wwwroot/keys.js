// Keys of the bench outside the picture: answers, lines, undo. Single letters can be switched off, for readers whose input sends letters unasked.

const keptAs = "hotlight.keys";

/** @typedef {{ invokeMethodAsync(name: string, ...values: unknown[]): Promise<unknown> }} Page */

/** @type {Record<string, string>} */
const acts = { b: "pose", Backspace: "back", m: "met", n: "not-met", c: "cannot-tell", a: "not-applicable", r: "remark", j: "next", k: "previous", ArrowDown: "next", ArrowUp: "previous", o: "next-open", v: "verdict" };

/**
 * @param {Page} page
 * @param {HTMLElement} toggle button that switches single keys on and off
 */
export function start(page, toggle) {
  const closing = new AbortController();
  const { signal } = closing;
  let on = read();
  const show = () => toggle.setAttribute("aria-pressed", String(on));
  toggle.dataset.keys = "heard";
  show();
  toggle.addEventListener("click", () => {
    on = !on;
    try {
      localStorage.setItem(keptAs, on ? "on" : "off");
    } catch {
      // Without storage the choice lasts as long as the page.
    }
    show();
  }, { signal });
  document.addEventListener("keydown", (event) => {
    const target = event.target instanceof HTMLElement ? event.target : document.body;
    const typing = target.matches("textarea, select, input:not([type=radio])");
    if ((event.ctrlKey || event.metaKey) && !event.altKey) {
      const key = event.key.toLowerCase();
      if (!typing && (key === "z" || key === "y")) {
        event.preventDefault();
        page.invokeMethodAsync("Act", key === "y" || event.shiftKey ? "redo" : "undo");
      }
      return;
    }
    if (event.altKey) {
      return;
    }
    if (event.key === "Escape" && typing && target.closest(".line")) {
      event.preventDefault();
      page.invokeMethodAsync("Act", "back-to-line");
      return;
    }
    if (event.key === "Escape" && document.querySelector("[data-view=stage][data-marking]")) {
      event.preventDefault();
      page.invokeMethodAsync("Act", "stop-marking");
      return;
    }
    if (!on || typing) {
      return;
    }
    if (event.key === "?") {
      event.preventDefault();
      document.getElementById("keys")?.togglePopover();
      return;
    }
    const name = event.key.length === 1 ? event.key.toLowerCase() : event.key;
    const act = acts[name];
    const inLines = target.closest(".checklist") !== null || target === document.body;
    if (act && (event.key.length === 1 || inLines)) {
      if (name.startsWith("Arrow") && target.matches("input[type=radio]")) {
        return;
      }
      event.preventDefault();
      page.invokeMethodAsync("Act", act);
      return;
    }
    // What the picture's own keys do works from anywhere on the page.
    const endsTool = event.key === "Escape" && document.querySelector("[data-view=stage][data-tool]") !== null;
    if ((event.key.length === 1 && event.key !== " ") || endsTool) {
      // Where several pictures stand on the page, the one that was looked at last.
      const stage = document.querySelector("[data-view=stage][data-current]") ?? document.querySelector("[data-view=stage]");
      if (stage && target !== stage) {
        const copy = new KeyboardEvent("keydown", { key: event.key, bubbles: false, cancelable: true });
        stage.dispatchEvent(copy);
        if (copy.defaultPrevented) {
          event.preventDefault();
        }
      }
    }
  }, { signal });
  // Letters that the bench has not acknowledged yet are kept in this browser, so that a dropped connection loses none.
  document.addEventListener("input", (event) => {
    const field = event.target;
    const line = field instanceof HTMLTextAreaElement ? field.closest(".line") : null;
    if (field instanceof HTMLTextAreaElement && line) {
      draft(line.id, field.value);
    } else if ((field instanceof HTMLTextAreaElement || field instanceof HTMLInputElement) && field.dataset.draft) {
      draft(field.dataset.draft, field.value);
    }
  }, { signal });
  // What was being written when the page was left is there again when its field is entered.
  document.addEventListener("focusin", (event) => {
    const field = event.target;
    if ((field instanceof HTMLTextAreaElement || field instanceof HTMLInputElement) && field.dataset.draft) {
      const left = draft(field.dataset.draft);
      if (left !== null && left !== field.value) {
        field.value = left;
        field.dispatchEvent(new Event("input", { bubbles: true }));
      }
    }
  }, { signal });
  return { stop: () => closing.abort() };
}

/**
 * The bench has kept a remark: its draft is of no use any more.
 * @param {string} id
 * @param {string} text
 */
export function acknowledge(id, text) {
  if (draft(id) === text) {
    draft(id, null);
  }
}

/**
 * What was written is kept by the bench, or given up: its draft is of no use any more.
 * @param {string} id
 */
export function forget(id) {
  draft(id, null);
}

/**
 * Reads, keeps or removes (null) the draft of a line's remark or of another field.
 * @param {string} id
 * @param {string | null} [text]
 * @returns {string | null}
 */
function draft(id, text) {
  const name = `hotlight.draft:${location.pathname}:${id}`;
  try {
    if (text === undefined) {
      return sessionStorage.getItem(name);
    }
    if (text === null) {
      sessionStorage.removeItem(name);
    } else {
      sessionStorage.setItem(name, text);
    }
  } catch {
    // Without storage a remark is kept by the bench alone.
  }
  return text ?? null;
}

/**
 * Brings a line into sight and gives it the focus.
 * @param {string} id
 * @param {boolean} toRemark whether the remark takes the focus
 */
export function goTo(id, toRemark) {
  const line = document.getElementById(id);
  if (!line) {
    return;
  }
  const remark = line.querySelector("textarea");
  const left = draft(id);
  if (remark && left !== null && left !== remark.value) {
    remark.value = left;
    remark.dispatchEvent(new Event("input", { bubbles: true }));
  }
  const field = toRemark ? remark : line.querySelector(".line-row");
  if (field instanceof HTMLElement) {
    field.focus({ preventScroll: true });
  }
  line.scrollIntoView({ block: "nearest" });
}

/**
 * Keeps a line in sight after it grew; the ways of missing take the focus where they wait for a choice.
 * @param {string} id
 * @param {boolean} toMisses
 */
export function keepInSight(id, toMisses) {
  const line = document.getElementById(id);
  const misses = toMisses ? [...(line?.querySelectorAll(".misses input") ?? [])] : [];
  const first = misses[0];
  const writing = document.activeElement?.matches("textarea, select, input") ?? false;
  if (first instanceof HTMLElement && !writing && !misses.some((miss) => miss instanceof HTMLInputElement && miss.checked)) {
    first.focus({ preventScroll: true });
  }
  line?.scrollIntoView({ block: "nearest" });
}

/** @returns {boolean} */
function read() {
  try {
    return localStorage.getItem(keptAs) !== "off";
  } catch {
    return true;
  }
}
