// Brings a thread of a discussion into sight and gives it the focus.

/** @param {string} id */
export function show(id) {
  const thread = document.getElementById(id);
  thread?.scrollIntoView({ block: "nearest" });
  thread?.querySelector("button")?.focus({ preventScroll: true });
}
