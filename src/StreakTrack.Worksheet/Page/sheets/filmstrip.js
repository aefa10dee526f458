import { byId, make } from '../modules/dom.js';
import { drawBand } from '../modules/band.js';

/** Frames shown before and after the one looked at. */
const BESIDE = 4;

/** The bands of neighbouring frames, one under the other, so that an end that jumps is seen. */
export class Filmstrip {
  #rows = Array.from({ length: 2 * BESIDE + 1 }, () => {
    const number = make('span'), canvas = make('canvas', { width: 1000, height: 24 });
    const row = make('button', { type: 'button' }, number, canvas);
    return { row, number, canvas, frame: -1, drawn: '' };
  });

  /**
   * @param {import('../modules/frames.js').Frames} frames
   * @param {(frame: number) => void} chosen
   */
  constructor(frames, chosen) {
    this.frames = frames;
    for (const row of this.#rows) {
      row.row.addEventListener('click', () => chosen(row.frame));
      byId('filmstrip').append(row.row);
    }
  }

  /**
   * Shows the frames around one.
   * @param {number} frame
   * @param {number} count frames of the clip
   * @param {number} widthPx
   * @param {import('../modules/types.js').Point[]} corners of the band
   */
  show(frame, count, widthPx, corners) {
    const first = Math.max(0, Math.min(frame - BESIDE, count - this.#rows.length));
    const wanted = new Set([frame]);
    this.#rows.forEach((row, i) => {
      const k = first + i;
      row.frame = k;
      row.row.hidden = k >= count;
      if (k >= count) return;
      wanted.add(k);
      row.number.textContent = String(k);
      row.row.setAttribute('aria-label', `frame ${k}`);
      if (k === frame) row.row.setAttribute('aria-current', 'true');
      else row.row.removeAttribute('aria-current');
      const key = `${k} ${corners.flat().map(x => x.toFixed(1)).join(' ')}`;
      if (row.drawn === key) return;
      row.drawn = '';
      this.frames.get(k).then(bitmap => {
        if (row.frame !== k) return;
        row.drawn = key;
        const context = row.canvas.getContext('2d');
        if (context) drawBand(context, bitmap, widthPx, corners);
      }, () => undefined);
    });
    this.frames.keepOnly(wanted);
  }
}
