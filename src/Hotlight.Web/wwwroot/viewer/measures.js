// Rulers and angles that a reader lays on the image: figures with their uncertainty, and how they are drawn.

/** @import { ImageFacts, Measure, PixelPoint } from "./types.js" */

/** Two places nearer than so many of their deviations have no direction. */
const leastSeparation = 3;

/**
 * @typedef {object} Reading
 * @property {number} value in mm, pixels or degrees; not a number where it cannot be told
 * @property {number} deviation one standard deviation, from where the ends lie
 * @property {"mm" | "pixels" | "°"} unit
 * @property {string} text the figure in words
 */

/**
 * The uncertainty of a place set by hand or key: half an image pixel, or half a canvas pixel where that is larger.
 * @param {number} step image columns per canvas pixel
 */
export function endDeviation(step) {
  return 0.5 * Math.max(1, step);
}

/**
 * What a ruler or an angle reads.
 * @param {Measure} measure
 * @param {ImageFacts["spacing"]} spacing
 * @returns {Reading}
 */
export function reading(measure, spacing) {
  return measure.kind === "ruler" ? rulerReading(measure, spacing) : angleReading(measure, spacing);
}

/**
 * @param {Measure} measure
 * @param {ImageFacts["spacing"]} spacing
 * @returns {Reading}
 */
function rulerReading({ points: [one, other], deviations: [ofOne, ofOther] }, spacing) {
  const scaleX = spacing?.columnMm ?? 1;
  const scaleY = spacing?.rowMm ?? 1;
  const x = (other[0] - one[0]) * scaleX;
  const y = (other[1] - one[1]) * scaleY;
  const value = Math.hypot(x, y);
  const unit = spacing ? "mm" : "pixels";
  if (value === 0) {
    return { value: NaN, deviation: NaN, unit, text: "both ends lie on the same place" };
  }
  const deviation = Math.sqrt((((x / value) * scaleX) ** 2 + ((y / value) * scaleY) ** 2) * (ofOne ** 2 + ofOther ** 2));
  return { value, deviation, unit, text: words(value, deviation, ` ${unit}`) };
}

/**
 * @param {Measure} measure
 * @param {ImageFacts["spacing"]} spacing
 * @returns {Reading}
 */
function angleReading({ points: [one, vertex, other], deviations }, spacing) {
  const scaleX = spacing?.columnMm ?? 1;
  const scaleY = spacing?.rowMm ?? 1;
  const apart = (/** @type {PixelPoint} */ point, /** @type {number} */ deviation) => Math.hypot(point[0] - vertex[0], point[1] - vertex[1]) > leastSeparation * Math.hypot(deviation, deviations[1]);
  if (!apart(one, deviations[0]) || !apart(other, deviations[2])) {
    return { value: NaN, deviation: NaN, unit: "°", text: "cannot tell: an end lies on the vertex, within its uncertainty" };
  }
  const leg = (/** @type {PixelPoint} */ point) => {
    const x = (point[0] - vertex[0]) * scaleX;
    const y = (point[1] - vertex[1]) * scaleY;
    const square = x * x + y * y;
    // The direction's change for one pixel along each axis.
    return { x, y, alongX: (-y * scaleX) / square, alongY: (x * scaleY) / square };
  };
  const a = leg(one);
  const b = leg(other);
  const value = Math.abs(Math.atan2(a.x * b.y - a.y * b.x, a.x * b.x + a.y * b.y));
  const variance = (a.alongX ** 2 + a.alongY ** 2) * deviations[0] ** 2
    + (b.alongX ** 2 + b.alongY ** 2) * deviations[2] ** 2
    + ((b.alongX - a.alongX) ** 2 + (b.alongY - a.alongY) ** 2) * deviations[1] ** 2;
  const degrees = (value * 180) / Math.PI;
  const deviation = (Math.sqrt(variance) * 180) / Math.PI;
  return { value: degrees, deviation, unit: "°", text: words(degrees, deviation, "°") };
}

/**
 * A figure to the digit that its uncertainty reaches.
 * @param {number} value
 * @param {number} deviation
 * @param {string} unit
 */
function words(value, deviation, unit) {
  const digits = Math.min(Math.max(0, Math.ceil(-Math.log10(deviation))), 2);
  return `${value.toFixed(digits)}${unit} ± ${deviation.toFixed(digits)}`;
}

