// Plays a walk-through: the image zooms and pans to each place, marks are drawn, captions run. The same file stands in exported pages, so it imports nothing and fetches nothing.

/** @typedef {{ x: number, y: number, width: number, height: number }} View a rectangle of the image that is wholly in sight */
/** @typedef {{ center: number, width: number }} Window in modality values */
/** @typedef {{ kind: string, points: [number, number][], isClosed: boolean, fromSeconds: number }} Mark */
/** @typedef {{ sha256: string, mediaType: string, bytes: number }} Voice */
/** @typedef {{ seconds: number, voice?: Voice, views: number[][], windows: number[][], pointer: number[][][], strokes: number[][][] }} Recording times in seconds, places in image pixels */
/** @typedef {{ id: string, heading: string, caption: string, seconds: number, view: View, window?: Window, marks: Mark[], recording?: Recording }} Step */
/** @typedef {{ title: string, language: string, isInvented: boolean, caution: string, image: { columns: number, rows: number, pixelAspect: number, window: Window }, steps: Step[] }} Walk */
/** @typedef {{ fromSeconds: number, toSeconds: number, text: string }} Cue */
/** @typedef {{ color: string, width: number, dash: number[], shape: string }} Style */
/** @typedef {{ walk: Walk, cues: Cue[][], styles: Record<string, Style>, words: Record<string, string> }} Play */
/** @typedef {{ columns: number, rows: number, pixels: Uint16Array, modality: Float64Array, opened: Uint8Array, highIsDark: boolean }} Picture pixel values, the modality value of each, and the grey each has as opened */
/** @typedef {{ view: View, window: Window | null, marks: { mark: Mark, share: number }[], pointer: number[] | null, strokes: number[][][] }} Moment */
/** @typedef {{ step?: (id: string) => void, voice?: (voice: Voice) => Promise<string>, level?: number }} Options told of each step that is gone to; where a voice is found; the level of the page's heading, 0: none */

const waySeconds = 1.2;
const drawSeconds = 0.8;
const mostWayShare = 0.4;
const casing = "#0b0d10";
const strokeColor = "#ffb65c";
const speeds = [0.5, 0.75, 1, 1.25, 1.5, 2];

/**
 * @param {number[][]} track
 * @param {number} time
 */
export function onTrack(track, time) {
  let after = 0;
  while (after < track.length && track[after][0] <= time) {
    after++;
  }
  if (after === 0 || after === track.length) {
    return track[after === 0 ? 0 : track.length - 1];
  }
  const from = track[after - 1];
  const to = track[after];
  const share = to[0] > from[0] ? (time - from[0]) / (to[0] - from[0]) : 1;
  return from.map((value, member) => value + share * (to[member] - value));
}

/**
 * @param {Step} step
 * @param {number} time
 * @returns {View}
 */
function viewAt(step, time) {
  if (!step.recording || step.recording.views.length === 0) {
    return step.view;
  }
  const [, x, y, width, height] = onTrack(step.recording.views, time);
  return { x, y, width, height };
}

/**
 * @param {Step} step
 * @param {number} time
 * @returns {Window | null}
 */
function windowAt(step, time) {
  if (!step.recording || step.recording.windows.length === 0) {
    return step.window ?? null;
  }
  const [, center, width] = onTrack(step.recording.windows, time);
  return { center, width };
}

/** @param {Step} step */
const wayOf = (step) => Math.min(waySeconds, mostWayShare * step.seconds);

/**
 * @param {View} from
 * @param {View} to
 * @param {number} share
 * @returns {View}
 */
export function between(from, to, share) {
  const width = from.width * (to.width / from.width) ** share;
  const height = from.height * (to.height / from.height) ** share;
  const middleX = from.x + from.width / 2 + share * (to.x + to.width / 2 - from.x - from.width / 2);
  const middleY = from.y + from.height / 2 + share * (to.y + to.height / 2 - from.y - from.height / 2);
  return { x: middleX - width / 2, y: middleY - height / 2, width, height };
}

/**
 * What is seen at a time of a step: the rules of docs/walk-throughs.md.
 * @param {Walk} walk
 * @param {number} index
 * @param {number} seconds
 * @param {{ from?: { view: View, window: Window | null } | null, isStill?: boolean, isHurried?: boolean }} [how] where the way to it begins if not at the end of the step before; without movement; with its marks drawn at once when it is reached
 * @returns {Moment}
 */
