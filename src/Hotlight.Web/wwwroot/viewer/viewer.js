// The viewer: fetches a radiograph's 16-bit pixels, shows them, and lets a reader window, zoom, pan and look at marks.
// Controls are plain elements of the page with data-view attributes; the viewer works them and says what changed.

/** @import { DisplayWindow, ImageFacts, Landmark, Mark, MarkStyle, PixelPoint } from "./types.js" */

import { drawMarks } from "./marks.js";
import { Picture } from "./picture.js";
import { displayTable, windowOver } from "./window.js";

const surround = /** @type {[number, number, number]} */ ([0.055, 0.06, 0.067]);
const lensRadius = 105;
const layersKept = "hotlight.layers.2";

/** How far the pointer may move between press and release and still be a click, in CSS pixels. */
const clickReach = 4;

/**
 * Opens a viewer in a host element that holds two canvases and the controls.
 * @param {HTMLElement} host
 * @param {{ invokeMethodAsync(name: string, ...values: unknown[]): Promise<unknown> }} [page] told where a landmark is placed
 * @returns {Viewer}
 */
export function open(host, page) {
  return new Viewer(host, page);
}

export class Viewer {
  /**
   * @param {HTMLElement} host
   * @param {{ invokeMethodAsync(name: string, ...values: unknown[]): Promise<unknown> }} [page]
   */
  constructor(host, page) {
    this.host = host;
    this.page = page;
    /** @type {Landmark[]} */
    this.landmarks = [];
    /** Name of the landmark that the next click places, or null. @type {string | null} */
    this.marking = null;
    /** @type {{x: number, y: number} | null} */
    this.pressedAt = null;
    this.stage = /** @type {HTMLElement} */ (host.querySelector("[data-view=stage]"));
    this.canvas = /** @type {HTMLCanvasElement} */ (host.querySelector("[data-view=picture]"));
    this.overlay = /** @type {HTMLCanvasElement} */ (host.querySelector("[data-view=marks]"));
    this.pen = /** @type {CanvasRenderingContext2D} */ (this.overlay.getContext("2d"));
    /** @type {Picture | null} */
    this.picture = null;
    /** @type {ImageFacts | null} */
    this.facts = null;
    /** @type {Uint16Array} */
    this.pixels = new Uint16Array(0);
    /** @type {Float32Array} */
    this.modality = new Float32Array(0);
    /** @type {Uint8Array} */
    this.firstTable = new Uint8Array(0);
    /** @type {DisplayWindow} */
    this.window = { center: 0, width: 1, function: "linear" };
    this.windowChanged = false;
    this.inverted = false;
    this.lensOn = false;
    /** @type {{x: number, y: number} | null} */
    this.pointerAt = null;
    this.dragMoves = false;
    this.fitted = true;
    this.view = { originX: 0, originY: 0, step: 1 };
    /** @type {Mark[]} */
    this.evidence = [];
    /** @type {Map<string, MarkStyle>} */
    this.styles = new Map();
    this.layers = new Set(readLayers());
    /** @type {Map<number, {x: number, y: number}>} */
    this.touches = new Map();
    this.drawQueued = false;
    this.closing = new AbortController();
    const { signal } = this.closing;
    const stage = this.stage;
    stage.addEventListener("pointerdown", (event) => this.#press(event), { signal });
    stage.addEventListener("pointermove", (event) => this.#move(event), { signal });
    stage.addEventListener("pointerup", (event) => this.#release(event), { signal });
    stage.addEventListener("pointercancel", (event) => this.#release(event), { signal });
    stage.addEventListener("pointerleave", () => this.#leave(), { signal });
    stage.addEventListener("wheel", (event) => this.#wheel(event), { signal, passive: false });
    stage.addEventListener("contextmenu", (event) => event.preventDefault(), { signal });
    stage.addEventListener("keydown", (event) => this.#key(event), { signal });
    stage.addEventListener("dblclick", () => this.fit(), { signal });
    host.addEventListener("click", (event) => this.#control(event), { signal });
    host.addEventListener("change", (event) => this.#input(event), { signal });
    this.canvas.addEventListener("webglcontextlost", (event) => {
      event.preventDefault();
      this.#say("The browser's graphics were lost; they come back by themselves, or reload the page.");
    }, { signal });
    this.canvas.addEventListener("webglcontextrestored", () => this.#restore(), { signal });
    this.resizing = new ResizeObserver(() => this.#resize());
    this.resizing.observe(stage);
  }

  /**
   * Shows a radiograph.
   * @param {ImageFacts} facts
   */
  async show(facts) {
    this.facts = facts;
    this.host.dataset.state = "loading";
    this.#say("Fetching the image…");
    try {
      const [pixels, table, modality] = await Promise.all([
        fetchBytes(facts.pixelsUrl, this.closing.signal, (share) => this.#say(`Fetching the image: ${Math.round(100 * share)} %`)),
        fetchBytes(facts.tableUrl, this.closing.signal),
        fetchBytes(facts.modalityUrl, this.closing.signal),
      ]);
      this.pixels = new Uint16Array(pixels);
      this.firstTable = new Uint8Array(table);
      this.modality = new Float32Array(modality);
      if (this.pixels.length !== facts.columns * facts.rows) {
        throw new Error("The image arrived incomplete; reload the page.");
      }
      this.picture ??= new Picture(this.canvas);
      this.picture.load(this.pixels, facts.columns, facts.rows);
      this.setMarks(facts.marks, facts.styles, facts.field);
      this.resetWindow();
      this.#resize();
      this.fit();
      this.#say(this.picture.leftOut > 0 ? "The image is larger than this browser can show at once; it is shown at reduced resolution." : "");
      this.host.dataset.state = "shown";
    } catch (error) {
      if (!this.closing.signal.aborted) {
        this.host.dataset.state = "failed";
        this.#say(error instanceof Error ? error.message : String(error));
      }
    }
  }

  /**
   * @param {Mark[]} marks
   * @param {MarkStyle[]} styles
   * @param {PixelPoint[] | null} field
   */
  setMarks(marks, styles, field) {
    if (this.facts) {
      this.facts.marks = marks;
      this.facts.styles = styles;
      this.facts.field = field;
    }
    this.styles = new Map(styles.map((style) => [style.kind, style]));
    this.#reportLayers();
    this.#queue();
  }

  /**
   * Sets the evidence of the line being judged apart.
   * @param {Mark[]} evidence
   */
  setEvidence(evidence) {
    this.evidence = evidence;
    this.#queue();
  }

  /**
   * The reader's landmarks, and which one the next click places.
   * @param {Landmark[]} landmarks
   * @param {string | null} marking
   */
  setLandmarks(landmarks, marking) {
    this.landmarks = landmarks;
    this.marking = marking;
    this.stage.toggleAttribute("data-marking", marking !== null);
    this.#reportStates();
    this.#queue();
  }

  /** The whole image in the stage. */
  fit() {
    if (!this.facts) {
      return;
    }
    this.fitted = true;
    this.view.step = Math.max(this.facts.columns / this.canvas.width, this.facts.rows / this.canvas.height);
    this.view.originX = this.facts.columns / 2 - (this.view.step * this.canvas.width) / 2;
    this.view.originY = this.facts.rows / 2 - (this.view.step * this.canvas.height) / 2;
    this.#queue();
  }

  /** One image pixel on one pixel of the screen. */
  full() {
    this.zoomTo(1, this.canvas.width / 2, this.canvas.height / 2);
    this.view.originX = Math.round(this.view.originX);
    this.view.originY = Math.round(this.view.originY);
    this.#queue();
  }

  /**
   * Zooms so that the place under a point of the canvas stays there.
   * @param {number} step image pixels per canvas pixel
   * @param {number} x
   * @param {number} y
   */
  zoomTo(step, x, y) {
    if (!this.facts) {
      return;
    }
    const widest = 2 * Math.max(this.facts.columns / this.canvas.width, this.facts.rows / this.canvas.height);
    const next = Math.min(Math.max(step, 1 / 32), Math.max(widest, 1));
    this.view.originX += x * (this.view.step - next);
    this.view.originY += y * (this.view.step - next);
    this.view.step = next;
    this.fitted = false;
    this.#keepInSight();
    this.#queue();
  }

  /**
   * @param {number} x canvas pixels
   * @param {number} y canvas pixels
   */
  pan(x, y) {
    this.view.originX -= x * this.view.step;
    this.view.originY -= y * this.view.step;
    this.fitted = false;
    this.#keepInSight();
    this.#queue();
  }

  /** @param {DisplayWindow} window */
  setWindow(window) {
    this.window = { ...window, width: Math.max(window.width, 1e-6) };
    this.windowChanged = true;
    this.#retable();
  }

  /** The window the file or the anatomy gives. */
  resetWindow() {
    if (!this.facts) {
      return;
    }
    this.window = { ...this.facts.window };
    this.windowChanged = false;
    this.inverted = false;
    this.#retable();
  }

  /** Bright for dark and dark for bright, for looking only. */
  invert() {
    this.inverted = !this.inverted;
    this.#retable();
  }

  /** @param {boolean} on */
  setLens(on) {
    this.lensOn = on;
    this.#reportStates();
    this.#queue();
  }

  /** @param {string} layer */
  toggleLayer(layer) {
    if (!this.layers.delete(layer)) {
      this.layers.add(layer);
    }
    try {
      localStorage.setItem(layersKept, JSON.stringify([...this.layers]));
    } catch {
      // Without storage the choice lasts as long as the page.
    }
    this.#reportLayers();
    this.#reportStates();
    this.#queue();
  }

  /** What a test or a reader of the page asks: how the picture stands. */
  state() {
    return { window: this.window, windowChanged: this.windowChanged, inverted: this.inverted, lens: this.lensOn, view: { ...this.view }, layers: [...this.layers] };
  }

  /**
   * The displayed grey of pixels of the image as the graphics unit draws them at full size.
   * @param {number} column
   * @param {number} row
   * @param {number} columns
   * @param {number} rows
   * @returns {number[]}
   */
  probe(column, row, columns, rows) {
    const picture = /** @type {Picture} */ (this.picture);
    picture.draw({ originX: column, originY: row, step: 1 }, null, surround);
    const gl = picture.gl;
    const bytes = new Uint8Array(4 * columns * rows);
    gl.readPixels(0, this.canvas.height - rows, columns, rows, gl.RGBA, gl.UNSIGNED_BYTE, bytes);
    const greys = [];
    for (let y = rows - 1; y >= 0; y--) {
      for (let x = 0; x < columns; x++) {
        greys.push(bytes[4 * (y * columns + x)]);
      }
    }
    this.#queue();
    return greys;
  }

  /** Frees everything; the viewer is of no use afterwards. */
  close() {
    this.closing.abort();
    this.resizing.disconnect();
    this.picture?.close();
    this.picture = null;
  }

  #restore() {
    if (!this.facts) {
      return;
    }
    this.picture = new Picture(this.canvas);
    this.picture.load(this.pixels, this.facts.columns, this.facts.rows);
    this.#retable();
    this.#say("");
  }

  #retable() {
    if (!this.picture || !this.facts) {
      return;
    }
    let table = this.windowChanged ? displayTable(this.modality, this.window, this.facts.highIsDark) : this.firstTable;
    if (this.inverted) {
      table = table.map((grey) => 255 - grey);
    }
    this.picture.setTable(table);
    this.#reportStates();
    this.#queue();
  }

  #resize() {
    const ratio = window.devicePixelRatio || 1;
    const width = Math.max(1, Math.round(this.stage.clientWidth * ratio));
    const height = Math.max(1, Math.round(this.stage.clientHeight * ratio));
    for (const canvas of [this.canvas, this.overlay]) {
      if (canvas.width !== width || canvas.height !== height) {
        canvas.width = width;
        canvas.height = height;
      }
    }
    if (this.fitted) {
      this.fit();
    }
    this.#queue();
  }

  #keepInSight() {
    const facts = /** @type {ImageFacts} */ (this.facts);
    const wide = this.view.step * this.canvas.width;
    const high = this.view.step * this.canvas.height;
    this.view.originX = Math.min(Math.max(this.view.originX, -0.75 * wide), facts.columns - 0.25 * wide);
    this.view.originY = Math.min(Math.max(this.view.originY, -0.75 * high), facts.rows - 0.25 * high);
  }

  #queue() {
    if (!this.drawQueued) {
      this.drawQueued = true;
      requestAnimationFrame(() => {
        this.drawQueued = false;
        this.#draw();
      });
    }
  }

  #draw() {
    const { picture, facts } = this;
    if (!picture || !facts || this.closing.signal.aborted) {
      return;
    }
    const ratio = window.devicePixelRatio || 1;
    const lens = this.lensOn && this.pointerAt ? { x: this.pointerAt.x * ratio, y: this.pointerAt.y * ratio, radius: lensRadius * ratio } : null;
    if (lens) {
      picture.setLensTable(this.#lensTable(lens));
    }
    picture.draw(this.view, lens, surround);
    drawMarks(this.pen, facts.marks, this.styles, (point) => this.#toCanvas(point), {
      ratio,
      casingColor: facts.casingColor,
      casingPixels: facts.casingPixels,
      layers: this.layers,
      evidence: this.evidence,
      landmarks: this.landmarks,
      aim: this.marking !== null && document.activeElement === this.stage && this.pointerAt === null ? [this.canvas.width / 2, this.canvas.height / 2] : null,
      shade: facts.field ? { image: [[-0.5, -0.5], [facts.columns - 0.5, facts.rows - 0.5]], outline: facts.field } : null,
    });
    if (lens) {
      this.pen.strokeStyle = "#ffb65c";
      this.pen.lineWidth = 2 * ratio;
      this.pen.beginPath();
      this.pen.arc(lens.x, lens.y, lens.radius, 0, 2 * Math.PI);
      this.pen.stroke();
    }
    const shown = this.host.querySelector("[data-view=zoom]");
    if (shown) {
      shown.textContent = `${Math.round(100 / this.view.step)} %`;
    }
  }

  /**
   * What is burned dark or bright under the lens, spread over the full range of grey.
   * @param {{x: number, y: number, radius: number}} lens
   */
  #lensTable(lens) {
    const facts = /** @type {ImageFacts} */ (this.facts);
    const values = [];
    const spacing = lens.radius / 28;
    for (let y = -lens.radius; y <= lens.radius; y += spacing) {
      for (let x = -lens.radius; x <= lens.radius; x += spacing) {
        const column = Math.floor(this.view.originX + (lens.x + x) * this.view.step);
        const row = Math.floor(this.view.originY + (lens.y + y) * this.view.step);
        if (x * x + y * y < lens.radius * lens.radius && column >= 0 && row >= 0 && column < facts.columns && row < facts.rows) {
          values.push(this.pixels[row * facts.columns + column]);
        }
      }
    }
    const local = windowOver(values, this.modality, 1);
    const table = displayTable(this.modality, local ?? this.window, facts.highIsDark);
    return this.inverted ? table.map((grey) => 255 - grey) : table;
  }

  /**
   * @param {PixelPoint} point
   * @returns {[number, number]}
   */
  #toCanvas([x, y]) {
    return [(x + 0.5 - this.view.originX) / this.view.step, (y + 0.5 - this.view.originY) / this.view.step];
  }

  /** @param {PointerEvent} event */
  #press(event) {
    if (!this.facts) {
      return;
    }
    this.stage.focus({ preventScroll: true });
    this.stage.setPointerCapture(event.pointerId);
    this.touches.set(event.pointerId, { x: event.offsetX, y: event.offsetY });
    this.pressedAt = event.button === 0 && this.touches.size === 1 ? { x: event.offsetX, y: event.offsetY } : null;
    event.preventDefault();
  }

  /** @param {PointerEvent} event */
  #move(event) {
    const ratio = window.devicePixelRatio || 1;
    const bounds = this.stage.getBoundingClientRect();
    const here = { x: event.clientX - bounds.left, y: event.clientY - bounds.top };
    this.pointerAt = here;
    const before = this.touches.get(event.pointerId);
    if (before) {
      if (this.touches.size === 2) {
        const other = /** @type {{x: number, y: number}} */ ([...this.touches].find(([id]) => id !== event.pointerId)?.[1]);
        const was = Math.hypot(before.x - other.x, before.y - other.y);
        const is = Math.hypot(here.x - other.x, here.y - other.y);
        this.pan(((here.x - before.x) * ratio) / 2, ((here.y - before.y) * ratio) / 2);
        if (was > 0 && is > 0) {
          this.zoomTo((this.view.step * was) / is, ((here.x + other.x) * ratio) / 2, ((here.y + other.y) * ratio) / 2);
        }
      } else if (this.marking !== null && this.pressedAt && Math.hypot(here.x - this.pressedAt.x, here.y - this.pressedAt.y) <= clickReach) {
        // A hand that trembles while it places a landmark changes no window.
        return;
      } else if (this.#moves(event)) {
        this.pan((here.x - before.x) * ratio, (here.y - before.y) * ratio);
      } else {
        this.#dragWindow(here.x - before.x, here.y - before.y);
      }
      this.touches.set(event.pointerId, here);
    }
    this.#reportProbe(here, ratio);
    if (this.lensOn) {
      this.#queue();
    }
  }

  /** @param {PointerEvent} event */
  #moves(event) {
    const other = event.buttons === 4 || event.buttons === 2 || event.shiftKey;
    return this.dragMoves !== other;
  }

  /**
   * @param {number} x
   * @param {number} y
   */
  #dragWindow(x, y) {
    const width = this.window.width * Math.exp(x / 220);
    const center = this.window.center + (y / 420) * this.window.width * (this.facts?.highIsDark !== this.inverted ? -1 : 1);
    this.setWindow({ ...this.window, function: this.window.function === "sigmoid" ? "sigmoid" : "linear-exact", center, width });
  }

