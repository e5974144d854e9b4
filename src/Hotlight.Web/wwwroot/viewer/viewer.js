// The viewer: fetches a radiograph's 16-bit pixels, shows them, and lets a reader window, zoom, turn, measure and look at marks.
// Controls are plain elements of the page with data attributes; the viewer works them and says what changed.

/** @import { DisplayWindow, ImageFacts, Landmark, LinearSignal, Mark, MarkStyle, Measure, PixelPoint, SharedView } from "./types.js" */
/** @import { PlainPicture } from "./plain.js" */

import { fetchBytes, fetchSignal } from "./fetching.js";
import { Histogram } from "./histogram.js";
import { equalised, mottle, noiseAt, onLens, underLens, valuesUnder } from "./lens.js";
import { join } from "./link.js";
import { drawMarks } from "./marks.js";
import { drawMeasures, endDeviation, pointsOf, reading } from "./measures.js";
import { Picture, openPicture } from "./picture.js";
import { Pyramid, reduced } from "./pyramid.js";
import { devicePixelMm, wireScreenDialog } from "./screen.js";
import { View, turnedWords } from "./view.js";
import { displayTable } from "./window.js";

const surround = /** @type {[number, number, number]} */ ([0.055, 0.06, 0.067]);
const layersKept = "hotlight.layers.3";
const followsKept = "hotlight.follows";
const radiusKept = "hotlight.lens";
const smallestRadius = 40;
const largestRadius = 320;

/** How far the pointer may move between press and release and still be a click, in CSS pixels. */
const clickReach = 4;

/** How near a pointer takes hold of a measure's end, in CSS pixels. */
const holdReach = 12;

/** How long after its last change a picture counts as moving, in ms. */
const settleMs = 140;

/** How long a sentence said in passing stands, in ms. */
const spokenMs = 12_000;

/**
 * @typedef {{ invokeMethodAsync(name: string, ...values: unknown[]): Promise<unknown> }} Page
 */

/**
 * Opens a viewer in a host element that holds two canvases and the controls.
 * @param {HTMLElement} host
 * @param {Page | null} [page] told where a landmark is placed
 * @param {string | null} [group] viewers of the same group on a page follow each other
 * @returns {Viewer}
 */
export function open(host, page, group) {
  const viewer = new Viewer(host, page ?? null, group ?? null);
  viewers.set(host, viewer);
  return viewer;
}

/** @type {WeakMap<Element, Viewer>} */
const viewers = new WeakMap();

/**
 * The viewer that was opened in a host element, for who wants to hear of its view or set it.
 * @param {Element} host
 * @returns {Viewer | null}
 */
export function viewerOf(host) {
  return viewers.get(host) ?? null;
}

export class Viewer {
  /** @type {((view: SharedView) => void)[]} */
  #followers = [];
  #isFollowing = false;
  #viewIsNew = false;
  #tableIsNew = true;
  #pictureIsNew = true;
  #movingUntil = 0;
  #settling = 0;
  #silence = 0;
  /** @type {(() => void) | null} */
  #leaveGroup = null;

