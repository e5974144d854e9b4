// Draws marks over the picture, in canvas pixels: lines keep their width at any zoom.

/** @import { Landmark, Mark, MarkStyle, PixelPoint } from "./types.js" */

/** Pixels of the screen for one pixel of a 1600-pixel picture. */
const screenShare = 0.62;

/**
 * @param {CanvasRenderingContext2D} pen
 * @param {Mark[]} marks
 * @param {Map<string, MarkStyle>} styles
 * @param {(point: PixelPoint) => [number, number]} toCanvas
 * @param {{ratio: number, casingColor: string, casingPixels: number, layers: Set<string>, evidence: Mark[], landmarks: Landmark[], aim: number[] | null, shade: {image: PixelPoint[], outline: PixelPoint[]} | null}} how
 */
export function drawMarks(pen, marks, styles, toCanvas, how) {
  pen.clearRect(0, 0, pen.canvas.width, pen.canvas.height);
  if (how.shade && how.layers.has("shade")) {
    // What lies outside the field is dimmed, not hidden: a marker there stays readable.
    pen.fillStyle = "rgba(14, 15, 17, 0.8)";
    pen.beginPath();
    for (const outline of [how.shade.image, how.shade.outline]) {
      outline.map(toCanvas).forEach(([x, y], index) => (index === 0 ? pen.moveTo(x, y) : pen.lineTo(x, y)));
      pen.closePath();
    }
    pen.fill("evenodd");
  }
  const hasEvidence = how.evidence.length > 0 && how.layers.has("evidence");
  for (const mark of marks) {
    const style = styles.get(mark.kind);
    if (style && how.layers.has(style.layer)) {
      pen.globalAlpha = hasEvidence ? 0.55 : 1;
      drawMark(pen, mark, style, toCanvas, how, 1);
    }
  }
  pen.globalAlpha = 1;
  if (hasEvidence) {
    for (const mark of how.evidence) {
      const style = styles.get(mark.kind) ?? styles.get("evidence");
      if (style) {
        drawMark(pen, mark, style, toCanvas, how, 1.7);
      }
    }
    for (const mark of how.evidence) {
      if (mark.label) {
        drawLabel(pen, mark, toCanvas, how.ratio);
      }
    }
  }
  for (const landmark of how.landmarks) {
    if (landmark.x !== null && landmark.y !== null) {
      drawLandmark(pen, toCanvas([landmark.x, landmark.y]), String(landmark.number), how.ratio);
    }
  }
  if (how.aim) {
    cross(pen, how.aim[0], how.aim[1], 16 * how.ratio, how.ratio);
  }
}

/**
 * A cross that leaves its middle free, so that the edge under it stays in sight, and its number.
 * @param {CanvasRenderingContext2D} pen
 * @param {[number, number]} at
 * @param {string} number
 * @param {number} ratio
 */
function drawLandmark(pen, [x, y], number, ratio) {
  cross(pen, x, y, 9 * ratio, ratio);
  pen.font = `600 ${12 * ratio}px system-ui, sans-serif`;
  const wide = pen.measureText(number).width + 8 * ratio;
  pen.fillStyle = "rgba(11, 13, 16, 0.85)";
  pen.fillRect(x + 7 * ratio, y - 23 * ratio, wide, 17 * ratio);
  pen.fillStyle = "#e7d6ff";
  pen.fillText(number, x + 11 * ratio, y - 10 * ratio);
}

/**
 * @param {CanvasRenderingContext2D} pen
 * @param {number} x
 * @param {number} y
 * @param {number} arm
 * @param {number} ratio
 */
function cross(pen, x, y, arm, ratio) {
  const gap = 3 * ratio;
  for (const [color, width] of /** @type {[string, number][]} */ ([["#0b0d10", 4.5 * ratio], ["#d3b3ff", 2 * ratio]])) {
    pen.strokeStyle = color;
    pen.lineWidth = width;
    pen.setLineDash([]);
    pen.beginPath();
    for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
      pen.moveTo(x + dx * gap, y + dy * gap);
      pen.lineTo(x + dx * arm, y + dy * arm);
    }
    pen.stroke();
  }
}

/**
 * @param {CanvasRenderingContext2D} pen
 * @param {Mark} mark
 * @param {MarkStyle} style
 * @param {(point: PixelPoint) => [number, number]} toCanvas
 * @param {{ratio: number, casingColor: string, casingPixels: number}} how
 * @param {number} weight
 */