export function momentAt(walk, index, seconds, how = {}) {
  const step = walk.steps[index];
  const time = Math.min(step.seconds, Math.max(0, seconds));
  const way = wayOf(step);
  // Without movement a recorded view is shown as it stood at each whole second.
  let view = viewAt(step, how.isStill ? Math.floor(time) : time);
  let window = windowAt(step, how.isStill ? Math.floor(time) : time);
  const before = index > 0 ? walk.steps[index - 1] : null;
  const from = how.from ?? (before ? { view: viewAt(before, before.seconds), window: windowAt(before, before.seconds) } : null);
  if (from && time < way && !how.isStill) {
    const linear = time / way;
    const share = linear * linear * (3 - 2 * linear);
    view = between(from.view, view, share);
    if (from.window?.center !== window?.center || from.window?.width !== window?.width) {
      const first = from.window ?? walk.image.window;
      const last = window ?? walk.image.window;
      window = { center: first.center + share * (last.center - first.center), width: first.width * (last.width / first.width) ** share };
    }
  }
  /** @type {{ mark: Mark, share: number }[]} */
  const marks = [];
  for (const mark of step.marks) {
    const begins = how.isHurried ? Math.min(way, mark.fromSeconds) : mark.fromSeconds;
    const share = how.isStill ? (time >= begins || how.isHurried ? 1 : 0) : Math.min(1, (time - begins) / drawSeconds);
    if (share > 0) {
      marks.push({ mark, share });
    }
  }
  const recording = step.recording;
  const run = recording?.pointer.find((each) => each.length > 0 && each[0][0] <= time && each[each.length - 1][0] >= time);
  const strokes = (recording?.strokes ?? []).filter((each) => each.length > 0 && each[0][0] <= time).map((each) => [...each.filter((entry) => entry[0] <= time), onTrack(each, time)]);
  return { view, window, marks, pointer: run ? onTrack(run, time) : null, strokes };
}

/**
 * One displayed grey for every pixel value: a linear window, PS3.3 C.11.2.1.3.2.
 * @param {Picture} picture
 * @param {Window | null} window null: as opened
 */
export function greys(picture, window) {
  if (!window) {
    return picture.opened;
  }
  const table = new Uint8ClampedArray(picture.modality.length);
  for (let value = 0; value < table.length; value++) {
    const shown = Math.min(1, Math.max(0, (picture.modality[value] - window.center) / window.width + 0.5));
    table[value] = 255 * (picture.highIsDark ? 1 - shown : shown);
  }
  return table;
}

/** The image at halved sizes, so that a reduced picture is made of means. */
class Levels {
  /** @param {Picture} picture */
  constructor(picture) {
    this.picture = picture;
    /** @type {{ columns: number, rows: number, pixels: Uint16Array }[]} */
    this.all = [{ columns: picture.columns, rows: picture.rows, pixels: picture.pixels }];
  }

  /** @param {number} number */
  at(number) {
    while (this.all.length <= number && Math.max(this.all[this.all.length - 1].columns, this.all[this.all.length - 1].rows) > 256) {
      const fine = this.all[this.all.length - 1];
      const columns = Math.ceil(fine.columns / 2);
      const rows = Math.ceil(fine.rows / 2);
      const pixels = new Uint16Array(columns * rows);
      for (let row = 0; row < rows; row++) {
        const upper = 2 * row * fine.columns;
        const lower = Math.min(2 * row + 1, fine.rows - 1) * fine.columns;
        for (let column = 0; column < columns; column++) {
          const left = 2 * column;
          const right = Math.min(left + 1, fine.columns - 1);
          pixels[row * columns + column] = (fine.pixels[upper + left] + fine.pixels[upper + right] + fine.pixels[lower + left] + fine.pixels[lower + right] + 2) >> 2;
        }
      }
      this.all.push({ columns, rows, pixels });
    }
    const level = Math.min(number, this.all.length - 1);
    return { ...this.all[level], level };
  }
}

/**
 * Puts a player into an element.
 * @param {HTMLElement} host
 * @param {Play} first
 * @param {Picture} picture
 * @param {Options} [options]
 */