  /**
   * @param {HTMLElement} host
   * @param {Page | null} page
   * @param {string | null} group
   */
  constructor(host, page, group) {
    this.host = host;
    this.page = page;
    this.stage = /** @type {HTMLElement} */ (host.querySelector("[data-view=stage]"));
    this.canvas = /** @type {HTMLCanvasElement} */ (host.querySelector("[data-view=picture]"));
    this.overlay = /** @type {HTMLCanvasElement} */ (host.querySelector("[data-view=marks]"));
    this.pen = /** @type {CanvasRenderingContext2D} */ (this.overlay.getContext("2d"));
    /** Pixels of the screen that the stage covers, where the browser tells. @type {{width: number, height: number} | null} */
    this.covers = null;
    /** What is under the lens, before it is cut round. */
    this.sheet = document.createElement("canvas");
    /** @type {Picture | PlainPicture | null} */
    this.picture = null;
    /** @type {ImageFacts | null} */
    this.facts = null;
    /** @type {Pyramid | null} */
    this.pyramid = null;
    /** @type {Float64Array} */
    this.modality = new Float64Array(0);
    /** What a pixel value says of the x-ray intensity; null until it is known. @type {LinearSignal | null} */
    this.signal = null;
    /** @type {Uint8Array} */
    this.firstTable = new Uint8Array(0);
    /** @type {DisplayWindow} */
    this.window = { center: 0, width: 1, function: "linear" };
    this.windowChanged = false;
    this.inverted = false;
    this.view = new View();
    this.fitted = true;
    this.dragMoves = false;
    /** @type {"hot" | "mottle" | null} */
    this.lens = null;
    this.lensRadius = readRadius();
    /** Where the pointer is, in canvas pixels; null: the middle of the picture counts. @type {{x: number, y: number, isTouch: boolean} | null} */
    this.pointerAt = null;
    /** @type {Map<number, {x: number, y: number}>} */
    this.touches = new Map();
    /** @type {{x: number, y: number} | null} */
    this.pressedAt = null;
    /** Whether landmarks are moved by dragging them. */
    this.movable = false;
    /** The landmark that is being dragged, and whether it has left its place; null: none. @type {{id: string, moved: boolean} | null} */
    this.dragged = null;
    /** @type {Mark[]} */
    this.evidence = [];
    /** @type {Map<string, MarkStyle>} */
    this.styles = new Map();
    this.layers = new Set(readLayers());
    this.follows = readFollows();
    this.wentToEvidence = false;
    /** @type {Landmark[]} */
    this.landmarks = [];
    /** Name of the landmark that the next click places, or null. @type {string | null} */
    this.marking = null;
    /** @type {Measure["kind"] | null} */
    this.tool = null;
    /** @type {Measure[]} */
    this.measures = [];
    /** The measure whose points are still being laid. @type {Measure | null} */
    this.laying = null;
    /** The end under the hand. @type {{ measure: Measure, point: number } | null} */
    this.held = null;
    this.drawQueued = false;
    this.closing = new AbortController();
    const { signal } = this.closing;
    const panel = /** @type {HTMLElement} */ (host.querySelector("[data-view=histogram]"));
    this.histogram = new Histogram(panel, (window) => this.setWindow(window), signal);
    this.screenDialog = /** @type {HTMLDialogElement} */ (host.querySelector("[data-view=screen]"));
    wireScreenDialog(this.screenDialog, () => this.lifeSize(), signal);
    const stage = this.stage;
    stage.addEventListener("pointerdown", (event) => this.#press(event), { signal });
    stage.addEventListener("pointermove", (event) => this.#move(event), { signal });
    stage.addEventListener("pointerup", (event) => this.#release(event), { signal });
    stage.addEventListener("pointercancel", (event) => this.#release(event), { signal });
    stage.addEventListener("pointerleave", (event) => this.#leave(event), { signal });
    stage.addEventListener("pointerenter", () => this.#becomeCurrent(), { signal });
    stage.addEventListener("focus", () => this.#becomeCurrent(), { signal });
    stage.addEventListener("wheel", (event) => this.#wheel(event), { signal, passive: false });
    stage.addEventListener("contextmenu", (event) => event.preventDefault(), { signal });
    stage.addEventListener("keydown", (event) => this.#key(event), { signal });
    stage.addEventListener("dblclick", () => this.#doubleClick(), { signal });
    host.addEventListener("click", (event) => this.#control(event), { signal });
    host.addEventListener("change", (event) => this.#input(event), { signal });
    host.addEventListener("input", (event) => this.#slide(event), { signal });
    for (const popover of host.querySelectorAll("[popover]")) {
      popover.addEventListener("toggle", (event) => this.#placePopover(/** @type {HTMLElement} */ (popover), /** @type {ToggleEvent} */ (event)), { signal });
    }
    this.resizing = new ResizeObserver((entries) => {
      // The pixels of the screen that the stage really covers: a canvas of another size would be stretched, and one to one would not be exact.
      const box = entries[entries.length - 1].devicePixelContentBoxSize?.[0];
      this.covers = box ? { width: box.inlineSize, height: box.blockSize } : null;
      this.#resize();
    });
    try {
      this.resizing.observe(stage, { box: "device-pixel-content-box" });
    } catch {
      this.resizing.observe(stage);
    }
    if (group) {
      this.#leaveGroup = join(this, group);
    }
    this.#reportStates();
  }

  /**
   * Shows a radiograph: coarsely at first, then in full.
   * @param {ImageFacts} facts
   */
  async show(facts) {
    this.facts = facts;
    this.pyramid = null;
    this.signal = null;
    this.measures = readMeasures(facts.pixelsUrl);
    this.laying = null;
    this.host.dataset.state = "loading";
    this.#say("Fetching the image…");
    const { signal } = this.closing;
    try {
      const tables = Promise.all([fetchBytes(facts.tableUrl, signal), fetchBytes(facts.modalityUrl, signal)]);
      const scale = facts.coarseScale;
      const [coarse, [table, modality]] = await Promise.all([scale > 1 ? fetchBytes(`${facts.pixelsUrl}?scale=${scale}`, signal) : null, tables]);
      if (this.facts !== facts) {
        return;
      }
      this.firstTable = new Uint8Array(table);
      this.modality = new Float64Array(modality);
      this.view = new View();
      this.view.setImage(facts.columns, facts.rows, facts.spacing ? facts.spacing.columnMm / facts.spacing.rowMm : 1);
      if (coarse) {
        this.#take(coarse, scale);
        this.setMarks(facts.marks, facts.styles, facts.field);
        this.resetWindow();
        this.#resize();
        this.fit();
        this.host.dataset.state = "coarse";
        this.#say("Coarse: the full image is on its way.");
        // The coarse picture is on the screen before the rest is asked for.
        await nextFrame();
      }
      const pixels = await fetchBytes(facts.pixelsUrl, signal, (share) => this.#say(coarse ? `Coarse: the full image is on its way, ${Math.round(100 * share)} %.` : `Fetching the image: ${Math.round(100 * share)} %`));
      if (this.facts !== facts) {
        return;
      }
      this.#take(pixels, 1);
      if (!coarse) {
        this.setMarks(facts.marks, facts.styles, facts.field);
        this.resetWindow();
        this.#resize();
        this.fit();
      }
      this.#say(this.picture && this.picture.leftOut > 0 ? "The image is larger than this browser can show at once; it is shown at reduced resolution." : "");
      this.host.dataset.state = "shown";
      this.#reportAll();
      this.#queue();
      const linear = await fetchSignal(facts.signalUrl, signal);
      if (this.facts?.signalUrl === facts.signalUrl) {
        this.signal = linear;
        this.#queue();
      }
    } catch (error) {
      if (!signal.aborted && this.facts === facts) {
        this.host.dataset.state = "failed";
        this.#say(error instanceof Error ? error.message : String(error));
      }
    }
  }

  /**
   * The same image, with what became known of it since.
   * @param {ImageFacts} facts
   */
  refresh(facts) {
    this.facts = facts;
    this.view.setImage(facts.columns, facts.rows, facts.spacing ? facts.spacing.columnMm / facts.spacing.rowMm : 1);
    this.setMarks(facts.marks, facts.styles, facts.field);
    if (this.pyramid?.isFull) {
      this.histogram.count(this.pyramid.finest.pixels, this.modality, facts);
    }
    this.#reportAll();
    this.#queue();
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
   * Goes to the evidence of the line being judged: closer where it is a part of the image, the whole image where it is most of it or there is none.
   * @param {boolean} [asked] whether the reader asks for it just now; otherwise only while "follows the line" is on
   */
  lookAtEvidence(asked = false) {
    if (!this.facts || (!asked && !this.follows)) {
      return;
    }
    if (this.view.lookAt(this.evidence.flatMap((mark) => mark.points))) {
      this.fitted = false;
      this.wentToEvidence = true;
      this.#changed();
    } else if (this.wentToEvidence || asked) {
      this.fit();
    }
  }

  /** Whether going to a line goes to its evidence too. */
  toggleFollows() {
    this.follows = !this.follows;
    keep(followsKept, this.follows ? "on" : "off");
    this.#reportStates();
  }

  /**
   * The reader's landmarks, and which one the next click places.
   * @param {Landmark[]} landmarks
   * @param {string | null} marking
   * @param {boolean} [movable] whether they are moved by dragging them, and Backspace takes the last one away
   */
  setLandmarks(landmarks, marking, movable = false) {
    this.landmarks = landmarks;
    this.movable = movable;
    if (marking !== null && marking !== this.marking) {
      this.setTool(null);
    }
    this.marking = marking;
    this.stage.toggleAttribute("data-marking", marking !== null);
    this.#reportLayers();
    this.#reportStates();
    this.#queue();
  }

  /** The whole image in the stage. */
  fit() {
    if (this.facts) {
      this.fitted = true;
      this.wentToEvidence = false;
      this.view.fit();
      this.#changed();
    }
  }

  /** One image pixel on one pixel of the screen. */
  full() {
    this.zoomTo(1, this.view.width / 2, this.view.height / 2);
    if (this.view.aspect === 1) {
      this.view.snap();
    }
    this.#changed();
  }

  /** A millimetre at the receptor on a millimetre of the screen; asks for the screen's measure where it is not known. */
  lifeSize() {
    const spacing = this.facts?.spacing;
    if (!this.facts || !spacing) {
      this.#speak("Life size needs millimetres, and this file gives no pixel spacing. Give it under Measurements.");
      return;
    }
    const pixelMm = devicePixelMm();
    if (pixelMm === null) {
      this.screenDialog.showModal();
      return;
    }
    this.zoomTo(pixelMm / spacing.columnMm, this.view.width / 2, this.view.height / 2);
    this.#speak("Life size: one millimetre in the receptor's plane is one millimetre on this screen. The body lay above the receptor and was smaller.");
  }

  /**
   * Zooms so that the place under a point of the canvas stays there.
   * @param {number} step image columns per canvas pixel
   * @param {number} x
   * @param {number} y
   */
  zoomTo(step, x, y) {
    if (this.facts) {
      this.view.zoomTo(step, x, y);
      this.fitted = false;
      this.#changed();
    }
  }

  /**
   * @param {number} x canvas pixels
   * @param {number} y canvas pixels
   */
  pan(x, y) {
    if (this.facts) {
      this.view.pan(x, y);
      this.fitted = false;
      this.#changed();
    }
  }

  /**
   * Turns or mirrors what is seen; the stored image stays as it is.
   * @param {"turn" | "turn-back" | "mirror" | "upright"} how
   */
  turn(how) {
    if (!this.facts) {
      return;
    }
    switch (how) {
      case "turn": this.view.turn(1); break;
      case "turn-back": this.view.turn(-1); break;
      case "mirror": this.view.mirror(); break;
      default: this.view.upright(); break;
    }
    if (this.fitted) {
      this.view.fit();
    } else if (this.view.step === 1 && this.view.aspect === 1) {
      this.view.snap();
    }
    this.#reportStates();
    this.#changed();
  }

  /** @param {DisplayWindow} window */
  setWindow(window) {
    this.window = { ...window, width: Math.max(window.width, 1e-6) };
    this.windowChanged = true;
    this.#retable();
  }

  /** The window the file or the anatomy gives. */
  resetWindow() {
    if (this.facts) {
      this.window = { ...this.facts.window };
      this.windowChanged = false;
      this.inverted = false;
      this.#retable();
    }
  }

  /** A window from the image's own statistics. @param {string} id */
  chooseWindow(id) {
    const choice = this.facts?.choices.find((each) => each.id === id);
    if (choice?.window) {
      this.setWindow({ ...choice.window });
      this.#speak(`Window: ${choice.label}.`);
    } else if (choice) {
      this.#speak(choice.detail);
    }
  }

  /** Bright for dark and dark for bright, for looking only. */
  invert() {
    this.inverted = !this.inverted;
    this.#retable();
  }

  /** @param {"hot" | "mottle" | null} lens */
  setLens(lens) {
    this.lens = lens;
    this.#reportStates();
    this.#queue();
  }

  /** @param {number} radius CSS pixels */
  setLensRadius(radius) {
    this.lensRadius = Math.min(Math.max(Math.round(radius), smallestRadius), largestRadius);
    keep(radiusKept, String(this.lensRadius));
    this.#reportStates();
    this.#queue();
  }

  /** @param {Measure["kind"] | null} tool */
  setTool(tool) {
    if (tool === this.tool) {
      return;
    }
    this.tool = tool;
    this.laying = null;
    this.held = null;
    this.stage.toggleAttribute("data-tool", tool !== null);
    this.#reportStates();
    this.#queue();
  }

  /** @param {number} [index] one measure; left out: all of them */
  clearMeasures(index) {
    this.laying = null;
    this.measures = index === undefined ? [] : this.measures.filter((_, place) => place !== index);
    this.#reportMeasures();
    this.#queue();
  }

  /** @param {string} layer */
  toggleLayer(layer) {
    if (!this.layers.delete(layer)) {
      this.layers.add(layer);
    }
    keep(layersKept, JSON.stringify([...this.layers]));
    this.#reportLayers();
    this.#reportStates();
    this.#queue();
  }

  /** @param {boolean} on */
  showHistogram(on) {
    this.histogram.panel.hidden = !on;
    if (on) {
      this.histogram.draw(this.window);
    }
    this.#reportStates();
  }

  /**
   * Tells after each change that a reader makes how the viewer stands.
   * @param {(view: SharedView) => void} callback
   * @returns {() => void} ends it
   */
  onView(callback) {
    this.#followers.push(callback);
    return () => {
      this.#followers = this.#followers.filter((each) => each !== callback);
    };
  }

  /** How the viewer stands. @returns {SharedView} */
  sharedView() {
    const { view } = this;
    const spacing = this.facts?.spacing ?? null;
    const first = this.facts?.window ?? this.window;
    return {
      centreMmX: spacing ? (view.centreX - view.columns / 2) * spacing.columnMm : null,
      centreMmY: spacing ? (view.centreY - view.rows / 2) * spacing.rowMm : null,
      centreShareX: view.centreX / view.columns,
      centreShareY: view.centreY / view.rows,
      mmPerCanvasPixel: spacing ? view.step * spacing.columnMm : null,
      sharePerCanvasPixel: view.step / view.columns,
      window: { ...this.window },
      windowChange: { shift: (this.window.center - first.center) / first.width, factor: this.window.width / first.width },
      inverted: this.inverted,
    };
  }

  /**
   * Stands as another viewer does. Followers of this one are not told.
   * @param {SharedView} shared
   */
  setView(shared) {
    const { facts, view } = this;
    if (!facts) {
      return;
    }
    const { spacing } = facts;
    this.#isFollowing = true;
    try {
      if (spacing && typeof shared.mmPerCanvasPixel === "number") {
        view.step = shared.mmPerCanvasPixel / spacing.columnMm;
        this.fitted = false;
      } else if (typeof shared.sharePerCanvasPixel === "number") {
        view.step = shared.sharePerCanvasPixel * view.columns;
        this.fitted = false;
      }
      if (spacing && typeof shared.centreMmX === "number" && typeof shared.centreMmY === "number") {
        view.centreX = view.columns / 2 + shared.centreMmX / spacing.columnMm;
        view.centreY = view.rows / 2 + shared.centreMmY / spacing.rowMm;
        this.fitted = false;
      } else if (typeof shared.centreShareX === "number" && typeof shared.centreShareY === "number") {
        view.centreX = shared.centreShareX * view.columns;
        view.centreY = shared.centreShareY * view.rows;
        this.fitted = false;
      }
      if (shared.window) {
        this.setWindow({ ...shared.window });
      } else if (shared.windowChange) {
        const { shift, factor } = shared.windowChange;
        if (shift === 0 && factor === 1) {
          this.window = { ...facts.window };
          this.windowChanged = false;
          this.#retable();
        } else {
          this.setWindow({ ...this.window, function: facts.window.function, center: facts.window.center + shift * facts.window.width, width: factor * facts.window.width });
        }
      }
      if (typeof shared.inverted === "boolean" && shared.inverted !== this.inverted) {
        this.invert();
      }
      this.#changed();
    } finally {
      this.#isFollowing = false;
    }
  }

  /** What a test or a reader of the page asks: how the picture stands. */
  state() {
    const { view } = this;
    return {
      window: this.window,
      windowChanged: this.windowChanged,
      inverted: this.inverted,
      lens: this.lens,
      lensRadius: this.lensRadius,
      view: { centreX: view.centreX, centreY: view.centreY, step: view.step, quarterTurns: view.quarterTurns, mirrored: view.mirrored },
      layers: [...this.layers],
      measures: this.measures.map((measure) => ({ ...measure, reading: reading(measure, this.facts?.spacing ?? null) })),
      means: this.picture?.means ?? null,
    };
  }

  /**
   * The displayed grey of pixels of the image as they are drawn at full size.
   * @param {number} column
   * @param {number} row
   * @param {number} columns
   * @param {number} rows
   * @returns {number[]}
   */
  probe(column, row, columns, rows) {
    const picture = /** @type {Picture | PlainPicture} */ (this.picture);
    picture.draw({ originX: column, originY: row, rightX: 1, rightY: 0, downX: 0, downY: 1, step: 1 }, surround, false);
    const greys = picture.drawn(0, 0, columns, rows);
    this.#pictureIsNew = true;
    this.#queue();
    return greys;
  }

  /** Frees everything; the viewer is of no use afterwards. */
  close() {
    this.#leaveGroup?.();
    this.closing.abort();
    clearTimeout(this.#settling);
    clearTimeout(this.#silence);
    this.resizing.disconnect();
    this.picture?.close();
    this.picture = null;
  }

  /**
   * @param {ArrayBuffer} bytes
   * @param {number} scale
   */
  #take(bytes, scale) {
    const facts = /** @type {ImageFacts} */ (this.facts);
    const pixels = new Uint16Array(bytes);
    if (pixels.length !== reduced(facts.columns, scale) * reduced(facts.rows, scale)) {
      throw new Error("The image arrived incomplete; reload the page.");
    }
    this.pyramid = new Pyramid(pixels, facts.columns, facts.rows, scale);
    if (!this.picture) {
      this.#openPicture();
    }
    this.picture?.load(this.pyramid);
    if (scale === 1) {
      this.histogram.count(pixels, this.modality, facts);
    }
    this.#tableIsNew = true;
    this.#pictureIsNew = true;
    this.#queue();
  }

  #openPicture() {
    this.picture = openPicture(this.canvas);
    this.canvas = this.picture.canvas;
    this.host.dataset.means = this.picture.means;
    const { signal } = this.closing;
    this.canvas.addEventListener("webglcontextlost", (event) => {
      event.preventDefault();
      this.#say("The browser's graphics were lost; they come back by themselves, or reload the page.");
    }, { signal });
    this.canvas.addEventListener("webglcontextrestored", () => this.#restore(), { signal });
  }

  #restore() {
    if (this.facts && this.pyramid) {
      this.picture = new Picture(this.canvas);
      this.picture.load(this.pyramid);
      this.#retable();
      this.#say("");
    }
  }

  #retable() {
    this.#tableIsNew = true;
    this.#reportStates();
    this.#changed();
  }

  /** The reader changed how it is seen. */
  #changed() {
    if (!this.#isFollowing) {
      this.#viewIsNew = true;
    }
    this.#movingUntil = performance.now() + settleMs;
    clearTimeout(this.#settling);
    this.#settling = setTimeout(() => {
      this.#pictureIsNew = true;
      this.#queue();
    }, settleMs + 5);
    this.#pictureIsNew = true;
    this.#queue();
  }

  #resize() {
    const ratio = window.devicePixelRatio || 1;
    const width = Math.max(1, this.covers?.width ?? Math.round(this.stage.clientWidth * ratio));
    const height = Math.max(1, this.covers?.height ?? Math.round(this.stage.clientHeight * ratio));
    for (const canvas of [this.canvas, this.overlay]) {
      if (canvas.width !== width || canvas.height !== height) {
        canvas.width = width;
        canvas.height = height;
      }
    }
    this.view.setCanvas(width, height);
    if (this.fitted && this.facts) {
      this.view.fit();
    } else if (this.view.step === 1 && this.view.aspect === 1) {
      this.view.snap();
    }
    this.#pictureIsNew = true;
    this.#queue();
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
    if (this.#tableIsNew) {
      this.#tableIsNew = false;
      let table = this.windowChanged ? displayTable(this.modality, this.window, facts.highIsDark) : this.firstTable;
      if (this.inverted) {
        table = table.map((grey) => 255 - grey);
      }
      picture.setTable(table);
      this.#pictureIsNew = true;
      this.histogram.draw(this.window);
    }
    if (this.#pictureIsNew) {
      // Marks, lenses and measures lie on a canvas of their own: the picture is drawn when it changes, and once more when it stands still.
      this.#pictureIsNew = false;
      picture.draw(this.view.frame(), surround, performance.now() < this.#movingUntil);
    }
    this.#drawOverlay(facts);
    this.#reportProbe();
    const shown = this.host.querySelector("[data-view=zoom]");
    if (shown) {
      shown.textContent = `${Math.round(100 / this.view.step)} %`;
    }
    if (this.#viewIsNew) {
      this.#viewIsNew = false;
      const view = this.sharedView();
      this.#followers.forEach((callback) => callback(view));
    }
  }

  /** @param {ImageFacts} facts */
  #drawOverlay(facts) {
    const ratio = window.devicePixelRatio || 1;
    const { pen } = this;
    const toCanvas = (/** @type {PixelPoint} */ point) => this.view.toCanvas(point);
    const byKey = this.pointerAt === null && document.activeElement === this.stage;
    drawMarks(pen, facts.marks, this.styles, toCanvas, {
      ratio,
      casingColor: facts.casingColor,
      casingPixels: facts.casingPixels,
      layers: this.layers,
      evidence: this.evidence,
      // Whoever marks a landmark sees those that are marked.
      landmarks: this.layers.has("landmarks") || this.marking !== null ? this.landmarks : [],
      aim: byKey && (this.marking !== null || this.tool !== null) ? [this.view.width / 2, this.view.height / 2] : null,
      shade: facts.field ? { image: [[-0.5, -0.5], [facts.columns - 0.5, -0.5], [facts.columns - 0.5, facts.rows - 0.5], [-0.5, facts.rows - 0.5]], outline: facts.field } : null,
    });
    if (this.lens) {
      this.#drawLens(facts, ratio);
    }
    drawMeasures(pen, this.laying ? [...this.measures, this.#led(this.laying)] : this.measures, toCanvas, facts.spacing, ratio);
  }

  /**
   * @param {ImageFacts} facts
   * @param {number} ratio
   */
  #drawLens(facts, ratio) {
    const { pen, pyramid } = this;
    if (!pyramid) {
      return;
    }
    const lens = { ...this.#lensMiddle(ratio), radius: Math.round(this.lensRadius * ratio) };
    const under = underLens(lens, this.view.frame(), this.view.aspect === 1);
    const values = valuesUnder(under, pyramid);
    const brightIsHigh = this.#brightIsHigh(facts);
    const greys = this.lens === "hot"
      ? equalised(values, under.side, lens.radius, { pixelMaximum: facts.pixelMaximum, brightIsHigh, field: facts.field ? onLens(facts.field, under) : null })
      : mottle(values, under.side, this.signal?.byValue ?? this.modality, brightIsHigh);
    if (this.sheet.width !== under.side) {
      this.sheet.width = under.side;
      this.sheet.height = under.side;
    }
    const sheetPen = /** @type {CanvasRenderingContext2D} */ (this.sheet.getContext("2d"));
    const image = sheetPen.createImageData(under.side, under.side);
    const out = new Uint32Array(image.data.buffer);
    for (let place = 0; place < greys.length; place++) {
      out[place] = 0xff000000 | (greys[place] * 0x010101);
    }
    sheetPen.putImageData(image, 0, 0);
    pen.save();
    pen.beginPath();
    pen.arc(lens.x, lens.y, lens.radius, 0, 2 * Math.PI);
    pen.clip();
    pen.imageSmoothingEnabled = false;
    pen.drawImage(this.sheet, Math.round(lens.x - under.side / 2), Math.round(lens.y - under.side / 2));
    pen.restore();
    for (const [color, width] of /** @type {[string, number][]} */ ([["#0b0d10", 4 * ratio], ["#ffb65c", 2 * ratio]])) {
      pen.strokeStyle = color;
      pen.lineWidth = width;
      pen.setLineDash(this.lens === "mottle" && color !== "#0b0d10" ? [6 * ratio, 4 * ratio] : []);
      pen.beginPath();
      pen.arc(lens.x, lens.y, lens.radius, 0, 2 * Math.PI);
      pen.stroke();
    }
    pen.setLineDash([]);
  }

  /**
   * Where the lens's middle is: under the pointer, above a finger, else in the middle of the picture.
   * @param {number} ratio
   */
  #lensMiddle(ratio) {
    if (!this.pointerAt) {
      return { x: this.view.width / 2, y: this.view.height / 2 };
    }
    const above = this.pointerAt.isTouch ? (this.lensRadius + 28) * ratio : 0;
    return { x: this.pointerAt.x, y: this.pointerAt.y - above };
  }

  /** @param {ImageFacts} facts */
  #brightIsHigh(facts) {
    const rises = this.modality[this.modality.length - 1] >= this.modality[0];
    return (rises !== facts.highIsDark) !== this.inverted;
  }

  #becomeCurrent() {
    for (const other of document.querySelectorAll("[data-view=stage][data-current]")) {
      other.removeAttribute("data-current");
    }
    this.stage.setAttribute("data-current", "");
  }

  /** @param {PointerEvent} event */
  #press(event) {
    if (!this.facts) {
      return;
    }
    const here = this.#here(event);
    this.stage.focus({ preventScroll: true });
    this.stage.setPointerCapture(event.pointerId);
    this.touches.set(event.pointerId, here);
    this.pressedAt = event.button === 0 && this.touches.size === 1 ? here : null;
    this.pointerAt = { ...here, isTouch: event.pointerType === "touch" };
    if (this.touches.size > 1) {
      // A second finger zooms: what the first began is given up.
      this.held = null;
      this.dragged = null;
      if (this.laying && this.laying.points.length < 2) {
        this.laying = null;
      }
    } else if (this.tool && this.pressedAt && !event.shiftKey) {
      this.#pressTool(here);
    } else if (this.movable && this.pressedAt && !event.shiftKey) {
      const hit = this.#landmarkAt(here.x, here.y, window.devicePixelRatio || 1);
      this.dragged = hit ? { id: hit.id, moved: false } : null;
    }
    if (this.lens) {
      this.#queue();
    }
    event.preventDefault();
  }

  /** @param {PointerEvent} event */
  #move(event) {
    const ratio = window.devicePixelRatio || 1;
    const here = this.#here(event);
    this.pointerAt = { ...here, isTouch: event.pointerType === "touch" };
    const before = this.touches.get(event.pointerId);
    if (before) {
      if (this.touches.size === 2) {
        const other = /** @type {{x: number, y: number}} */ ([...this.touches].find(([id]) => id !== event.pointerId)?.[1]);
        const was = Math.hypot(before.x - other.x, before.y - other.y);
        const is = Math.hypot(here.x - other.x, here.y - other.y);
        this.pan((here.x - before.x) / 2, (here.y - before.y) / 2);
        if (was > 0 && is > 0) {
          this.zoomTo((this.view.step * was) / is, (here.x + other.x) / 2, (here.y + other.y) / 2);
        }
      } else if ((this.marking !== null || this.tool !== null || this.dragged !== null) && this.pressedAt && Math.hypot(here.x - this.pressedAt.x, here.y - this.pressedAt.y) <= clickReach * ratio) {
        // A hand that trembles while it places something changes no window.
        return;
      } else if (this.dragged) {
        const [x, y] = this.#onImage(here.x, here.y);
        const { id } = this.dragged;
        this.dragged.moved = true;
        this.pressedAt = null;
        this.landmarks = this.landmarks.map((each) => (each.id === id ? { ...each, x, y } : each));
        this.#queue();
      } else if (this.held) {
        this.#moveHeld(here);
      } else if (this.tool && !event.shiftKey && event.buttons === 1) {
        this.#dragTool();
      } else if (this.lens && event.pointerType === "touch") {
        // A finger leads the lens.
      } else if (this.#moves(event)) {
        this.pan(here.x - before.x, here.y - before.y);
      } else {
        this.#dragWindow((here.x - before.x) / ratio, (here.y - before.y) / ratio);
      }
      this.touches.set(event.pointerId, here);
    } else if (this.laying) {
      this.#queue();
    }
    this.#reportProbe();
    if (this.lens) {
      this.#queue();
    }
  }

  /**
   * @param {MouseEvent} event
   * @returns {{x: number, y: number}} canvas pixels
   */
  #here(event) {
    const bounds = this.stage.getBoundingClientRect();
    return { x: ((event.clientX - bounds.left) * this.view.width) / bounds.width, y: ((event.clientY - bounds.top) * this.view.height) / bounds.height };
  }

  /** @param {PointerEvent} event */
  #moves(event) {
    const other = event.buttons === 4 || event.buttons === 2 || event.shiftKey;
    return this.dragMoves !== other;
  }

  /**
   * @param {number} x CSS pixels
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
    const ratio = window.devicePixelRatio || 1;
    const here = this.#here(event);
    const isClick = event.type === "pointerup" && pressed !== null && Math.hypot(here.x - pressed.x, here.y - pressed.y) <= clickReach * ratio;
    const dragged = this.dragged;
    this.dragged = null;
    if (dragged?.moved) {
      const [column, row] = this.#onImage(here.x, here.y);
      this.page?.invokeMethodAsync("Move", dragged.id, column, row);
    } else if (isClick && this.marking !== null && !this.tool) {
      this.#place(here.x, here.y);
    } else if (isClick && !this.tool && this.layers.has("landmarks")) {
      this.#choose(here.x, here.y, ratio);
    } else if (this.tool) {
      this.#releaseTool(here, isClick);
    }
    if (event.pointerType === "touch") {
      // The lens stays where the finger left it, so that it can be looked at.
      this.#queue();
    }
  }

  /**
   * Takes hold of an end that lies under the pointer.
   * @param {{x: number, y: number}} here
   */
  #pressTool(here) {
    const ratio = window.devicePixelRatio || 1;
    this.held = null;
    if (this.laying) {
      return;
    }
    let nearest = holdReach * ratio;
    for (const measure of this.measures) {
      measure.points.forEach((point, index) => {
        const [x, y] = this.view.toCanvas(point);
        const away = Math.hypot(x - here.x, y - here.y);
        if (away < nearest) {
          nearest = away;
          this.held = { measure, point: index };
        }
      });
    }
  }

  /**
   * @param {{x: number, y: number}} here
   */
  #moveHeld(here) {
    if (this.held) {
      const { measure, point } = this.held;
      measure.points[point] = this.#onImage(here.x, here.y);
      measure.deviations[point] = endDeviation(this.view.step);
      this.#reportMeasures();
      this.#queue();
    }
  }

  /** A drag lays the first point where it began, and leads the next one. */
  #dragTool() {
    if (!this.laying && this.pressedAt) {
      this.#layPoint(this.pressedAt.x, this.pressedAt.y);
    }
    this.#queue();
  }

  /**
   * A measure that is being laid, with its next point where the pointer or the cross is.
   * @param {Measure} laying
   * @returns {Measure}
   */
  #led(laying) {
    const at = this.pointerAt ?? { x: this.view.width / 2, y: this.view.height / 2 };
    return { kind: laying.kind, points: [...laying.points, this.#onImage(at.x, at.y)], deviations: [...laying.deviations, endDeviation(this.view.step)] };
  }

  /**
   * @param {{x: number, y: number}} here
   * @param {boolean} isClick
   */
  #releaseTool(here, isClick) {
    if (this.held && !isClick) {
      this.#speakMeasure(this.held.measure);
    } else if (isClick || this.laying) {
      this.#layPoint(here.x, here.y);
    }
    this.held = null;
  }

  /**
   * Lays the next point of the tool at a place of the canvas.
   * @param {number} x canvas pixels
   * @param {number} y
   */
  #layPoint(x, y) {
    if (!this.tool) {
      return;
    }
    this.laying ??= { kind: this.tool, points: [], deviations: [] };
    this.laying.points.push(this.#onImage(x, y));
    this.laying.deviations.push(endDeviation(this.view.step));
    const left = pointsOf(this.tool) - this.laying.points.length;
    if (left === 0) {
      const done = this.laying;
      this.laying = null;
      this.measures.push(done);
      this.#reportMeasures();
      this.#speakMeasure(done);
    } else {
      this.#speak(this.tool === "ruler" ? "First end laid. Lay the other." : left === 2 ? "First leg laid. Lay the vertex." : "Vertex laid. Lay the other leg.");
    }
    this.#queue();
  }

  /**
   * @param {number} x canvas pixels
   * @param {number} y
   * @returns {PixelPoint} the place, brought onto the image
   */
  #onImage(x, y) {
    const [column, row] = this.view.toImage(x, y);
    return [Math.min(Math.max(column, -0.5), this.view.columns - 0.5), Math.min(Math.max(row, -0.5), this.view.rows - 0.5)];
  }

  /** @param {Measure} measure */
  #speakMeasure(measure) {
    this.#speak(`${measure.kind === "ruler" ? "Ruler" : "Angle"} ${this.measures.indexOf(measure) + 1}: ${reading(measure, this.facts?.spacing ?? null).text}, ${this.facts?.spacingBasis ?? ""}.`);
  }

  /**
   * Places the landmark that is being marked.
   * @param {number} x canvas pixels
   * @param {number} y canvas pixels
   */
  #place(x, y) {
    const facts = this.facts;
    const [column, row] = this.view.toImage(x, y);
    if (facts && this.page && this.marking !== null && column >= -0.5 && row >= -0.5 && column <= facts.columns - 0.5 && row <= facts.rows - 0.5) {
      this.page.invokeMethodAsync("Place", this.marking, column, row);
    }
  }

  /**
   * Tells the page of a landmark that was clicked, at its cross or at its number; the one drawn last where several lie there.
   * @param {number} x canvas pixels
   * @param {number} y canvas pixels
   * @param {number} ratio canvas pixels of a pixel of the page
   */
  #choose(x, y, ratio) {
    const hit = this.#landmarkAt(x, y, ratio);
    if (hit && this.page) {
      this.page.invokeMethodAsync("Choose", hit.id);
    }
  }

