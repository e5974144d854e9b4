// The histogram panel: how often values occur in the whole image and in the anatomy, with the window's limits to drag.

/** @import { DisplayWindow, ImageFacts } from "./types.js" */

const binsWithoutAnatomy = 64;
const reachPixels = 8;
const margin = { left: 8, right: 8, top: 6, bottom: 18 };

export class Histogram {
  /**
   * @param {HTMLElement} panel holds a canvas, a line of words, two fields and a table
   * @param {(window: DisplayWindow) => void} setWindow
   * @param {AbortSignal} signal
   */
  constructor(panel, setWindow, signal) {
    this.panel = panel;
    this.setWindow = setWindow;
    this.canvas = /** @type {HTMLCanvasElement} */ (panel.querySelector("canvas"));
    this.words = /** @type {HTMLElement} */ (panel.querySelector("[data-histogram=words]"));
    this.table = /** @type {HTMLTableSectionElement} */ (panel.querySelector("tbody"));
    this.fields = /** @type {HTMLInputElement[]} */ ([panel.querySelector("[data-histogram=low]"), panel.querySelector("[data-histogram=high]")]);
    /** @type {number[]} */
    this.whole = [];
    /** @type {number[] | null} */
    this.anatomy = null;
    this.from = 0;
    this.binWidth = 1;
    /** @type {DisplayWindow} */
    this.window = { center: 0, width: 1, function: "linear-exact" };
    this.dragged = -1;
    this.canvas.addEventListener("pointerdown", (event) => this.#press(event), { signal });
    this.canvas.addEventListener("pointermove", (event) => this.#move(event), { signal });
    this.canvas.addEventListener("pointerup", () => (this.dragged = -1), { signal });
    this.canvas.addEventListener("pointercancel", () => (this.dragged = -1), { signal });
    for (const field of this.fields) {
      field.addEventListener("change", () => this.#typed(), { signal });
    }
    panel.querySelector("details")?.addEventListener("toggle", () => this.#fillTable(), { signal });
  }

  get isShown() {
    return !this.panel.hidden;
  }

  /**
   * Counts the image.
   * @param {Uint16Array} pixels all of them
   * @param {Float64Array} modality
   * @param {ImageFacts} facts
   */
  count(pixels, modality, facts) {
    const counts = new Uint32Array(65536);
    for (let place = 0; place < pixels.length; place++) {
      counts[pixels[place]]++;
    }
    if (facts.padding) {
      counts.fill(0, facts.padding[0], facts.padding[1] + 1);
    }
    if (facts.histogram) {
      this.from = facts.histogram.from;
      this.binWidth = facts.histogram.binWidth;
      this.anatomy = facts.histogram.anatomy;
    } else {
      let low = Infinity;
      let high = -Infinity;
      counts.forEach((count, value) => {
        if (count > 0 && value < modality.length) {
          low = Math.min(low, modality[value]);
          high = Math.max(high, modality[value]);
        }
      });
      this.from = Number.isFinite(low) ? low : 0;
      this.binWidth = Math.max(high - low, 1) / binsWithoutAnatomy || 1;
      this.anatomy = null;
    }
    this.whole = new Array(this.anatomy?.length ?? binsWithoutAnatomy).fill(0);
    counts.forEach((count, value) => {
      if (count > 0 && value < modality.length) {
        const bin = Math.floor((modality[value] - this.from) / this.binWidth);
        this.whole[Math.min(Math.max(bin, 0), this.whole.length - 1)] += count;
      }
    });
    this.draw(this.window);
    this.#fillTable();
  }

  /** @param {DisplayWindow} window */
  draw(window) {
    this.window = window;
    if (!this.isShown) {
      return;
    }
    const [low, high] = this.#limits();
    this.fields.forEach((field, end) => {
      if (document.activeElement !== field) {
        field.value = String(Number([low, high][end].toPrecision(5)));
      }
    });
    const ratio = globalThis.devicePixelRatio || 1;
    const width = this.canvas.clientWidth;
    const height = this.canvas.clientHeight;
    this.canvas.width = Math.round(width * ratio);
    this.canvas.height = Math.round(height * ratio);
    const pen = /** @type {CanvasRenderingContext2D} */ (this.canvas.getContext("2d"));
    pen.scale(ratio, ratio);
    const colors = getComputedStyle(this.panel);
    const ink = colors.getPropertyValue("--ink");
    const soft = colors.getPropertyValue("--soft");
    const lamp = colors.getPropertyValue("--lamp");
    const bottom = height - margin.bottom;
    const bins = this.whole.length;
    // The end bins hold all that lies beyond and would flatten the rest.
    const inner = (/** @type {number[]} */ each) => each.slice(1, -1);
    // Direct exposure and what lies outside the field often fill few columns far above all others: the anatomy sets the height.
    const most = Math.max(1, ...inner(this.anatomy ?? this.whole)) * 1.1;
    const across = (/** @type {number} */ bin) => margin.left + (bin / bins) * (width - margin.left - margin.right);
    const up = (/** @type {number} */ count) => bottom - Math.min(1, count / most) * (bottom - margin.top);
    pen.fillStyle = soft;
    pen.globalAlpha = 0.45;
    for (let bin = 0; bin < bins; bin++) {
      pen.fillRect(across(bin), up(this.whole[bin]), across(bin + 1) - across(bin), bottom - up(this.whole[bin]));
    }
    pen.globalAlpha = 1;
    if (this.anatomy) {
      pen.strokeStyle = ink;
      pen.lineWidth = 1.6;
      pen.beginPath();
      this.anatomy.forEach((count, bin) => {
        pen.lineTo(across(bin), up(count));
        pen.lineTo(across(bin + 1), up(count));
      });
      pen.stroke();
    }
    pen.strokeStyle = soft;
    pen.lineWidth = 1;
    pen.beginPath();
    pen.moveTo(margin.left, bottom + 0.5);
    pen.lineTo(width - margin.right, bottom + 0.5);
    pen.stroke();
    pen.fillStyle = soft;
    pen.font = "11px system-ui, sans-serif";
    pen.textAlign = "left";
    pen.fillText(short(this.from), margin.left, height - 4);
    pen.textAlign = "right";
    pen.fillText(short(this.from + bins * this.binWidth), width - margin.right, height - 4);
    pen.textAlign = "center";
    pen.fillText("modality value", width / 2, height - 4);
    pen.strokeStyle = lamp;
    pen.fillStyle = lamp;
    pen.lineWidth = 2;
    for (const limit of [low, high]) {
      const x = this.#place(limit);
      pen.beginPath();
      pen.moveTo(x, margin.top);
      pen.lineTo(x, bottom);
      pen.stroke();
      pen.fillRect(x - 4, margin.top, 8, 10);
    }
    const sum = (/** @type {number[]} */ each) => each.reduce((total, count) => total + count, 0).toLocaleString("en");
    this.words.textContent = this.whole.length === 0
      ? "Counted when the full image is here."
      : `Grey: whole image, ${sum(this.whole)} pixels.${this.anatomy ? ` Line: anatomy, ${sum(this.anatomy)} pixels.` : " The anatomy was not found."} What lies beyond the axis is counted in the end columns; a column that reaches the top is higher.`;
  }

  /** @returns {[number, number]} */
  #limits() {
    const half = this.window.width / 2;
    return [this.window.center - half, this.window.center + half];
  }

  /** @param {number} value */
  #place(value) {
    const inner = this.canvas.clientWidth - margin.left - margin.right;
    const share = (value - this.from) / (Math.max(1, this.whole.length) * this.binWidth);
    return margin.left + Math.min(Math.max(share, 0), 1) * inner;
  }

  /** @param {PointerEvent} event */
  #press(event) {
    const [low, high] = this.#limits().map((limit) => Math.abs(this.#place(limit) - event.offsetX));
    if (Math.min(low, high) <= reachPixels * (event.pointerType === "mouse" ? 1 : 3)) {
      this.dragged = low < high ? 0 : 1;
      this.canvas.setPointerCapture(event.pointerId);
      event.preventDefault();
    }
  }

  /** @param {PointerEvent} event */
  #move(event) {
    if (this.dragged < 0) {
      return;
    }
    const inner = this.canvas.clientWidth - margin.left - margin.right;
    const value = this.from + ((event.offsetX - margin.left) / inner) * this.whole.length * this.binWidth;
    const limits = this.#limits();
    limits[this.dragged] = value;
    this.#set(limits);
  }

  #typed() {
    const limits = /** @type {[number, number]} */ (this.fields.map((field) => (field.value === "" ? NaN : Number(field.value))));
    if (limits.every((each) => Number.isFinite(each)) && limits[0] < limits[1]) {
      this.#set(limits);
    } else {
      this.draw(this.window);
    }
  }

  /** @param {[number, number]} limits */
  #set([low, high]) {
    if (high > low) {
      this.setWindow({ center: (low + high) / 2, width: high - low, function: "linear-exact" });
    }
  }

  #fillTable() {
    if (!this.panel.querySelector("details")?.open) {
      return;
    }
    this.table.replaceChildren(...this.whole.map((count, bin) => {
      const row = document.createElement("tr");
      for (const text of [`${short(this.from + bin * this.binWidth)} to ${short(this.from + (bin + 1) * this.binWidth)}`, count.toLocaleString("en"), this.anatomy ? this.anatomy[bin].toLocaleString("en") : "not found"]) {
        row.appendChild(document.createElement("td")).textContent = text;
      }
      return row;
    }));
  }
}

/** @param {number} value */
function short(value) {
  return String(Number(value.toPrecision(4)));
}
