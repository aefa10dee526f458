/**
 * The band in which the streak is looked for, and what a picture holds of it.
 * @typedef {import('./types.js').Point} Point
 */

/**
 * The band of other settings, from the one that the program laid.
 * @param {{ corners: Point[], offset_px: number, half_width_px: number }} band
 * @param {number} offset in px beside the line through the marks
 * @param {number} half half its width, in px
 * @returns {Point[]} corners in order around it
 */
export function bandOf({ corners, offset_px, half_width_px }, offset, half) {
  const [a, b, , d] = corners;
  const across = Math.hypot(d[0] - a[0], d[1] - a[1]) || 1, nu = (d[0] - a[0]) / across, nv = (d[1] - a[1]) / across;
  const from = offset - half - (offset_px - half_width_px), to = offset + half - (offset_px - half_width_px);
  /** @type {(p: Point, by: number) => Point} */
  const moved = ([u, v], by) => [u + by * nu, v + by * nv];
  return [moved(a, from), moved(b, from), moved(b, to), moved(a, to)];
}

/**
 * Draws the band of a picture straightened, its beginning at the left.
 * @param {CanvasRenderingContext2D} context
 * @param {ImageBitmap} bitmap
 * @param {number} widthPx width of the clip's picture, in px
 * @param {Point[]} corners
 */
export function drawBand(context, bitmap, widthPx, corners) {
  const { canvas } = context, grain = bitmap.width / widthPx;
  const [a, b, , d] = corners;
  const origin = [(a[0] + 0.5) * grain, (a[1] + 0.5) * grain];
  const along = [(b[0] - a[0]) * grain / canvas.width, (b[1] - a[1]) * grain / canvas.width];
  const across = [(d[0] - a[0]) * grain / canvas.height, (d[1] - a[1]) * grain / canvas.height];
  context.setTransform(1, 0, 0, 1, 0, 0);
  context.fillStyle = '#000';
  context.fillRect(0, 0, canvas.width, canvas.height);

  // From canvas to picture px, turned round.
  const det = along[0] * across[1] - across[0] * along[1];
  if (Math.abs(det) < 1e-12) return;
  const [ia, ib, ic, id] = [across[1] / det, -along[1] / det, -across[0] / det, along[0] / det];
  context.setTransform(ia, ib, ic, id, -(ia * origin[0] + ic * origin[1]), -(ib * origin[0] + id * origin[1]));
  context.drawImage(bitmap, 0, 0);
  context.setTransform(1, 0, 0, 1, 0, 0);
}

/**
 * Colour along the band as the picture shows it: at each place the most coloured px across the band, where the beam stands out from a ruler and from
 * most rooms. It shows where a band lies before anything is measured.
 * @param {ImageBitmap} bitmap
 * @param {number} widthPx
 * @param {Point[]} corners
 * @returns {{ places: number[], colour: number[] }} in px along the band, and as part of full brightness
 */
export function colourAlong(bitmap, widthPx, corners) {
  const [a, b] = corners, length = Math.hypot(b[0] - a[0], b[1] - a[1]);
  const canvas = document.createElement('canvas');
  canvas.width = Math.max(2, Math.min(960, Math.round(length)));
  canvas.height = 96;
  const context = canvas.getContext('2d', { willReadFrequently: true });
  if (!context) return { places: [], colour: [] };
  drawBand(context, bitmap, widthPx, corners);
  const { data } = context.getImageData(0, 0, canvas.width, canvas.height);
  const places = [], colour = [];
  for (let x = 0; x < canvas.width; x++) {
    let most = 0;
    for (let y = 0; y < canvas.height; y++) {
      const at = 4 * (y * canvas.width + x), [red, green, blue] = [data[at], data[at + 1], data[at + 2]];
      most = Math.max(most, Math.max(red, green, blue) - Math.min(red, green, blue));
    }
    places.push(x / (canvas.width - 1) * length);
    colour.push(most / 255);
  }
  return { places, colour };
}