  /**
   * The landmark whose cross or number lies at a place; the one drawn last where several lie there.
   * @param {number} x canvas pixels
   * @param {number} y canvas pixels
   * @param {number} ratio canvas pixels of a pixel of the page
   */
  #landmarkAt(x, y, ratio) {
    return this.landmarks.findLast((each) => {
      if (each.x === null || each.y === null) {
        return false;
      }
      const [left, top] = this.view.toCanvas([each.x, each.y]);
      const [right, down] = [(x - left) / ratio, (y - top) / ratio];
      return Math.hypot(right, down) <= clickReach + 9 || (right >= 5 && right <= 15 + 9 * String(each.number).length && down >= -25 && down <= -4);
    });
  }

  #doubleClick() {
    if (!this.tool && this.marking === null) {
      this.fit();
    }
  }

  /** @param {PointerEvent} event */
  #leave(event) {
    if (event.pointerType !== "touch") {
      this.pointerAt = null;
      this.#queue();
    }
  }

  /** @param {WheelEvent} event */
  #wheel(event) {
    if (!this.facts) {
      return;
    }
    event.preventDefault();
    const lines = event.deltaMode === 1 ? 33 : 1;
    const way = event.deltaY || event.deltaX;
    if (event.shiftKey && this.lens) {
      this.setLensRadius(this.lensRadius * Math.exp((-way * lines) / 700));
      return;
    }
    const here = this.#here(event);
    this.zoomTo(this.view.step * Math.exp((way * lines) / 500), here.x, here.y);
  }

  /**
   * Keys on the picture itself. The page's other keys are elsewhere.
   * @param {KeyboardEvent} event
   */
  #key(event) {
    if (event.ctrlKey || event.metaKey || event.altKey || !this.command(event.key, event.shiftKey)) {
      return;
    }
    event.preventDefault();
    event.stopPropagation();
  }

  /**
   * @param {string} key
   * @param {boolean} [fine] whether arrows move by one pixel of the screen
   * @returns {boolean} whether it was a key of the viewer
   */
  command(key, fine = false) {
    const middle = [this.view.width / 2, this.view.height / 2];
    const stride = fine ? 1 : Math.max(40, this.view.width / 12);
    switch (key.length === 1 ? key.toLowerCase() : key) {
      case "+": case "=": this.zoomTo(this.view.step / 1.25, middle[0], middle[1]); return true;
      case "-": this.zoomTo(this.view.step * 1.25, middle[0], middle[1]); return true;
      case "f": this.fit(); return true;
      case "1": this.full(); return true;
      case "2": this.lifeSize(); return true;
      case "5": case "6": case "7": case "8": case "9": {
        const choice = this.facts?.choices.find((each) => each.key === key);
        if (!choice) {
          return false;
        }
        this.chooseWindow(choice.id);
        return true;
      }
      case "i": this.invert(); return true;
      case "l": this.setLens(this.lens === "hot" ? null : "hot"); return true;
      case "q": this.setLens(this.lens === "mottle" ? null : "mottle"); return true;
      case "PageUp": case "PageDown":
        if (!this.lens) {
          return false;
        }
        this.setLensRadius(this.lensRadius * (key === "PageUp" ? 1.15 : 1 / 1.15));
        return true;
      case "s": this.toggleLayer("shade"); return true;
      case "w": this.resetWindow(); return true;
      case "h": this.showHistogram(!this.histogram.isShown); return true;
      case "t": this.turn("turn"); return true;
      case "x": this.turn("mirror"); return true;
      case "u": this.turn("upright"); return true;
      case "z": this.lookAtEvidence(true); return true;
      case "d": this.setTool(this.tool === "ruler" ? null : "ruler"); return true;
      case "g": this.setTool(this.tool === "angle" ? null : "angle"); return true;
      case "p": this.#speak(this.#probeWords(true) || "The pointer is not on the image."); return true;
      case "[": this.setWindow({ ...this.window, width: this.window.width / 1.1 }); return true;
      case "]": this.setWindow({ ...this.window, width: this.window.width * 1.1 }); return true;
      case ",": this.setWindow({ ...this.window, center: this.window.center - 0.05 * this.window.width }); return true;
      case ".": this.setWindow({ ...this.window, center: this.window.center + 0.05 * this.window.width }); return true;
      case "Enter":
        if (this.tool) {
          this.#layPoint(middle[0], middle[1]);
          return true;
        }
        if (this.marking === null) {
          return false;
        }
        this.#place(middle[0], middle[1]);
        return true;
      case "Escape":
        if (!this.tool) {
          return false;
        }
        this.setTool(null);
        return true;
      case "Backspace": case "Delete":
        if (this.movable && !this.laying && this.measures.length === 0) {
          this.page?.invokeMethodAsync("TakeBack");
        } else if (this.laying || this.measures.length === 0) {
          this.laying = null;
          this.#queue();
        } else {
          this.clearMeasures(this.measures.length - 1);
        }
        return true;
      case "ArrowLeft": this.#arrow(stride, 0); return true;
      case "ArrowRight": this.#arrow(-stride, 0); return true;
      case "ArrowUp": this.#arrow(0, stride); return true;
      case "ArrowDown": this.#arrow(0, -stride); return true;
      default: return false;
    }
  }

  /**
   * Moves the image by key: from then on the middle of the picture counts, not the pointer.
   * @param {number} x
   * @param {number} y
   */
  #arrow(x, y) {
    this.pointerAt = null;
    this.pan(x, y);
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
      case "life": this.lifeSize(); break;
      case "measure-screen": this.screenDialog.showModal(); break;
      case "closer": this.command("+"); break;
      case "farther": this.command("-"); break;
      case "invert": this.invert(); break;
      case "hot": case "mottle": this.setLens(this.lens === control.dataset.do ? null : control.dataset.do); break;
      case "first-window": this.resetWindow(); break;
      case "choose-window": this.chooseWindow(control.dataset.choice ?? ""); break;
      case "close-histogram": this.showHistogram(false); break;
      case "histogram": this.showHistogram(!this.histogram.isShown); break;
      case "turn": case "turn-back": case "mirror": case "upright": this.turn(control.dataset.do); break;
      case "follows": this.toggleFollows(); break;
      case "evidence": this.lookAtEvidence(true); break;
      case "drag": this.dragMoves = !this.dragMoves; this.#reportStates(); break;
      case "ruler": case "angle": this.setTool(this.tool === control.dataset.do ? null : control.dataset.do); break;
      case "clear-measures": this.clearMeasures(); break;
      case "clear-measure": this.clearMeasures(Number(control.dataset.index)); break;
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

  /** @param {Event} event */
  #slide(event) {
    const field = event.target;
    if (field instanceof HTMLInputElement && field.dataset.view === "radius") {
      this.setLensRadius(Number(field.value));
    }
  }

  /**
   * Puts a popover above the control that opens it.
   * @param {HTMLElement} popover
   * @param {ToggleEvent} event
   */
  #placePopover(popover, event) {
    if (event.newState !== "open") {
      return;
    }
    const opener = this.host.querySelector(`[popovertarget="${popover.id}"]`);
    if (!opener) {
      return;
    }
    const from = opener.getBoundingClientRect();
    const own = popover.getBoundingClientRect();
    popover.style.left = `${Math.max(4, Math.min(from.left, document.documentElement.clientWidth - own.width - 4))}px`;
    popover.style.top = `${Math.max(4, from.top - own.height - 6)}px`;
  }

  #reportAll() {
    this.#reportStates();
    this.#reportMeasures();
    const list = this.host.querySelector("[data-view=choices]");
    list?.replaceChildren(...(this.facts?.choices ?? []).map((choice) => {
      const item = document.createElement("li");
      const button = item.appendChild(document.createElement("button"));
      button.type = "button";
      button.dataset.do = "choose-window";
      button.dataset.choice = choice.id;
      button.disabled = choice.window === null;
      button.append(`${choice.label} `);
      button.appendChild(document.createElement("kbd")).textContent = choice.key;
      item.appendChild(document.createElement("span")).textContent = choice.detail;
      return item;
    }));
    const calibration = this.host.querySelector("[data-view=calibration]");
    if (calibration && this.facts) {
      calibration.textContent = this.facts.spacing
        ? `In the receptor's plane: ${Number(this.facts.spacing.columnMm.toPrecision(5))} mm between columns, ${Number(this.facts.spacing.rowMm.toPrecision(5))} mm between rows, ${this.facts.spacingBasis}. The body lay above the receptor and was smaller. The ± is one standard deviation, from half a pixel at each end alone.`
        : `In pixels: ${this.facts.spacingBasis}. The ± is one standard deviation, from half a pixel at each end.`;
    }
  }

  #reportStates() {
    const states = /** @type {Record<string, boolean>} */ ({
      invert: this.inverted,
      hot: this.lens === "hot",
      mottle: this.lens === "mottle",
      drag: this.dragMoves,
      follows: this.follows,
      histogram: this.histogram.isShown,
      mirror: this.view.mirrored,
      ruler: this.tool === "ruler",
      angle: this.tool === "angle",
    });
    for (const [name, on] of Object.entries(states)) {
      for (const control of this.host.querySelectorAll(`[data-do=${name}]`)) {
        control.setAttribute("aria-pressed", String(on));
      }
    }
    for (const name of /** @type {("center" | "width")[]} */ (["center", "width"])) {
      const field = this.host.querySelector(`[data-window=${name}]`);
      if (field instanceof HTMLInputElement) {
        field.value = String(Number(this.window[name].toPrecision(5)));
      }
    }
    const radius = this.host.querySelector("[data-view=radius]");
    if (radius instanceof HTMLInputElement) {
      radius.value = String(this.lensRadius);
    }
    const turned = this.host.querySelector("[data-view=turned]");
    if (turned) {
      turned.textContent = this.view.isTurned ? `Turned for viewing: ${turnedWords(this.view)}. U puts it as stored` : "";
    }
    const changed = this.host.querySelector("[data-view=changed]");
    if (changed) {
      const tool = this.tool === "ruler" ? "ruler: lay two ends" : this.tool === "angle" ? "angle: lay a leg, the vertex, the other leg" : "";
      changed.textContent = [
        this.marking !== null ? `click marks: ${this.landmarks.find((each) => each.id === this.marking)?.label ?? this.marking}` : "",
        tool,
        this.windowChanged ? "window changed" : "",
        this.inverted ? "inverted" : "",
        this.facts?.field && this.layers.has("shade") ? "shaded outside the field" : "",
      ].filter((each) => each).join(", ");
    }
  }

  #reportMeasures() {
    const facts = this.facts;
    if (!facts) {
      return;
    }
    keepMeasures(facts.pixelsUrl, this.measures);
    const list = this.host.querySelector("[data-view=measures]");
    list?.replaceChildren(...this.measures.map((measure, index) => {
      const item = document.createElement("li");
      item.append(`${measure.kind === "ruler" ? "ruler" : "angle"} ${index + 1}: ${reading(measure, facts.spacing).text} `);
      const button = item.appendChild(document.createElement("button"));
      button.type = "button";
      button.className = "small";
      button.dataset.do = "clear-measure";
      button.dataset.index = String(index);
      button.textContent = "take away";
      button.setAttribute("aria-label", `Take ${measure.kind} ${index + 1} away`);
      return item;
    }));
    const clear = this.host.querySelector("[data-do=clear-measures]");
    if (clear instanceof HTMLButtonElement) {
      clear.disabled = this.measures.length === 0;
    }
  }

  #reportLayers() {
    const present = new Set((this.facts?.marks ?? []).map((mark) => this.styles.get(mark.kind)?.layer));
    for (const control of this.host.querySelectorAll("[data-do=layer]")) {
      if (control instanceof HTMLElement) {
        const layer = control.dataset.layer ?? "";
        control.setAttribute("aria-pressed", String(this.layers.has(layer)));
        control.toggleAttribute("data-empty", layer === "shade" ? !this.facts?.field : layer === "landmarks" ? this.landmarks.length === 0 : layer !== "evidence" && !present.has(layer));
      }
    }
  }

  #reportProbe() {
    const probe = this.host.querySelector("[data-view=probe]");
    if (probe) {
      const asked = this.pointerAt !== null || this.lens !== null || document.activeElement === this.stage;
      probe.textContent = asked ? this.#probeWords() : "";
    }
  }

  /** What the image holds under the pointer, or in the middle of the picture; empty beyond the image. @param {boolean} [withBasis] whether it is told what the signal rests on */
  #probeWords(withBasis = false) {
    const { facts, pyramid } = this;
    if (!facts || !pyramid) {
      return "";
    }
    const ratio = window.devicePixelRatio || 1;
    const at = this.lens ? this.#lensMiddle(ratio) : this.pointerAt ?? { x: this.view.width / 2, y: this.view.height / 2 };
    const place = this.view.toImage(at.x, at.y);
    const column = Math.floor(place[0] + 0.5);
    const row = Math.floor(place[1] + 0.5);
    if (column < 0 || row < 0 || column >= facts.columns || row >= facts.rows) {
      return "";
    }
    const where = `column ${column}, row ${row}`;
    if (!pyramid.isFull) {
      return `${where}: values come with the full image`;
    }
    if (this.lens === "mottle") {
      return `${where}: ${this.#noiseWords(place)}`;
    }
    const value = pyramid.finest.pixels[row * facts.columns + column];
    return `${where}: pixel ${value}, modality value ${figure(this.modality[value])}, ${this.#signalWords(value, withBasis)}`;
  }

  /**
   * @param {number} value
   * @param {boolean} withBasis
   */
  #signalWords(value, withBasis) {
    if (!this.signal) {
      return "linear signal on its way";
    }
    const { byValue } = this.signal;
    if (!byValue) {
      return `linear signal: cannot tell, ${this.signal.basis}`;
    }
    const basis = withBasis ? `, by ${this.signal.basis}` : "";
    const signal = byValue[value];
    return Number.isFinite(signal)
      ? this.signal.isKerma ? `air kerma ${figure(signal)} µGy${basis}` : `linear signal ${figure(signal)} in an unknown unit${basis}`
      : "linear signal: cannot tell, this value lies outside the relation";
  }

  /** @param {PixelPoint} place */
  #noiseWords(place) {
    const noise = this.pyramid ? noiseAt(this.pyramid, this.signal?.byValue ?? this.modality, place[0] + 0.5, place[1] + 0.5) : null;
    if (!noise) {
      return "noise: cannot tell, 64 × 64 pixels must lie on the image";
    }
    return this.signal?.byValue && noise.mean > 0
      ? `noise ${figure((100 * noise.deviation) / noise.mean, 3)} % of the signal (64 × 64 pixels; structure left in counts as noise)`
      : `noise ${figure(noise.deviation, 3)} modality values (64 × 64 pixels; structure left in counts as noise; not a share, since the signal is not known to be linear)`;
  }

  /** @param {string} sentence */
  #say(sentence) {
    const line = this.host.querySelector("[data-view=message]");
    if (line) {
      line.textContent = sentence;
      line.toggleAttribute("data-aside", this.pyramid !== null);
    }
  }

  /**
   * Says something in passing, for who does not see it and as a line under the picture.
   * @param {string} sentence
   */
  #speak(sentence) {
    const line = this.host.querySelector("[data-view=spoken]");
    if (line) {
      line.textContent = sentence;
      clearTimeout(this.#silence);
      this.#silence = setTimeout(() => (line.textContent = ""), spokenMs);
    }
  }
}

