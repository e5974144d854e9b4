// Points at what a step of the tour tells of.

const mark = "data-tour-here";

/** @param {string | null} selector what to point at; null: nothing */
export function pointAt(selector) {
  for (const before of document.querySelectorAll(`[${mark}]`)) {
    before.removeAttribute(mark);
  }
  const element = selector ? document.querySelector(selector) : null;
  if (element) {
    element.setAttribute(mark, "");
    element.scrollIntoView({ block: "nearest" });
  }
}
