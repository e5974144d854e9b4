// Shapes shared by the viewer's modules; type comments only, checked by tsc --checkJs.

/** @typedef {[number, number]} PixelPoint x to the right, y down, the centre of the first pixel at [0, 0] */

/**
 * @typedef {object} Frame where the image lies on a canvas; places from the image's left and top edge, in pixels
 * @property {number} originX image place at the canvas's upper left corner
 * @property {number} originY
 * @property {number} rightX what one canvas pixel to the right adds to x
 * @property {number} rightY what it adds to y
 * @property {number} downX what one canvas pixel down adds to x
 * @property {number} downY what it adds to y
 * @property {number} step image columns per canvas pixel
 */

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
 * @typedef {object} WindowChoice a window from the image's own statistics
 * @property {string} id
 * @property {string} label what it spreads, in few words
 * @property {string} detail the rule, one sentence; or why there is none
 * @property {string} key
 * @property {DisplayWindow | null} window null where the image does not give it
 */

/**
 * @typedef {object} LinearSignal what a pixel value says of the x-ray intensity at the receptor
 * @property {Float64Array | null} byValue the signal of every pixel value, not a number where there is none; null where nothing gives a relation
 * @property {boolean} isKerma whether it is air kerma in µGy; otherwise its unit is unknown
 * @property {string} basis what it rests on, or why there is none
 */

/**
 * @typedef {object} ValueHistogram counts in equal bins of modality values; what lies beyond is counted in the end bins
 * @property {number} from lower edge of the first bin
 * @property {number} binWidth
 * @property {number[]} anatomy pixels of the anatomy in each bin
 */

/**
 * @typedef {object} ImageFacts
 * @property {string} pixelsUrl 16-bit little-endian pixels, row by row; with ?scale=2, 4, 8 … rounded means of blocks of so many pixels a side, whole blocks only
 * @property {number} coarseScale the scale that is fetched first
 * @property {string} tableUrl one displayed grey (0 to 255) for every pixel value: how the image is shown at first
 * @property {string} modalityUrl one 64-bit float for every pixel value: its modality value
 * @property {string} signalUrl one 64-bit float for every pixel value: its linear signal; no content, with the reason in a header, where there is none
 * @property {number} columns
 * @property {number} rows
 * @property {number} pixelMaximum largest pixel value
 * @property {[number, number] | null} padding pixel values from and to that are padding, not image
 * @property {boolean} highIsDark whether the highest value after windowing is shown black
 * @property {DisplayWindow} window the window the image is shown with at first, or the nearest to its table
 * @property {WindowChoice[]} choices
 * @property {ValueHistogram | null} histogram of the anatomy; null where it was not found
 * @property {{ columnMm: number, rowMm: number } | null} spacing between columns and between rows, at the receptor; null where it is not known
 * @property {string} spacingBasis where the spacing comes from, or why there is none
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

/**
 * @typedef {object} SharedView how a viewer stands, for another one to follow. With the viewer from `viewerOf(host)`: `viewer.onView(callback)` tells it after each change that a reader makes, `viewer.setView(view)` takes it.
 * Every member may be left out when it is set: what is left out stays. Millimetres go before shares where both viewers know their spacing.
 * @property {number | null} [centreMmX] the place in the middle of the canvas, in mm at the receptor to the right of the stored image's middle; null without spacing
 * @property {number | null} [centreMmY] the same, down
 * @property {number} [centreShareX] the same place as a share of the image's width, 0 at its left edge, 1 at its right
 * @property {number} [centreShareY] as a share of its height
 * @property {number | null} [mmPerCanvasPixel] mm at the receptor on one canvas pixel; null without spacing
 * @property {number} [sharePerCanvasPixel] share of the image's width on one canvas pixel
 * @property {DisplayWindow} [window] in modality values: the same greys for the same values
 * @property {{ shift: number, factor: number }} [windowChange] the window against the one the image was opened with: the centre's shift in widths of that window, and the width's factor. Linked viewers use this one, so that each keeps the brightness it was opened with
 * @property {boolean} [inverted]
 */

/**
 * @typedef {object} Measure a ruler or an angle that a reader laid on the image
 * @property {"ruler" | "angle"} kind
 * @property {PixelPoint[]} points a ruler's two ends; a point on one leg, the vertex, a point on the other leg
 * @property {number[]} deviations one standard deviation of each point in each direction, in pixels
 */

export {};