export function openPlayer(host, first, picture, options = {}) {
  let play = first;
  let index = 0;
  let time = 0;
  let isPlaying = false;
  let isMoving = false;
  let speed = 1;
  let last = 0;
  let frame = 0;
  let isGone = false;
  /** @type {{ view: View, window: Window | null } | null} */
  let from = null;
  /** @type {Moment | null} */
  let free = null;
  /** @type {HTMLAudioElement | null} */
  let audio = null;
  let audioTurn = 0;
  const ending = new AbortController();
  const { signal } = ending;
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  const levels = new Levels(picture);
  const sheet = document.createElement("canvas");
  const sheetPen = /** @type {CanvasRenderingContext2D} */ (sheet.getContext("2d", { alpha: false }));
  /** @type {{ window: Window | null, table: Uint8Array | Uint8ClampedArray } | null} */
  let greyed = null;
  let sheetKey = "";

  /**
   * @template {keyof HTMLElementTagNameMap} Name
   * @param {Name} name
   * @param {string} [of]
   * @param {string} [text]
   */
  const make = (name, of, text) => {
    const made = document.createElement(name);
    if (of) {
      made.className = of;
    }
    if (text !== undefined) {
      made.textContent = text;
    }
    return made;
  };
  const words = play.words;
  host.classList.add("walk");
  const head = make("header", "walk-head");
  const title = make(/** @type {"h1"} */ (`h${options.level || 1}`), "walk-title");
  if (options.level !== 0) {
    head.append(title);
  }
  const place = make("p", "walk-place");
  const simulated = make("p", "walk-simulated", words.simulated);
  head.append(simulated, place);
  const stage = make("div", "walk-stage");
  const canvas = make("canvas");
  canvas.setAttribute("role", "img");
  stage.append(canvas);
  const heading = make("p", "walk-heading");
  const caption = make("p", "walk-caption");
  const band = make("div", "walk-band");
  band.append(heading, caption);
  const spoken = make("p", "walk-unseen");
  spoken.setAttribute("role", "status");
  const controls = make("div", "walk-controls");
  controls.setAttribute("role", "group");
  controls.setAttribute("aria-label", words.controls);
  /** @param {string} text @param {() => void} act */
  const button = (text, act) => {
    const made = make("button", undefined, text);
    made.type = "button";
    made.addEventListener("click", act, { signal });
    controls.append(made);
    return made;
  };
  const back = button(words.back, () => go(index - 1));
  const playing = button(words.play, () => (isPlaying ? pause() : start()));
  playing.className = "walk-play";
  const next = button(words.next, () => go(index + 1));
  const slider = make("input", "walk-time");
  slider.type = "range";
  slider.min = "0";
  slider.step = "any";
  slider.setAttribute("aria-label", words.time);
  controls.append(slider);
  const clock = make("span", "walk-clock");
  controls.append(clock);
  const speedLabel = make("label", undefined, words.speed + " ");
  const speedChoice = make("select");
  for (const each of speeds) {
    const option = make("option", undefined, `${each} ×`);
    option.value = String(each);
    option.selected = each === 1;
    speedChoice.append(option);
  }
  speedLabel.append(speedChoice);
  const stopsLabel = make("label");
  const stops = make("input");
  stops.type = "checkbox";
  stopsLabel.append(stops, " " + words.stops);
  controls.append(speedLabel, stopsLabel);
  const keys = make("p", "walk-keys", words.keys);
  const caution = make("p", "walk-caution");
  const side = make("section", "walk-side");
  const sideTitle = make("h2", undefined, words.transcript);
  sideTitle.id = `walk-transcript-${Math.round(1e9 * Math.random())}`;
  side.setAttribute("aria-labelledby", sideTitle.id);
  const list = make("ol", "walk-list");
  side.append(sideTitle, list);
  const main = make("div", "walk-main");
  main.append(stage, band, controls);
  const foot = make("footer", "walk-foot");
  foot.append(keys, caution);
  host.replaceChildren(head, main, side, foot, spoken);

  const total = () => play.walk.steps.reduce((sum, step) => sum + step.seconds, 0);
  /** @param {number} to */
  const startOf = (to) => play.walk.steps.slice(0, to).reduce((sum, step) => sum + step.seconds, 0);
  /** @param {number} seconds */
  const stamp = (seconds) => `${Math.floor(seconds / 60)}:${String(Math.floor(seconds % 60)).padStart(2, "0")}`;

  function showTexts() {
    const { walk } = play;
    title.textContent = walk.title;
    simulated.hidden = !walk.isInvented;
    caution.textContent = walk.caution;
    slider.max = String(total());
    list.replaceChildren(...walk.steps.map((step, at) => {
      const line = make("li");
      const link = make("button");
      link.type = "button";
      link.append(make("strong", undefined, step.heading), " ", make("span", undefined, step.caption));
      link.addEventListener("click", () => go(at), { signal });
      line.append(link);
      return line;
    }));
  }

  /** Moves what is shown on by one turn of the screen. @param {number} now */
  function turn(now) {
    frame = 0;
    const elapsed = Math.min(1, Math.max(0, now - last) / 1000) * speed;
    last = now;
    const step = play.walk.steps[index];
    if (isPlaying) {
      // The voice leads where there is one: pictures wait for it, never the other way round.
      const voiceTime = audio && !audio.ended && audio.readyState >= 2 ? audio.currentTime : null;
      time = voiceTime ?? (audio && !audio.ended && audio.error === null && audio.readyState < 2 ? time : time + elapsed);
      if (time >= step.seconds) {
        if (stops.checked || index === play.walk.steps.length - 1) {
          time = step.seconds;
          pause();
        } else {
          enter(index + 1, 0, false);
        }
      }
    } else if (isMoving) {
      time += elapsed;
      const way = wayOf(step);
      isMoving = time < way + drawSeconds && !calm.matches;
    }
    draw();
    if (isPlaying || isMoving) {
      ask();
    }
  }

  function ask() {
    if (!frame && !isGone) {
      frame = requestAnimationFrame(turn);
    }
  }

  function present() {
    return free ?? momentAt(play.walk, index, time, { from, isStill: calm.matches, isHurried: !isPlaying && !play.walk.steps[index].recording });
  }

  /** @param {View} view */
  function fitted(view) {
    const { pixelAspect } = play.walk.image;
    const scale = Math.min(canvas.width / view.width, canvas.height / (view.height * pixelAspect));
    const scaleY = scale * pixelAspect;
    return { scale, scaleY, left: canvas.width / 2 - (view.x + view.width / 2) * scale, top: canvas.height / 2 - (view.y + view.height / 2) * scaleY };
  }

  function draw() {
    const moment = present();
    const ratio = devicePixelRatio || 1;
    const box = stage.getBoundingClientRect();
    const width = Math.max(1, Math.round(box.width * ratio));
    const height = Math.max(1, Math.round(box.height * ratio));
    if (canvas.width !== width || canvas.height !== height) {
      canvas.width = width;
      canvas.height = height;
    }
    const pen = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d", { alpha: false }));
    pen.fillStyle = "#0e0f11";
    pen.fillRect(0, 0, width, height);
    const fit = fitted(moment.view);
    drawPicture(pen, fit, moment.window);
    drawShade(pen, fit);
    for (const { mark, share } of moment.marks) {
      drawMark(pen, mark, share, play.styles[mark.kind] ?? play.styles.evidence, fit, ratio);
    }
    for (const stroke of moment.strokes) {
      for (const [color, wide] of /** @type {[string, number][]} */ ([[casing, 7], [strokeColor, 4]])) {
        pen.beginPath();
        stroke.forEach((entry, at) => (at === 0 ? pen.moveTo : pen.lineTo).call(pen, fit.left + entry[1] * fit.scale, fit.top + entry[2] * fit.scaleY));
        pen.lineCap = pen.lineJoin = "round";
        pen.strokeStyle = color;
        pen.lineWidth = wide * ratio * 0.8;
        pen.stroke();
      }
    }
    if (moment.pointer) {
      for (const [color, wide] of /** @type {[string, number][]} */ ([[casing, 6], [strokeColor, 3]])) {
        pen.beginPath();
        pen.arc(fit.left + moment.pointer[1] * fit.scale, fit.top + moment.pointer[2] * fit.scaleY, 13 * ratio, 0, 2 * Math.PI);
        pen.strokeStyle = color;
        pen.lineWidth = wide * ratio * 0.8;
        pen.stroke();
      }
    }
    const step = play.walk.steps[index];
    const cue = isPlaying ? [...(play.cues[index] ?? [])].reverse().find((each) => each.fromSeconds <= time) : undefined;
    const said = cue?.text ?? step.caption;
    if (caption.textContent !== said) {
      caption.textContent = said;
    }
    const at = startOf(index) + Math.min(time, step.seconds);
    if (document.activeElement !== slider) {
      slider.value = String(at);
    }
    slider.setAttribute("aria-valuetext", `${stamp(at)}, ${placeWords()}`);
    const shown = `${stamp(at)} / ${stamp(total())}`;
    if (clock.textContent !== shown) {
      clock.textContent = shown;
    }
  }

  /**
   * What was not exposed is shaded: bright without telling anything, it glares in a dim room.
   * @param {CanvasRenderingContext2D} pen
   * @param {{ scale: number, scaleY: number, left: number, top: number }} fit
   */
  function drawShade(pen, fit) {
    const field = play.walk.steps.flatMap((step) => step.marks).find((mark) => mark.isClosed && mark.points.length > 2 && mark.kind.startsWith("field-"))?.points;
    if (!field) {
      return;
    }
    const { columns, rows } = play.walk.image;
    pen.beginPath();
    pen.rect(fit.left - 0.5 * fit.scale, fit.top - 0.5 * fit.scaleY, columns * fit.scale, rows * fit.scaleY);
    field.forEach(([x, y], at) => (at === 0 ? pen.moveTo : pen.lineTo).call(pen, fit.left + x * fit.scale, fit.top + y * fit.scaleY));
    pen.closePath();
    pen.fillStyle = "rgb(14 15 17 / 0.78)";
    pen.fill("evenodd");
  }

  /**
   * Only what is in sight is brought to greys, from the level whose pixels are drawn at least half and at most their own size.
   * @param {CanvasRenderingContext2D} pen
   * @param {{ scale: number, scaleY: number, left: number, top: number }} fit
   * @param {Window | null} window
   */
  function drawPicture(pen, fit, window) {
    const { columns, rows, pixels, level } = levels.at(Math.max(0, Math.floor(Math.log2(1 / fit.scale))));
    const size = 2 ** level;
    const left = Math.max(0, Math.floor(((-fit.left / fit.scale) + 0.5) / size) - 1);
    const right = Math.min(columns, Math.ceil((((canvas.width - fit.left) / fit.scale) + 0.5) / size) + 1);
    const top = Math.max(0, Math.floor(((-fit.top / fit.scaleY) + 0.5) / size) - 1);
    const bottom = Math.min(rows, Math.ceil((((canvas.height - fit.top) / fit.scaleY) + 0.5) / size) + 1);
    if (right <= left || bottom <= top) {
      return;
    }
    if (!greyed || greyed.window?.center !== window?.center || greyed.window?.width !== window?.width) {
      greyed = { window, table: greys(picture, window) };
      sheetKey = "";
    }
    const key = [level, left, right, top, bottom].join(" ");
    if (key !== sheetKey) {
      sheetKey = key;
      if (sheet.width !== right - left || sheet.height !== bottom - top) {
        sheet.width = right - left;
        sheet.height = bottom - top;
      }
      const image = new ImageData(right - left, bottom - top);
      const colors = new Uint32Array(image.data.buffer);
      const { table } = greyed;
      let to = 0;
      for (let row = top; row < bottom; row++) {
        for (let at = row * columns + left; at < row * columns + right; at++) {
          const grey = table[pixels[at]];
          colors[to++] = 0xff000000 | (grey << 16) | (grey << 8) | grey;
        }
      }
      sheetPen.putImageData(image, 0, 0);
    }
    pen.imageSmoothingEnabled = true;
    pen.imageSmoothingQuality = "high";
    pen.drawImage(sheet, fit.left + (left * size - 0.5) * fit.scale, fit.top + (top * size - 0.5) * fit.scaleY, (right - left) * size * fit.scale, (bottom - top) * size * fit.scaleY);
  }

  /**
   * @param {CanvasRenderingContext2D} pen
   * @param {Mark} mark
   * @param {number} share
   * @param {Style} style
   * @param {{ scale: number, scaleY: number, left: number, top: number }} fit
   * @param {number} ratio
   */
  function drawMark(pen, mark, share, style, fit, ratio) {
    const unit = 0.75 * ratio;
    let points = mark.points.map(([x, y]) => [fit.left + x * fit.scale, fit.top + y * fit.scaleY]);
    if (mark.isClosed && points.length > 1) {
      points.push(points[0]);
    }
    if (share < 1 && style.shape !== "square") {
      points = part(points, share);
    }
    const path = new Path2D();
    points.forEach(([x, y], at) => (at === 0 ? path.moveTo(x, y) : path.lineTo(x, y)));
    const ornament = new Path2D();
    if (share === 1) {
      addOrnament(ornament, points, style.shape, mark.isClosed, unit);
    }
    pen.lineCap = "butt";
    pen.lineJoin = "round";
    for (const isCasing of [true, false]) {
      const more = isCasing ? 3.2 : 0;
      pen.strokeStyle = isCasing ? casing : style.color;
      pen.globalAlpha = isCasing ? 0.85 : 1;
      pen.setLineDash(style.dash.map((length, at) => (length + (at % 2 === 0 ? more : -more)) * unit));
      pen.lineDashOffset = isCasing ? 1.6 * unit : 0;
      pen.lineWidth = (style.width + more) * unit;
      pen.stroke(path);
      pen.setLineDash([]);
      pen.lineWidth = (style.width * (style.shape === "corners" ? 1.5 : 0.8) + more) * unit;
      pen.stroke(ornament);
    }
    pen.globalAlpha = 1;
  }

  function placeWords() {
    return words.place.replace("{0}", String(index + 1)).replace("{1}", String(play.walk.steps.length));
  }

  /**
   * @param {number} to
   * @param {number} at time of the step
   * @param {boolean} isOwnWay whether the way begins from what is in sight
   */
  function enter(to, at, isOwnWay) {
    const here = isOwnWay ? present() : null;
    index = to;
    time = at;
    from = here ? { view: here.view, window: here.window } : null;
    free = null;
    const step = play.walk.steps[index];
    heading.textContent = step.heading;
    place.textContent = placeWords();
    back.setAttribute("aria-disabled", String(index === 0));
    next.setAttribute("aria-disabled", String(index === play.walk.steps.length - 1));
    canvas.setAttribute("aria-label", `${play.walk.title}. ${step.heading}`);
    spoken.textContent = `${placeWords()}. ${step.heading}. ${step.caption}${step.recording?.voice ? ` ${words.voice}` : ""}`;
    [...list.children].forEach((line, number) => {
      const link = /** @type {HTMLElement} */ (line.firstElementChild);
      if (number === index) {
        link.setAttribute("aria-current", "step");
        // Only the list itself is moved, never the page.
        list.scrollTop = Math.max(0, link.offsetTop - list.offsetTop - list.clientHeight / 3);
      } else {
        link.removeAttribute("aria-current");
      }
    });
    silence();
    if (isPlaying) {
      speak();
    }
    host.dataset.step = step.id;
    options.step?.(step.id);
  }

  function silence() {
    audioTurn++;
    audio?.pause();
    audio = null;
  }

  async function speak() {
    const voice = play.walk.steps[index].recording?.voice;
    if (!voice || !options.voice) {
      return;
    }
    const mine = ++audioTurn;
    const made = new Audio();
    made.preload = "auto";
    audio = made;
    try {
      made.src = await options.voice(voice);
      if (mine !== audioTurn || isGone) {
        return;
      }
      made.playbackRate = speed;
      if (time > 0) {
        made.currentTime = time;
      }
      await made.play();
    } catch {
      // A voice that cannot be played leaves the captions: time goes on without it.
      if (mine === audioTurn) {
        audio = null;
      }
    }
  }

  function start() {
    const { steps } = play.walk;
    if (time >= steps[index].seconds - 0.01) {
      enter(index === steps.length - 1 ? 0 : index + 1, 0, true);
    }
    if (!steps[index].recording && time >= wayOf(steps[index]) && !isPlaying) {
      // Looked at already at one's own pace: its words begin now, not its way.
      time = Math.min(time, wayOf(steps[index]));
    }
    free = null;
    isPlaying = true;
    host.dataset.playing = "";
    playing.textContent = words.pause;
    speak();
    last = performance.now();
    ask();
  }

  function pause() {
    isPlaying = false;
    isMoving = false;
    delete host.dataset.playing;
    playing.textContent = words.play;
    silence();
    ask();
  }

  /** Goes to a step; at one's own pace it is reached and its marks are drawn, then it stands. @param {number} to */
  function go(to) {
    const held = Math.min(play.walk.steps.length - 1, Math.max(0, to));
    if (held === index && to !== index) {
      return;
    }
    enter(held, 0, true);
    isMoving = !isPlaying;
    last = performance.now();
    ask();
  }

  slider.addEventListener("input", () => {
    let left = Number(slider.value);
    let to = 0;
    while (to < play.walk.steps.length - 1 && left >= play.walk.steps[to].seconds) {
      left -= play.walk.steps[to].seconds;
      to++;
    }
    isMoving = false;
    if (to !== index) {
      enter(to, left, false);
    } else {
      time = left;
      from = null;
      if (isPlaying) {
        silence();
        speak();
      }
    }
    ask();
  }, { signal });
  speedChoice.addEventListener("change", () => setSpeed(Number(speedChoice.value)), { signal });
  /** @param {number} to */
  function setSpeed(to) {
    speed = to;
    speedChoice.value = String(to);
    if (audio) {
      audio.playbackRate = to;
    }
  }
  host.addEventListener("keydown", (event) => onKey(event), { signal });
  /** @param {KeyboardEvent} event */
  function onKey(event) {
    const target = /** @type {HTMLElement} */ (event.target);
    if (event.ctrlKey || event.metaKey || event.altKey || target.closest("textarea, input:not([type=checkbox]):not([type=range]), select, [data-own-keys]")) {
      return;
    }
    const isSlider = target === slider;
    const isButton = target instanceof HTMLButtonElement || target instanceof HTMLInputElement;
    const at = speeds.indexOf(speed);
    /** @type {Record<string, (() => void) | undefined>} */
    const acts = {
      ArrowRight: isSlider ? undefined : () => go(index + 1),
      ArrowLeft: isSlider ? undefined : () => go(index - 1),
      PageDown: isSlider ? undefined : () => go(index + 1),
      PageUp: isSlider ? undefined : () => go(index - 1),
      Home: isSlider ? undefined : () => go(0),
      End: isSlider ? undefined : () => go(play.walk.steps.length - 1),
      " ": isButton && !isSlider ? undefined : () => (isPlaying ? pause() : start()),
      p: () => (isPlaying ? pause() : start()),
      "[": () => setSpeed(speeds[Math.max(0, at - 1)]),
      "]": () => setSpeed(speeds[Math.min(speeds.length - 1, at + 1)]),
    };
    const act = acts[event.key];
    if (act) {
      event.preventDefault();
      act();
    }
  }

  const watch = new ResizeObserver(() => ask());
  watch.observe(stage);
  calm.addEventListener("change", () => ask(), { signal });
  showTexts();
  enter(0, 0, false);
  isMoving = true;
  ask();

  return {
    canvas,
    stage,
    onKey,
    go,
    start,
    pause,
    /** What is seen now. */
    moment: present,
    /** Where a place of the screen lies on the image. @param {number} clientX @param {number} clientY @returns {[number, number]} */
    toImage(clientX, clientY) {
      const box = canvas.getBoundingClientRect();
      const fit = fitted(present().view);
      return [((clientX - box.left) * (canvas.width / box.width) - fit.left) / fit.scale, ((clientY - box.top) * (canvas.height / box.height) - fit.top) / fit.scaleY];
    },
    /** Shows what is given instead of the step, until another step is gone to; null: the step again. @param {Moment | null} moment */
    show(moment) {
      free = moment;
      ask();
    },
    /** Takes a changed walk-through and stays at a step. @param {Play} changed @param {string | null} id */
    take(changed, id) {
      const kept = id ?? play.walk.steps[index]?.id;
      play = changed;
      showTexts();
      const to = play.walk.steps.findIndex((step) => step.id === kept);
      const held = to < 0 ? Math.min(index, play.walk.steps.length - 1) : to;
      isPlaying = false;
      delete host.dataset.playing;
      playing.textContent = words.play;
      enter(held, 0, false);
      time = wayOf(play.walk.steps[held]) + drawSeconds;
      isMoving = false;
      ask();
    },
    stop() {
      isGone = true;
      silence();
      watch.disconnect();
      cancelAnimationFrame(frame);
      ending.abort();
      host.replaceChildren();
    },
  };
}

