// Draws 16-bit pixels through a display table with WebGL2. Knows nothing of pages, keys or marks.

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
uniform sampler2D lensTable;
uniform ivec2 levelSize;
uniform int level;
uniform float levelScale;
uniform vec2 imageSize;
uniform vec2 origin;
uniform float step;
uniform float canvasHeight;
uniform vec3 lens;
uniform vec3 surround;
uniform bool nearest;
out vec4 color;

float grey(ivec2 place, bool inLens) {
  uint value = texelFetch(pixels, clamp(place, ivec2(0), levelSize - 1), level).r;
  ivec2 entry = ivec2(int(value & 255u), int(value >> 8));
  return inLens ? texelFetch(lensTable, entry, 0).r : texelFetch(table, entry, 0).r;
}

void main() {
  vec2 screen = vec2(gl_FragCoord.x, canvasHeight - gl_FragCoord.y);
  vec2 place = origin + screen * step;
  if (any(lessThan(place, vec2(0.0))) || any(greaterThanEqual(place, imageSize))) {
    color = vec4(surround, 1.0);
    return;
  }
  float fromLens = distance(screen, lens.xy);
  bool inLens = fromLens < lens.z;
  float shown;
  if (nearest) {
    shown = grey(ivec2(floor(place / levelScale)), inLens);
  } else {
    vec2 at = place / levelScale - 0.5;
    ivec2 first = ivec2(floor(at));
    vec2 part = at - vec2(first);
    float top = mix(grey(first, inLens), grey(first + ivec2(1, 0), inLens), part.x);
    float bottom = mix(grey(first + ivec2(0, 1), inLens), grey(first + ivec2(1, 1), inLens), part.x);
    shown = mix(top, bottom, part.y);
  }
  color = vec4(vec3(shown), 1.0);
}`;

/**
 * @typedef {object} View
 * @property {number} originX image place at the canvas's left edge, in pixels from the image's left edge
 * @property {number} originY image place at the canvas's top edge
 * @property {number} step image pixels per canvas pixel
 */

export class Picture {
  /**
   * @param {HTMLCanvasElement} canvas
   * @throws {Error} when the browser has no WebGL2
   */
  constructor(canvas) {
    const gl = canvas.getContext("webgl2", { alpha: false, antialias: false, depth: false, preserveDrawingBuffer: false });
    if (!gl) {
      throw new Error("This browser has no WebGL2, which the bench needs to show 16-bit pixels.");
    }
    this.canvas = canvas;
    this.gl = gl;
    this.columns = 0;
    this.rows = 0;
    /** Halvings left out because the browser takes no texture of the full size. */
    this.leftOut = 0;
    this.levels = 1;
    this.program = link(gl);
    /** @type {Record<string, WebGLUniformLocation | null>} */
    this.places = {};
    for (const name of ["pixels", "table", "lensTable", "levelSize", "level", "levelScale", "imageSize", "origin", "step", "canvasHeight", "lens", "surround", "nearest"]) {
      this.places[name] = gl.getUniformLocation(this.program, name);
    }
    this.pixelTexture = gl.createTexture();
    this.tableTexture = tableTexture(gl);
    this.lensTexture = tableTexture(gl);
    gl.bindVertexArray(gl.createVertexArray());
  }

  /**
   * Takes the pixels and their halvings to the graphics unit.
   * @param {Uint16Array} pixels
   * @param {number} columns
   * @param {number} rows
   */
  load(pixels, columns, rows) {
    const gl = this.gl;
    this.columns = columns;
    this.rows = rows;
    const largest = gl.getParameter(gl.MAX_TEXTURE_SIZE);
    let levelPixels = pixels;
    let levelColumns = columns;
    let levelRows = rows;
    this.leftOut = 0;
    while (Math.max(levelColumns, levelRows) > largest) {
      levelPixels = halve(levelPixels, levelColumns, levelRows);
      levelColumns = Math.max(1, levelColumns >> 1);
      levelRows = Math.max(1, levelRows >> 1);
      this.leftOut++;
    }
    this.levelColumns = levelColumns;
    this.levelRows = levelRows;
    gl.deleteTexture(this.pixelTexture);
    this.pixelTexture = gl.createTexture();
    gl.bindTexture(gl.TEXTURE_2D, this.pixelTexture);
    gl.pixelStorei(gl.UNPACK_ALIGNMENT, 1);
    gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MIN_FILTER, gl.NEAREST_MIPMAP_NEAREST);
    gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MAG_FILTER, gl.NEAREST);
    gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_WRAP_S, gl.CLAMP_TO_EDGE);
    gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_WRAP_T, gl.CLAMP_TO_EDGE);
    let level = 0;
    for (;;) {
      gl.texImage2D(gl.TEXTURE_2D, level, gl.R16UI, levelColumns, levelRows, 0, gl.RED_INTEGER, gl.UNSIGNED_SHORT, levelPixels);
      if (levelColumns === 1 && levelRows === 1) {
        break;
      }
      levelPixels = halve(levelPixels, levelColumns, levelRows);
      levelColumns = Math.max(1, levelColumns >> 1);
      levelRows = Math.max(1, levelRows >> 1);
      level++;
    }
    this.levels = level + 1;
    gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MAX_LEVEL, level);
  }

  /** @param {Uint8Array} table one grey for every pixel value */
  setTable(table) {
    upload(this.gl, this.tableTexture, table);
  }

  /** @param {Uint8Array} table one grey for every pixel value, under the lens */
  setLensTable(table) {
    upload(this.gl, this.lensTexture, table);
  }

  /**
   * @param {View} view
   * @param {{x: number, y: number, radius: number} | null} lens in canvas pixels
   * @param {[number, number, number]} surround 0 to 1
   */
  draw(view, lens, surround) {
    const gl = this.gl;
    const wanted = Math.max(0, Math.floor(Math.log2(Math.max(view.step, 1)) + 0.001));
    const level = Math.min(Math.max(wanted - this.leftOut, 0), this.levels - 1);
    gl.viewport(0, 0, this.canvas.width, this.canvas.height);
    gl.useProgram(this.program);
    gl.activeTexture(gl.TEXTURE0);
    gl.bindTexture(gl.TEXTURE_2D, this.pixelTexture);
    gl.activeTexture(gl.TEXTURE1);
    gl.bindTexture(gl.TEXTURE_2D, this.tableTexture);
    gl.activeTexture(gl.TEXTURE2);
    gl.bindTexture(gl.TEXTURE_2D, this.lensTexture);
    gl.activeTexture(gl.TEXTURE0);
    gl.uniform1i(this.places.pixels, 0);
    gl.uniform1i(this.places.table, 1);
    gl.uniform1i(this.places.lensTable, 2);
    gl.uniform2i(this.places.levelSize, Math.max(1, (this.levelColumns ?? 1) >> level), Math.max(1, (this.levelRows ?? 1) >> level));
    gl.uniform1i(this.places.level, level);
    gl.uniform1f(this.places.levelScale, 2 ** (level + this.leftOut));
    gl.uniform2f(this.places.imageSize, this.columns, this.rows);
    gl.uniform2f(this.places.origin, view.originX, view.originY);
    gl.uniform1f(this.places.step, view.step);
    gl.uniform1f(this.places.canvasHeight, this.canvas.height);
    gl.uniform3f(this.places.lens, lens ? lens.x : -1e6, lens ? lens.y : -1e6, lens ? lens.radius : 0);
    gl.uniform3f(this.places.surround, surround[0], surround[1], surround[2]);
    gl.uniform1i(this.places.nearest, view.step < 1 / 6 ? 1 : 0);
    gl.drawArrays(gl.TRIANGLES, 0, 3);
  }

  /** Frees what the graphics unit holds. */
  close() {
    this.gl.deleteTexture(this.pixelTexture);
    this.gl.deleteTexture(this.tableTexture);
    this.gl.deleteTexture(this.lensTexture);
    this.gl.getExtension("WEBGL_lose_context")?.loseContext();
  }
}

/**
 * Half the size: each pixel the rounded mean of four.
 * @param {Uint16Array} pixels
 * @param {number} columns
 * @param {number} rows
 * @returns {Uint16Array}
 */
export function halve(pixels, columns, rows) {
  const halfColumns = Math.max(1, columns >> 1);
  const halfRows = Math.max(1, rows >> 1);
  const half = new Uint16Array(halfColumns * halfRows);
  const right = columns > 1 ? 1 : 0;
  const below = rows > 1 ? columns : 0;
  for (let row = 0; row < halfRows; row++) {
    let from = 2 * row * columns;
    let to = row * halfColumns;
    for (let column = 0; column < halfColumns; column++) {
      half[to++] = (pixels[from] + pixels[from + right] + pixels[from + below] + pixels[from + below + right] + 2) >> 2;
      from += 2;
    }
  }
  return half;
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

/**
 * @param {WebGL2RenderingContext} gl
 * @param {WebGLTexture | null} texture
 * @param {Uint8Array} table
 */
function upload(gl, texture, table) {
  const whole = new Uint8Array(65536);
  whole.set(table);
  whole.fill(table[table.length - 1], table.length);
  gl.bindTexture(gl.TEXTURE_2D, texture);
  gl.pixelStorei(gl.UNPACK_ALIGNMENT, 1);
  gl.texSubImage2D(gl.TEXTURE_2D, 0, 0, 0, 256, 256, gl.RED, gl.UNSIGNED_BYTE, whole);
}