/**
 * @param {number} value
 * @param {number} [digits]
 */
function figure(value, digits = 6) {
  return String(Number(value.toPrecision(digits)));
}

/** @returns {Promise<void>} */
function nextFrame() {
  return new Promise((resolve) => {
    // A page in the background draws no frames; it goes on all the same.
    const patience = setTimeout(resolve, 100);
    requestAnimationFrame(() => setTimeout(() => {
      clearTimeout(patience);
      resolve();
    }, 0));
  });
}

/**
 * @param {string} name
 * @param {string} value
 */
function keep(name, value) {
  try {
    localStorage.setItem(name, value);
  } catch {
    // Without storage the choice lasts as long as the page.
  }
}

/** @returns {number} */
function readRadius() {
  try {
    const kept = Number(localStorage.getItem(radiusKept));
    return kept >= smallestRadius && kept <= largestRadius ? kept : 105;
  } catch {
    return 105;
  }
}

/**
 * Measures stay on their image until they are cleared or the browser's tab is closed.
 * @param {string} url
 * @returns {Measure[]}
 */
function readMeasures(url) {
  try {
    const kept = JSON.parse(sessionStorage.getItem(`hotlight.measures:${url}`) ?? "[]");
    return Array.isArray(kept) ? kept.filter((each) => (each.kind === "ruler" || each.kind === "angle") && each.points?.length === pointsOf(each.kind) && each.deviations?.length === each.points.length) : [];
  } catch {
    return [];
  }
}

/**
 * @param {string} url
 * @param {Measure[]} measures
 */
function keepMeasures(url, measures) {
  try {
    if (measures.length === 0) {
      sessionStorage.removeItem(`hotlight.measures:${url}`);
    } else {
      sessionStorage.setItem(`hotlight.measures:${url}`, JSON.stringify(measures));
    }
  } catch {
    // Without storage they last as long as the page.
  }
}

/** @returns {boolean} */
function readFollows() {
  try {
    return localStorage.getItem(followsKept) !== "off";
  } catch {
    return true;
  }
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
  return ["shade", "field", "skin", "tighter", "lost", "markers", "artifacts", "landmarks", "evidence"];
}