  /** @param {PointerEvent} event */
  #release(event) {
    const pressed = this.pressedAt;
    this.touches.delete(event.pointerId);
    this.pressedAt = null;
    if (event.type === "pointerup" && this.marking !== null && pressed && Math.hypot(event.offsetX - pressed.x, event.offsetY - pressed.y) <= clickReach) {
      const ratio = window.devicePixelRatio || 1;
      this.#place(event.offsetX * ratio, event.offsetY * ratio);
    }
  }

  /**
   * Places the landmark that is being marked.
   * @param {number} x canvas pixels
   * @param {number} y canvas pixels
   */
  #place(x, y) {
    const facts = this.facts;
    const column = this.view.originX + x * this.view.step - 0.5;
    const row = this.view.originY + y * this.view.step - 0.5;
    if (facts && this.page && this.marking !== null && column >= -0.5 && row >= -0.5 && column <= facts.columns - 0.5 && row <= facts.rows - 0.5) {
      this.page.invokeMethodAsync("Place", this.marking, column, row);
    }
  }

  #leave() {
    this.pointerAt = null;
    const probe = this.host.querySelector("[data-view=probe]");
    if (probe) {
      probe.textContent = "";
    }
    this.#queue();
  }

  /** @param {WheelEvent} event */
  #wheel(event) {
    if (!this.facts) {
      return;
    }
    event.preventDefault();
    const ratio = window.devicePixelRatio || 1;
    const lines = event.deltaMode === 1 ? 33 : 1;
    this.zoomTo(this.view.step * Math.exp((event.deltaY * lines) / 500), event.offsetX * ratio, event.offsetY * ratio);
  }

  /**
   * Keys on the picture itself. The page's other keys are elsewhere.
   * @param {KeyboardEvent} event
   */
  #key(event) {
    if (event.ctrlKey || event.metaKey || event.altKey || !this.command(event.key)) {
      return;
    }
    event.preventDefault();
    event.stopPropagation();
  }

  /**
   * @param {string} key
   * @returns {boolean} whether it was a key of the viewer
   */
  command(key) {
    const center = [this.canvas.width / 2, this.canvas.height / 2];
    const stride = Math.max(40, this.canvas.width / 12);
    switch (key) {
      case "+": case "=": this.zoomTo(this.view.step / 1.25, center[0], center[1]); return true;
      case "-": this.zoomTo(this.view.step * 1.25, center[0], center[1]); return true;
      case "f": case "F": this.fit(); return true;
      case "1": this.full(); return true;
      case "i": case "I": this.invert(); return true;
      case "l": case "L": this.setLens(!this.lensOn); return true;
      case "s": case "S": this.toggleLayer("shade"); return true;
      case "w": case "W": this.resetWindow(); return true;
      case "[": this.setWindow({ ...this.window, width: this.window.width / 1.1 }); return true;
      case "]": this.setWindow({ ...this.window, width: this.window.width * 1.1 }); return true;
      case ",": this.setWindow({ ...this.window, center: this.window.center - 0.05 * this.window.width }); return true;
      case ".": this.setWindow({ ...this.window, center: this.window.center + 0.05 * this.window.width }); return true;
      case "Enter":
        if (this.marking === null) {
          return false;
        }
        this.#place(center[0], center[1]);
        return true;
      case "ArrowLeft": this.pan(stride, 0); return true;
      case "ArrowRight": this.pan(-stride, 0); return true;
      case "ArrowUp": this.pan(0, stride); return true;
      case "ArrowDown": this.pan(0, -stride); return true;
      default: return false;
    }
  }

  /** @param {Event} event */
  #control(event) {
    const control = event.target instanceof Element ? event.target.closest("[data-do]") : null;
    if (!(control instanceof HTMLElement)) {
      return;
    }
    switch (control.dataset.do) {
      case "fit": this.fit(); break;
      case "full": this.full(); break;
      case "closer": this.command("+"); break;
      case "farther": this.command("-"); break;
      case "invert": this.invert(); break;
      case "lens": this.setLens(!this.lensOn); break;
      case "first-window": this.resetWindow(); break;
      case "drag": this.dragMoves = !this.dragMoves; this.#reportStates(); break;
      case "layer": this.toggleLayer(control.dataset.layer ?? ""); break;
      default: break;
    }
  }

  /** @param {Event} event */
  #input(event) {
    const field = event.target;
    if (field instanceof HTMLInputElement && (field.dataset.window === "center" || field.dataset.window === "width")) {
      const value = Number(field.value);
      if (field.value !== "" && Number.isFinite(value) && (field.dataset.window === "center" || value > 0)) {
        this.setWindow({ ...this.window, [field.dataset.window]: value });
      } else {
        this.#reportStates();
      }
    }
  }

  #reportStates() {
    const states = /** @type {Record<string, boolean>} */ ({ invert: this.inverted, lens: this.lensOn, drag: this.dragMoves });
    for (const [name, on] of Object.entries(states)) {
      this.host.querySelector(`[data-do=${name}]`)?.setAttribute("aria-pressed", String(on));
    }
    for (const name of /** @type {("center" | "width")[]} */ (["center", "width"])) {
      const field = this.host.querySelector(`[data-window=${name}]`);
      if (field instanceof HTMLInputElement) {
        field.value = String(Number(this.window[name].toPrecision(5)));
      }
    }
    const changed = this.host.querySelector("[data-view=changed]");
    if (changed) {
      changed.textContent = [this.marking !== null ? `click marks: ${this.landmarks.find((each) => each.id === this.marking)?.label ?? this.marking}` : "", this.windowChanged ? "window changed" : "", this.inverted ? "inverted" : "", this.facts?.field && this.layers.has("shade") ? "shaded outside the field" : ""].filter((each) => each).join(", ");
    }
  }

  #reportLayers() {
    const present = new Set((this.facts?.marks ?? []).map((mark) => this.styles.get(mark.kind)?.layer));
    for (const control of this.host.querySelectorAll("[data-do=layer]")) {
      if (control instanceof HTMLElement) {
        const layer = control.dataset.layer ?? "";
        control.setAttribute("aria-pressed", String(this.layers.has(layer)));
        control.toggleAttribute("data-empty", layer === "shade" ? !this.facts?.field : layer !== "evidence" && !present.has(layer));
      }
    }
  }

  /**
   * @param {{x: number, y: number}} here
   * @param {number} ratio
   */
  #reportProbe(here, ratio) {
    const probe = this.host.querySelector("[data-view=probe]");
    if (!probe || !this.facts) {
      return;
    }
    const column = Math.floor(this.view.originX + here.x * ratio * this.view.step);
    const row = Math.floor(this.view.originY + here.y * ratio * this.view.step);
    const inside = column >= 0 && row >= 0 && column < this.facts.columns && row < this.facts.rows;
    probe.textContent = inside
      ? `column ${column}, row ${row}: value ${Number(this.modality[this.pixels[row * this.facts.columns + column]].toPrecision(6))}`
      : "";
  }

  /** @param {string} sentence */
  #say(sentence) {
    const line = this.host.querySelector("[data-view=message]");
    if (line) {
      line.textContent = sentence;
    }
  }
}