function drawMark(pen, mark, style, toCanvas, how, weight) {
  const unit = screenShare * how.ratio;
  const points = mark.points.map(toCanvas);
  const width = style.width * unit * weight;
  /** @type {[number, number][][]} */
  let ornaments = [];
  if (points.length === 1) {
    const [x, y] = points[0];
    const arm = 9 * how.ratio;
    ornaments = [[[x - arm, y - arm], [x + arm, y - arm], [x + arm, y + arm], [x - arm, y + arm], [x - arm, y - arm]]];
  } else if (style.shape === "corners" && mark.closed) {
    ornaments = cornersOf(points, 21 * how.ratio);
  } else if (style.shape === "comb") {
    ornaments = teethOf(points, mark.closed, 8 * how.ratio, 7 * how.ratio);
  }
  const passes = /** @type {[string, number][]} */ ([[how.casingColor, width + 2 * how.casingPixels * unit], [style.color, width]]);
  pen.lineJoin = "round";
  for (const [color, passWidth] of passes) {
    pen.strokeStyle = color;
    pen.lineWidth = passWidth;
    if (points.length > 1) {
      pen.setLineDash(style.dash.map((length) => length * unit * Math.sqrt(weight)));
      trace(pen, points, mark.closed);
      pen.stroke();
    }
    pen.setLineDash([]);
    pen.lineWidth = style.shape === "corners" ? passWidth * 1.4 : passWidth;
    for (const line of ornaments) {
      trace(pen, line, false);
      pen.stroke();
    }
  }
}

/**
 * @param {CanvasRenderingContext2D} pen
 * @param {[number, number][]} points
 * @param {boolean} closed
 */
function trace(pen, points, closed) {
  pen.beginPath();
  points.forEach(([x, y], index) => (index === 0 ? pen.moveTo(x, y) : pen.lineTo(x, y)));
  if (closed) {
    pen.closePath();
  }
}

/**
 * @param {[number, number][]} points
 * @param {number} arm
 * @returns {[number, number][][]}
 */
function cornersOf(points, arm) {
  return points.map((corner, index) => {
    const before = points[(index + points.length - 1) % points.length];
    const after = points[(index + 1) % points.length];
    return [toward(corner, before, arm), corner, toward(corner, after, arm)];
  });
}

/**
 * @param {[number, number]} from
 * @param {[number, number]} to
 * @param {number} length
 * @returns {[number, number]}
 */
function toward(from, to, length) {
  const whole = Math.hypot(to[0] - from[0], to[1] - from[1]) || 1;
  const part = Math.min(1, length / whole);
  return [from[0] + part * (to[0] - from[0]), from[1] + part * (to[1] - from[1])];
}

/**
 * @param {[number, number][]} points
 * @param {boolean} closed
 * @param {number} length
 * @param {number} spacing
 * @returns {[number, number][][]}
 */
function teethOf(points, closed, length, spacing) {
  /** @type {[number, number][][]} */
  const teeth = [];
  let left = spacing / 2;
  const last = closed ? points.length : points.length - 1;
  for (let index = 0; index < last; index++) {
    const from = points[index];
    const to = points[(index + 1) % points.length];
    const whole = Math.hypot(to[0] - from[0], to[1] - from[1]);
    if (whole === 0) {
      continue;
    }
    const alongX = (to[0] - from[0]) / whole;
    const alongY = (to[1] - from[1]) / whole;
    let at = left;
    for (; at < whole; at += spacing) {
      const x = from[0] + at * alongX;
      const y = from[1] + at * alongY;
      teeth.push([[x - (length / 2) * -alongY, y - (length / 2) * alongX], [x + (length / 2) * -alongY, y + (length / 2) * alongX]]);
    }
    left = at - whole;
  }
  return teeth;
}

/**
 * @param {CanvasRenderingContext2D} pen
 * @param {Mark} mark
 * @param {(point: PixelPoint) => [number, number]} toCanvas
 * @param {number} ratio
 */
function drawLabel(pen, mark, toCanvas, ratio) {
  const points = mark.points.map(toCanvas);
  const right = Math.max(...points.map((point) => point[0]));
  const top = Math.min(...points.map((point) => point[1]));
  const text = mark.label ?? "";
  pen.font = `${13 * ratio}px system-ui, sans-serif`;
  const wide = pen.measureText(text).width + 12 * ratio;
  const x = Math.max(4 * ratio, Math.min(right - wide, pen.canvas.width - wide - 4 * ratio));
  const y = Math.max(4 * ratio, Math.min(top - 26 * ratio, pen.canvas.height - 26 * ratio));
  pen.fillStyle = "rgba(11, 13, 16, 0.88)";
  pen.fillRect(x, y, wide, 22 * ratio);
  pen.fillStyle = "#f4f1ea";
  pen.fillText(text, x + 6 * ratio, y + 15.5 * ratio);
}
