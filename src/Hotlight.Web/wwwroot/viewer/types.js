// Shapes shared by the viewer's modules; type comments only, checked by tsc --checkJs.

/** @typedef {[number, number]} PixelPoint x to the right, y down, the centre of the first pixel at [0, 0] */

/**
 * @typedef {object} Mark
 * @property {string} kind name of its style
 * @property {PixelPoint[]} points
 * @property {boolean} closed
 * @property {string} [label] words beside it
 */

/**
 * @typedef {object} MarkStyle
 * @property {string} kind
 * @property {string} label
 * @property {string} layer which toggle it belongs to
 * @property {string} color
 * @property {number} width in pixels of a 1600-pixel picture
 * @property {number[]} dash in pixels of a 1600-pixel picture
 * @property {string} shape "line", "corners", "comb" or "square"
 */

/**
 * @typedef {object} DisplayWindow
 * @property {number} center in modality values
 * @property {number} width in modality values
 * @property {"linear" | "linear-exact" | "sigmoid"} function
 */

/**
 * @typedef {object} ImageFacts
 * @property {string} pixelsUrl 16-bit little-endian pixels, row by row
 * @property {string} tableUrl one displayed grey (0 to 255) for every pixel value: how the image is shown at first
 * @property {string} modalityUrl one 32-bit float for every pixel value: its modality value
 * @property {number} columns
 * @property {number} rows
 * @property {number} pixelMaximum largest pixel value
 * @property {boolean} highIsDark whether the highest value after windowing is shown black
 * @property {DisplayWindow} window the window the image is shown with at first, or the nearest to its table
 * @property {Mark[]} marks
 * @property {MarkStyle[]} styles
 * @property {PixelPoint[] | null} field outline of the exposed field, null where it cannot be told
 * @property {string} casingColor
 * @property {number} casingPixels
 */

/**
 * @typedef {object} Landmark
 * @property {string} id
 * @property {string} label
 * @property {number} number as in the list beside the image
 * @property {number | null} x image place, in pixels; null while it is not marked
 * @property {number | null} y
 */

export {};