/**
 * @param {string} url
 * @param {AbortSignal} signal
 * @param {(share: number) => void} [progress]
 * @returns {Promise<ArrayBuffer>}
 */
async function fetchBytes(url, signal, progress) {
  const answer = await fetch(url, { signal, credentials: "same-origin" });
  if (!answer.ok) {
    let sentence = "The image could not be fetched; reload the page.";
    try {
      sentence = (await answer.json()).detail ?? sentence;
    } catch {
      // The answer is no problem document: the plain sentence stands.
    }
    throw new Error(sentence);
  }
  const total = Number(answer.headers.get("content-length"));
  if (!progress || !answer.body || !(total > 0)) {
    return answer.arrayBuffer();
  }
  const bytes = new Uint8Array(total);
  const reader = answer.body.getReader();
  let at = 0;
  for (;;) {
    const { done, value } = await reader.read();
    if (done) {
      break;
    }
    if (at + value.length > total) {
      throw new Error("The image arrived longer than announced; reload the page.");
    }
    bytes.set(value, at);
    at += value.length;
    progress(at / total);
  }
  if (at !== total) {
    throw new Error("The image arrived incomplete; reload the page.");
  }
  return bytes.buffer;
}

/** @returns {string[]} */
function readLayers() {
  try {
    const kept = JSON.parse(localStorage.getItem(layersKept) ?? "null");
    if (Array.isArray(kept)) {
      return kept.filter((each) => typeof each === "string");
    }
  } catch {
    // No storage, or not ours: the first choice below stands.
  }
  // The places of mottle and the measured edges cover the anatomy: they are shown with their line of the checklist, or when asked for.
  return ["shade", "field", "skin", "tighter", "lost", "markers", "artifacts", "evidence"];
}
