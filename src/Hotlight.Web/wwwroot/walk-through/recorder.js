// Records what a teacher shows, points at, draws and says on a step. Everything is sent piece by piece while it is recorded; what cannot be sent waits and is sent again.

/** @import { Moment, View, Window, openPlayer } from "./player.js" */
/** @typedef {ReturnType<typeof openPlayer>} Player */
/** @typedef {"move" | "window" | "draw"} Tool */
/** @typedef {{ seconds: number, views: number[][], windows: number[][], pointer: number[][], strokes: number[][] }} Tracks */

const pieceMs = 1000;
const retryMs = 1500;
const mediaTypes = ["audio/webm;codecs=opus", "audio/ogg;codecs=opus", "audio/mp4"];

/**
 * The teacher's hands on the picture: moving, windowing, pointing, drawing.
 * @param {Player} player
 * @param {{ columns: number, rows: number, pixelAspect: number, window: Window }} image
 * @param {{ view: (view: View) => void, window: (window: Window) => void, pointer: (at: [number, number] | null) => void, stroke: (line: number, at: [number, number]) => void }} told
 */
export function takeHands(player, image, told) {
  const { stage } = player;
  const ending = new AbortController();
  const { signal } = ending;
  /** @type {Tool} */
  let tool = "move";
  /** @type {Moment} */
  let moment = { ...player.moment(), marks: player.moment().marks.map(({ mark }) => ({ mark, share: 1 })), strokes: [], pointer: null };
  let line = -1;
  let isPenDown = false;
  /** @type {{ x: number, y: number, view: View, window: Window } | null} */
  let held = null;
  stage.tabIndex = 0;
  stage.dataset.ownKeys = "";
  stage.setAttribute("role", "group");
  stage.setAttribute("aria-label", "The radiograph. Arrows move it, plus and minus zoom, F shows the whole; brackets change the window's width, comma and point its centre; with the tool Draw, arrows move the pen and the space bar sets it down and lifts it.");

  const shown = () => player.show({ ...moment });
  const windowNow = () => moment.window ?? image.window;
  /** @param {View} view */
  function look(view) {
    const width = Math.min(4 * image.columns, Math.max(24, view.width));
    const factor = width / view.width;
    moment = { ...moment, view: { x: view.x + (view.width - width) / 2, y: view.y + (view.height * (1 - factor)) / 2, width, height: view.height * factor } };
    told.view(moment.view);
    shown();
  }
  /** @param {number} center @param {number} width */
  function widen(center, width) {
    moment = { ...moment, window: { center, width: Math.max(image.window.width / 500, width) } };
    told.window(/** @type {Window} */ (moment.window));
    shown();
  }
  /** @param {number} factor below 1: closer @param {[number, number]} about */
  function zoom(factor, [x, y]) {
    const { view } = moment;
    look({ x: x + (view.x - x) * factor, y: y + (view.y - y) * factor, width: view.width * factor, height: view.height * factor });
  }
  /** @param {[number, number] | null} at */
  function point(at) {
    moment = { ...moment, pointer: at ? [0, ...at] : null };
    told.pointer(at);
    if (at && isPenDown) {
      draw(at);
    }
    shown();
  }
  function penDown() {
    isPenDown = true;
    line++;
    moment = { ...moment, strokes: [...moment.strokes, []] };
  }
  /** @param {[number, number]} at */
  function draw(at) {
    const strokes = [...moment.strokes];
    strokes[strokes.length - 1] = [...strokes[strokes.length - 1], [0, ...at]];
    moment = { ...moment, strokes };
    told.stroke(line, at);
  }

  stage.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) {
      return;
    }
    stage.setPointerCapture(event.pointerId);
    stage.focus({ preventScroll: true });
    held = { x: event.clientX, y: event.clientY, view: moment.view, window: windowNow() };
    if (tool === "draw") {
      penDown();
      point(player.toImage(event.clientX, event.clientY));
    }
  }, { signal });
  stage.addEventListener("pointermove", (event) => {
    const at = player.toImage(event.clientX, event.clientY);
    if (held && tool === "move") {
      const box = stage.getBoundingClientRect();
      const scale = Math.min(box.width / held.view.width, box.height / (held.view.height * image.pixelAspect));
      look({ ...held.view, x: held.view.x - (event.clientX - held.x) / scale, y: held.view.y - (event.clientY - held.y) / (scale * image.pixelAspect) });
    } else if (held && tool === "window") {
      widen(held.window.center + ((event.clientY - held.y) * held.window.width) / 400, held.window.width * 2 ** ((event.clientX - held.x) / 200));
    }
    point(at);
  }, { signal });
  for (const name of /** @type {const} */ (["pointerup", "pointercancel"])) {
    stage.addEventListener(name, () => {
      held = null;
      isPenDown = false;
    }, { signal });
  }
  stage.addEventListener("pointerleave", () => {
    if (!held) {
      point(null);
    }
  }, { signal });
  stage.addEventListener("wheel", (event) => {
    event.preventDefault();
    zoom(2 ** (event.deltaY / 400), player.toImage(event.clientX, event.clientY));
  }, { signal, passive: false });
  stage.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) {
      return;
    }
    const { view } = moment;
    const step = view.width / (event.shiftKey ? 160 : 20);
    /** @type {[number, number]} */
    const middle = [view.x + view.width / 2, view.y + view.height / 2];
    const { center, width } = windowNow();
    /** @param {number} x @param {number} y */
    const go = (x, y) => {
      if (tool === "draw") {
        const [, fromX, fromY] = moment.pointer ?? [0, ...middle];
        point([fromX + x * step, fromY + y * step]);
      } else {
        look({ ...view, x: view.x + x * step, y: view.y + y * step });
      }
    };
    /** @type {Record<string, (() => void) | undefined>} */
    const acts = {
      ArrowLeft: () => go(-1, 0),
      ArrowRight: () => go(1, 0),
      ArrowUp: () => go(0, -1),
      ArrowDown: () => go(0, 1),
      "+": () => zoom(0.8, middle),
      "=": () => zoom(0.8, middle),
      "-": () => zoom(1.25, middle),
      f: () => look({ x: -0.5, y: -0.5, width: image.columns, height: image.rows }),
      "[": () => widen(center, width / 1.1),
      "]": () => widen(center, width * 1.1),
      ",": () => widen(center - width / 20, width),
      ".": () => widen(center + width / 20, width),
      " ": tool !== "draw" ? undefined : () => {
        if (isPenDown) {
          isPenDown = false;
        } else {
          penDown();
          point(/** @type {[number, number]} */ (moment.pointer?.slice(1) ?? middle));
        }
      },
    };
    const act = acts[event.key];
    if (act) {
      event.preventDefault();
      event.stopPropagation();
      act();
    }
  }, { signal });
  shown();

  return {
    /** @param {Tool} to */
    use(to) {
      tool = to;
      isPenDown = false;
    },
    /** What is in sight now. */
    seen: () => ({ view: moment.view, window: moment.window }),
    /** Begins with what a step shows. */
    again() {
      player.show(null);
      const now = player.moment();
      moment = { ...now, marks: now.marks.map(({ mark }) => ({ mark, share: 1 })), strokes: [], pointer: null };
      line = -1;
      isPenDown = false;
      shown();
    },
    stop() {
      ending.abort();
      delete stage.dataset.ownKeys;
      stage.removeAttribute("tabindex");
      stage.removeAttribute("role");
      stage.removeAttribute("aria-label");
      player.show(null);
    },
  };
}