/** How many points a measure has. @param {Measure["kind"]} kind */
export function pointsOf(kind) {
  return kind === "ruler" ? 2 : 3;
}

/**
 * @param {CanvasRenderingContext2D} pen
 * @param {Measure[]} measures
 * @param {(point: PixelPoint) => [number, number]} toCanvas
 * @param {ImageFacts["spacing"]} spacing
 * @param {number} ratio
 */
export function drawMeasures(pen, measures, toCanvas, spacing, ratio) {
  measures.forEach((measure, index) => {
    const points = measure.points.map(toCanvas);
    for (const [color, width] of /** @type {[string, number][]} */ ([["#0b0d10", 4.5 * ratio], ["#f4f1ea", 1.6 * ratio]])) {
      pen.strokeStyle = color;
      pen.lineWidth = width;
      pen.lineJoin = "round";
      pen.setLineDash([]);
      pen.beginPath();
      points.forEach(([x, y], place) => (place === 0 ? pen.moveTo(x, y) : pen.lineTo(x, y)));
      pen.stroke();
      for (const [place, [x, y]] of points.entries()) {
        // A ruler's ends are bars across it, an angle's are small rings.
        pen.beginPath();
        const neighbour = points[place === 0 ? 1 : place - 1];
        if (measure.kind === "ruler" && neighbour) {
          const long = Math.hypot(neighbour[0] - x, neighbour[1] - y) || 1;
          const alongX = (neighbour[0] - x) / long;
          const alongY = (neighbour[1] - y) / long;
          pen.moveTo(x - alongY * 7 * ratio, y + alongX * 7 * ratio);
          pen.lineTo(x + alongY * 7 * ratio, y - alongX * 7 * ratio);
        } else {
          pen.arc(x, y, 4 * ratio, 0, 2 * Math.PI);
        }
        pen.stroke();
      }
    }
    if (measure.kind === "angle" && points.length === 3) {
      drawArc(pen, points, ratio);
    }
    if (points.length === pointsOf(measure.kind)) {
      const [x, y] = measure.kind === "angle" ? points[1] : [(points[0][0] + points[1][0]) / 2, (points[0][1] + points[1][1]) / 2];
      label(pen, `${index + 1}: ${reading(measure, spacing).text}`, x, y, ratio);
    }
  });
}

/**
 * @param {CanvasRenderingContext2D} pen
 * @param {[number, number][]} points
 * @param {number} ratio
 */
function drawArc(pen, [one, vertex, other], ratio) {
  const from = Math.atan2(one[1] - vertex[1], one[0] - vertex[0]);
  const to = Math.atan2(other[1] - vertex[1], other[0] - vertex[0]);
  const turn = Math.atan2(Math.sin(to - from), Math.cos(to - from));
  const radius = Math.min(26 * ratio, 0.6 * Math.hypot(one[0] - vertex[0], one[1] - vertex[1]), 0.6 * Math.hypot(other[0] - vertex[0], other[1] - vertex[1]));
  for (const [color, width] of /** @type {[string, number][]} */ ([["#0b0d10", 4 * ratio], ["#f4f1ea", 1.4 * ratio]])) {
    pen.strokeStyle = color;
    pen.lineWidth = width;
    pen.beginPath();
    pen.arc(vertex[0], vertex[1], radius, from, from + turn, turn < 0);
    pen.stroke();
  }
}

/**
 * @param {CanvasRenderingContext2D} pen
 * @param {string} text
 * @param {number} x
 * @param {number} y
 * @param {number} ratio
 */
function label(pen, text, x, y, ratio) {
  pen.font = `600 ${13 * ratio}px system-ui, sans-serif`;
  const wide = pen.measureText(text).width + 12 * ratio;
  const left = Math.min(Math.max(x + 10 * ratio, 4 * ratio), pen.canvas.width - wide - 4 * ratio);
  const top = Math.min(Math.max(y + 8 * ratio, 4 * ratio), pen.canvas.height - 26 * ratio);
  pen.fillStyle = "rgba(11, 13, 16, 0.88)";
  pen.fillRect(left, top, wide, 22 * ratio);
  pen.fillStyle = "#f4f1ea";
  pen.fillText(text, left + 6 * ratio, top + 15.5 * ratio);
}
