// Draws 16-bit pixels through a display table with WebGL2. Knows nothing of pages, keys or marks.

/** @import { Frame } from "./types.js" */
/** @import { Pyramid } from "./pyramid.js" */

import { PlainPicture } from "./plain.js";

const vertexSource = `#version 300 es
void main() {
  vec2 corner = vec2(float((gl_VertexID << 1) & 2), float(gl_VertexID & 2));
  gl_Position = vec4(corner * 2.0 - 1.0, 0.0, 1.0);
}`;

// Every place is looked up in the table first and blended afterwards: blending stored values would invent greys at a table's steps.
const fragmentSource = `#version 300 es
precision highp float;
precision highp int;
precision highp usampler2D;
uniform usampler2D pixels;
uniform sampler2D table;
uniform ivec2 levelSize;
uniform int level;
uniform float levelScale;
uniform vec2 imageSize;
uniform vec2 origin;
uniform vec4 axes;
uniform float canvasHeight;
uniform vec3 surround;
uniform bool nearest;
out vec4 color;

float grey(ivec2 place) {
  uint value = texelFetch(pixels, clamp(place, ivec2(0), levelSize - 1), level).r;
  return texelFetch(table, ivec2(int(value & 255u), int(value >> 8)), 0).r;
}

void main() {
  vec2 screen = vec2(gl_FragCoord.x, canvasHeight - gl_FragCoord.y);
  vec2 place = origin + screen.x * axes.xy + screen.y * axes.zw;
  if (any(lessThan(place, vec2(0.0))) || any(greaterThanEqual(place, imageSize))) {
    color = vec4(surround, 1.0);
    return;
  }
  float shown;
  if (nearest) {
    shown = grey(ivec2(floor(place / levelScale)));
  } else {
    vec2 at = place / levelScale - 0.5;
    ivec2 first = ivec2(floor(at));
    vec2 part = at - vec2(first);
    float top = mix(grey(first), grey(first + ivec2(1, 0)), part.x);
    float bottom = mix(grey(first + ivec2(0, 1)), grey(first + ivec2(1, 1)), part.x);
    shown = mix(top, bottom, part.y);
  }
  color = vec4(vec3(shown), 1.0);
}`;

/**
 * A picture on a canvas that no one has drawn on yet: by the graphics unit where there is one, else by the processor.
 * @param {HTMLCanvasElement} canvas
 * @returns {Picture | PlainPicture}
 */
export function openPicture(canvas) {
  const gl = canvas.getContext("webgl2", { alpha: false, antialias: false, depth: false, preserveDrawingBuffer: false, failIfMajorPerformanceCaveat: true });
  return gl && !isSoftware(gl) ? new Picture(canvas) : new PlainPicture(gl ? replaced(canvas) : canvas);
}

/** @param {WebGL2RenderingContext} gl */
function isSoftware(gl) {
  // Not every browser admits the caveat.
  const named = gl.getExtension("WEBGL_debug_renderer_info");
  return named !== null && /swiftshader|llvmpipe|softpipe|software|basic render/i.test(String(gl.getParameter(named.UNMASKED_RENDERER_WEBGL)));
}

/**
 * The same canvas without a context.
 * @param {HTMLCanvasElement} canvas
 */
function replaced(canvas) {
  const fresh = /** @type {HTMLCanvasElement} */ (canvas.cloneNode(false));
  canvas.replaceWith(fresh);
  return fresh;
}

export class Picture {
  /**
   * @param {HTMLCanvasElement} canvas
   * @throws {Error} when the browser has no WebGL2
   */
  constructor(canvas) {
    const gl = canvas.getContext("webgl2", { alpha: false, antialias: false, depth: false, preserveDrawingBuffer: false });
    if (!gl) {
      throw new Error("This browser has no WebGL2.");
    }
    this.canvas = canvas;
    this.gl = gl;
    this.columns = 0;
    this.rows = 0;
    /** Halvings left out because the browser takes no texture of the full size. */
    this.leftOut = 0;
    /** Image pixels, across, of a pixel of the texture's first level. */
    this.firstScale = 1;
    this.firstColumns = 1;
    this.firstRows = 1;
    this.levels = 1;
    this.program = link(gl);
    /** @type {Record<string, WebGLUniformLocation | null>} */
    this.places = {};
    for (const name of ["pixels", "table", "levelSize", "level", "levelScale", "imageSize", "origin", "axes", "canvasHeight", "surround", "nearest"]) {
      this.places[name] = gl.getUniformLocation(this.program, name);
    }
    this.pixelTexture = gl.createTexture();
    this.tableTexture = tableTexture(gl);
    gl.bindVertexArray(gl.createVertexArray());
  }

  /** What draws it, for a reader who asks. */
  get means() {
    return "graphics unit";
  }