/**
 * The part of a line that is drawn first.
 * @param {number[][]} points
 * @param {number} share
 */
function part(points, share) {
  const lengths = points.slice(1).map((point, at) => Math.hypot(point[0] - points[at][0], point[1] - points[at][1]));
  let left = lengths.reduce((sum, length) => sum + length, 0) * share;
  const drawn = [points[0]];
  for (let at = 0; at < lengths.length; at++) {
    if (lengths[at] >= left) {
      const along = lengths[at] === 0 ? 0 : left / lengths[at];
      drawn.push([points[at][0] + along * (points[at + 1][0] - points[at][0]), points[at][1] + along * (points[at + 1][1] - points[at][1])]);
      break;
    }
    drawn.push(points[at + 1]);
    left -= lengths[at];
  }
  return drawn;
}

/**
 * Teeth across a line, or heavy corners.
 * @param {Path2D} path
 * @param {number[][]} points
 * @param {string} shape
 * @param {boolean} isClosed
 * @param {number} unit
 */
function addOrnament(path, points, shape, isClosed, unit) {
  if (shape === "comb") {
    let next = 5.5 * unit;
    let walked = 0;
    for (let at = 1; at < points.length; at++) {
      const [fromX, fromY] = points[at - 1];
      const [toX, toY] = points[at];
      const step = Math.hypot(toX - fromX, toY - fromY);
      for (; step > 0 && next <= walked + step; next += 11 * unit) {
        const share = (next - walked) / step;
        const x = fromX + share * (toX - fromX);
        const y = fromY + share * (toY - fromY);
        const acrossX = (-(toY - fromY) / step) * 6.5 * unit;
        const acrossY = ((toX - fromX) / step) * 6.5 * unit;
        path.moveTo(x - acrossX, y - acrossY);
        path.lineTo(x + acrossX, y + acrossY);
      }
      walked += step;
    }
  } else if (shape === "corners") {
    const corners = isClosed ? points.slice(0, -1) : points;
    corners.forEach((corner, at) => {
      /** @param {number[] | undefined} towards */
      const arm = (towards) => {
        if (towards) {
          const distance = Math.hypot(towards[0] - corner[0], towards[1] - corner[1]);
          const share = distance === 0 ? 0 : Math.min(34 * unit, 0.4 * distance) / distance;
          path.moveTo(corner[0], corner[1]);
          path.lineTo(corner[0] + share * (towards[0] - corner[0]), corner[1] + share * (towards[1] - corner[1]));
        }
      };
      arm(isClosed ? corners[(at + corners.length - 1) % corners.length] : corners[at - 1]);
      arm(isClosed ? corners[(at + 1) % corners.length] : corners[at + 1]);
    });
  }
}

