// Who reads in this browser: kept here, and followed from window to window.

const keptAs = "hotlight.reader";

/** @typedef {{ invokeMethodAsync(name: string, ...values: unknown[]): Promise<unknown> }} Page */

/**
 * What a page fetches by an address of its own, such as an image, carries the choice for the audit trail.
 * @param {string | null} id
 */
function carry(id) {
  document.cookie = `${keptAs}=${encodeURIComponent(id ?? "")}; Path=/; SameSite=Strict; Max-Age=${id === null ? 0 : 31536000}`;
}

/** @returns {string | null} */
export function read() {
  try {
    const id = localStorage.getItem(keptAs);
    carry(id);
    return id;
  } catch {
    return null;
  }
}

/** @param {string | null} id */
export function keep(id) {
  carry(id);
  try {
    if (id === null) {
      localStorage.removeItem(keptAs);
    } else {
      localStorage.setItem(keptAs, id);
    }
  } catch {
    // Without storage the choice lasts as long as the window.
  }
}

/** @param {Page} page */
export function start(page) {
  const closing = new AbortController();
  addEventListener("storage", (event) => {
    if (event.key === keptAs) {
      // A dropped connection is taken up again by itself, and the page then reads the choice anew.
      page.invokeMethodAsync("Follow", event.newValue).catch(() => {});
    }
  }, { signal: closing.signal });
  return { stop: () => closing.abort() };
}