/** @returns {Tracks} */
const noTracks = () => ({ seconds: 0, views: [], windows: [], pointer: [], strokes: [] });

/**
 * A recording: what is told to it goes out in pieces of a second.
 * @param {{ address: string, token: string, step: string, stream: MediaStream | null, waiting: (pieces: number) => void }} how
 */
export async function beginTake(how) {
  const mediaType = how.stream ? mediaTypes.find((each) => MediaRecorder.isTypeSupported(each)) : "";
  if (mediaType === undefined) {
    throw new Error("This browser records no sound in a form that the bench keeps; record without the voice.");
  }
  const begun = await fetch(`${how.address}?${new URLSearchParams({ step: how.step, type: mediaType })}`, { method: "POST", headers: { "X-Hotlight-Token": how.token } });
  if (!begun.ok) {
    throw new Error((await begun.json().catch(() => null))?.detail ?? "The recording could not be begun.");
  }
  const { take } = await begun.json();
  const recorder = how.stream ? new MediaRecorder(how.stream, { mimeType: mediaType, audioBitsPerSecond: 32_000 }) : null;
  let tracks = noTracks();
  let number = 0;
  let start = performance.now();
  let isOver = false;
  /** @type {string | null} */
  let refused = null;
  /** @type {{ number: number, body: Blob }[]} */
  const queue = [];
  /** @type {Promise<void> | null} */
  let sending = null;
  const now = () => Math.round(performance.now() - start) / 1000;

  /** @param {Blob | null} voice */
  function flush(voice) {
    const text = new TextEncoder().encode(JSON.stringify({ ...tracks, seconds: now() }));
    tracks = noTracks();
    const head = new DataView(new ArrayBuffer(4));
    head.setUint32(0, text.length, true);
    queue.push({ number: number++, body: new Blob(voice ? [head, text, voice] : [head, text]) });
    how.waiting(queue.length);
    sending ??= send().finally(() => { sending = null; });
  }

  async function send() {
    while (queue.length > 0 && !refused) {
      const piece = queue[0];
      try {
        const answer = await fetch(`${how.address}/${take}/${piece.number}`, { method: "PUT", body: piece.body, headers: { "X-Hotlight-Token": how.token } });
        if (answer.ok) {
          queue.shift();
        } else if (answer.status < 500) {
          refused = (await answer.json().catch(() => null))?.detail ?? "The bench did not take the recording.";
        } else {
          await new Promise((done) => setTimeout(done, retryMs));
        }
      } catch {
        // Not reached: the piece stays first and is sent again.
        await new Promise((done) => setTimeout(done, retryMs));
      }
      how.waiting(queue.length);
    }
  }

  /** @type {Promise<void>} */
  let ended = Promise.resolve();
  let clock = 0;
  if (recorder) {
    ended = new Promise((done) => recorder.addEventListener("stop", () => done(), { once: true }));
    recorder.addEventListener("dataavailable", (event) => {
      if (!isOver || event.data.size > 0) {
        flush(event.data);
      }
    });
    await new Promise((begins) => {
      recorder.addEventListener("start", () => begins(null), { once: true });
      recorder.start(pieceMs);
    });
    start = performance.now();
  } else {
    clock = window.setInterval(() => flush(null), pieceMs);
  }

  return {
    take: /** @type {string} */ (take),
    seconds: now,
    refused: () => refused,
    /** @param {View} view */
    view: ({ x, y, width, height }) => tracks.views.push([now(), x, y, width, height]),
    /** @param {Window} window */
    window: ({ center, width }) => tracks.windows.push([now(), center, width]),
    /** @param {[number, number] | null} at */
    pointer: (at) => tracks.pointer.push(at ? [now(), ...at] : [now()]),
    /** @param {number} line @param {[number, number]} at */
    stroke: (line, at) => tracks.strokes.push([line, now(), ...at]),
    /** Ends it; when this returns everything is acknowledged. */
    async stop() {
      isOver = true;
      clearInterval(clock);
      if (recorder && recorder.state !== "inactive") {
        recorder.stop();
        await ended;
      }
      flush(null);
      while (sending) {
        await sending;
      }
      if (refused) {
        throw new Error(refused);
      }
      return /** @type {string} */ (take);
    },
  };
}