  /**
   * Takes the pixels and their halvings to the graphics unit.
   * @param {Pyramid} pyramid
   */
  load(pyramid) {
    const gl = this.gl;
    this.columns = pyramid.columns;
    this.rows = pyramid.rows;
    const largest = gl.getParameter(gl.MAX_TEXTURE_SIZE);
    const levels = pyramid.all();
    const first = levels.findIndex((each) => Math.max(each.columns, each.rows) <= largest);
    this.leftOut = first;
    this.firstScale = levels[first].scale;
    this.firstColumns = levels[first].columns;
    this.firstRows = levels[first].rows;
    gl.deleteTexture(this.pixelTexture);
    this.pixelTexture = gl.createTexture();
    gl.bindTexture(gl.TEXTURE_2D, this.pixelTexture);
    gl.pixelStorei(gl.UNPACK_ALIGNMENT, 1);
    gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MIN_FILTER, gl.NEAREST_MIPMAP_NEAREST);
    gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MAG_FILTER, gl.NEAREST);
    gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_WRAP_S, gl.CLAMP_TO_EDGE);
    gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_WRAP_T, gl.CLAMP_TO_EDGE);
    levels.slice(first).forEach((each, level) => {
      gl.texImage2D(gl.TEXTURE_2D, level, gl.R16UI, each.columns, each.rows, 0, gl.RED_INTEGER, gl.UNSIGNED_SHORT, each.pixels);
    });
    this.levels = levels.length - first;
    gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MAX_LEVEL, this.levels - 1);
  }

  /** @param {Uint8Array} table one grey for every pixel value */
  setTable(table) {
    const gl = this.gl;
    // Whole lines of 256 values, as far as the image's values reach.
    const lines = Math.ceil(table.length / 256);
    const used = new Uint8Array(256 * lines);
    used.set(table);
    used.fill(table[table.length - 1], table.length);
    gl.bindTexture(gl.TEXTURE_2D, this.tableTexture);
    gl.pixelStorei(gl.UNPACK_ALIGNMENT, 1);
    gl.texSubImage2D(gl.TEXTURE_2D, 0, 0, 0, 256, lines, gl.RED, gl.UNSIGNED_BYTE, used);
  }

  /**
   * @param {Frame} frame
   * @param {[number, number, number]} surround 0 to 1
   * @param {boolean} moving whether speed counts more than smoothness
   */
  draw(frame, surround, moving) {
    const gl = this.gl;
    const wanted = Math.floor(Math.log2(Math.max(frame.step * (moving ? 1.42 : 1.001), 1)));
    const level = Math.min(Math.max(wanted - Math.log2(this.firstScale), 0), this.levels - 1);
    const whole = this.firstScale === 1 && frame.step === 1 && Number.isInteger(frame.originX) && Number.isInteger(frame.originY);
    gl.viewport(0, 0, this.canvas.width, this.canvas.height);
    gl.useProgram(this.program);
    gl.activeTexture(gl.TEXTURE0);
    gl.bindTexture(gl.TEXTURE_2D, this.pixelTexture);
    gl.activeTexture(gl.TEXTURE1);
    gl.bindTexture(gl.TEXTURE_2D, this.tableTexture);
    gl.activeTexture(gl.TEXTURE0);
    gl.uniform1i(this.places.pixels, 0);
    gl.uniform1i(this.places.table, 1);
    gl.uniform2i(this.places.levelSize, Math.max(1, this.firstColumns >> level), Math.max(1, this.firstRows >> level));
    gl.uniform1i(this.places.level, level);
    gl.uniform1f(this.places.levelScale, this.firstScale * 2 ** level);
    gl.uniform2f(this.places.imageSize, this.columns, this.rows);
    gl.uniform2f(this.places.origin, frame.originX, frame.originY);
    gl.uniform4f(this.places.axes, frame.rightX, frame.rightY, frame.downX, frame.downY);
    gl.uniform1f(this.places.canvasHeight, this.canvas.height);
    gl.uniform3f(this.places.surround, surround[0], surround[1], surround[2]);
    gl.uniform1i(this.places.nearest, moving || whole || frame.step < 1 / 6 ? 1 : 0);
    gl.drawArrays(gl.TRIANGLES, 0, 3);
  }

  /**
   * The greys on the canvas; only right after it was drawn.
   * @param {number} x canvas pixels
   * @param {number} y
   * @param {number} width
   * @param {number} height
   * @returns {number[]}
   */
  drawn(x, y, width, height) {
    const gl = this.gl;
    const bytes = new Uint8Array(4 * width * height);
    gl.readPixels(x, this.canvas.height - y - height, width, height, gl.RGBA, gl.UNSIGNED_BYTE, bytes);
    return Array.from({ length: width * height }, (_, place) => bytes[4 * ((height - 1 - Math.floor(place / width)) * width + (place % width))]);
  }

  /** Frees what the graphics unit holds. */
  close() {
    this.gl.deleteTexture(this.pixelTexture);
    this.gl.deleteTexture(this.tableTexture);
    this.gl.getExtension("WEBGL_lose_context")?.loseContext();
  }
}

/** @param {WebGL2RenderingContext} gl */
function link(gl) {
  const program = gl.createProgram();
  for (const [kind, source] of /** @type {[number, string][]} */ ([[gl.VERTEX_SHADER, vertexSource], [gl.FRAGMENT_SHADER, fragmentSource]])) {
    const shader = gl.createShader(kind);
    if (!shader) {
      throw new Error("The browser's graphics were lost; reload the page.");
    }
    gl.shaderSource(shader, source);
    gl.compileShader(shader);
    if (!gl.getShaderParameter(shader, gl.COMPILE_STATUS)) {
      throw new Error("The browser's graphics refused the picture program: " + gl.getShaderInfoLog(shader));
    }
    gl.attachShader(program, shader);
  }
  gl.linkProgram(program);
  if (!gl.getProgramParameter(program, gl.LINK_STATUS)) {
    throw new Error("The browser's graphics refused the picture program: " + gl.getProgramInfoLog(program));
  }
  return program;
}

/** @param {WebGL2RenderingContext} gl */
function tableTexture(gl) {
  const texture = gl.createTexture();
  gl.bindTexture(gl.TEXTURE_2D, texture);
  gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MIN_FILTER, gl.NEAREST);
  gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MAG_FILTER, gl.NEAREST);
  gl.texImage2D(gl.TEXTURE_2D, 0, gl.R8, 256, 256, 0, gl.RED, gl.UNSIGNED_BYTE, null);
  return texture;
}