/**
 * The pixels as an exported page carries them: the difference from the pixel to the left (in the first column, above), folded to above 0, high bytes before low bytes, zlib, base 64.
 * @param {string} text
 * @param {number} columns
 * @param {number} rows
 */
export async function unpack(text, columns, rows) {
  const bytes = await inflate(text);
  const count = columns * rows;
  const pixels = new Uint16Array(count);
  for (let row = 0; row < rows; row++) {
    let value = row === 0 ? 0 : pixels[(row - 1) * columns];
    for (let at = row * columns; at < (row + 1) * columns; at++) {
      const folded = (bytes[at] << 8) | bytes[count + at];
      value = (value + ((folded >>> 1) ^ -(folded & 1))) & 0xffff;
      pixels[at] = value;
    }
  }
  return pixels;
}

/** @param {string} text base 64 of a zlib stream */
export async function inflate(text) {
  const packed = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
  const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("deflate"));
  return new Uint8Array(await new Response(stream).arrayBuffer());
}

/** Opens the player of an exported page from what stands in it. */
export async function openPage() {
  /** @param {string} id */
  const read = (id) => document.getElementById(id)?.textContent?.trim() ?? "";
  const host = /** @type {HTMLElement} */ (document.getElementById("walk"));
  const play = JSON.parse(read("walk-play"));
  const { columns, rows, values, highIsDark, slope, intercept, modality } = JSON.parse(read("walk-picture"));
  const table = modality ? Float64Array.from(modality) : Float64Array.from({ length: values }, (_, value) => value * slope + intercept);
  const picture = { columns, rows, pixels: await unpack(read("walk-pixels"), columns, rows), modality: table, opened: await inflate(read("walk-greys")), highIsDark };
  /** @type {Map<string, string>} */
  const voices = new Map();
  const voice = async (/** @type {Voice} */ of) => {
    let address = voices.get(of.sha256);
    if (!address) {
      const bytes = Uint8Array.from(atob(read(`voice-${of.sha256}`)), (letter) => letter.charCodeAt(0));
      address = URL.createObjectURL(new Blob([bytes], { type: of.mediaType }));
      voices.set(of.sha256, address);
    }
    return address;
  };
  const player = openPlayer(host, play, picture, { voice });
  // Keys work wherever the focus is.
  document.addEventListener("keydown", (event) => {
    if (!host.contains(/** @type {Node} */ (event.target))) {
      player.onKey(event);
    }
  });
}
