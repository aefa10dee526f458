import { make } from './dom.js';

/** Picture px shown across, and how much larger. */
const ACROSS = 23, ZOOM = 9;

/** A magnifier over a picture. */
export class Loupe {
  #canvas = make('canvas', { width: ACROSS * ZOOM, height: ACROSS * ZOOM });
  #words = make('p');
  #box = make('div', { class: 'loupe', 'aria-hidden': 'true', hidden: true }, this.#canvas, this.#words);

  /**
   * @param {import('./picture.js').Picture} picture
   * @param {() => readonly [number, number, number, number, number][]} ticks predicted ticks to draw
   */
  constructor(picture, ticks) {
    this.picture = picture;
    this.ticks = ticks;
    picture.host.append(this.#box);
  }

  hide() {
    this.#box.hidden = true;
  }

  /**
   * Shows the surroundings of a place.
   * @param {number} u
   * @param {number} v
   */
  show(u, v) {
    const { picture } = this;
    const context = this.#canvas.getContext('2d');
    if (!context || picture.canvas.width === 0) return;
    this.#box.hidden = false;
    const half = ACROSS / 2, grain = picture.canvas.width / picture.width;
    context.imageSmoothingEnabled = false;
    context.fillStyle = '#000';
    context.fillRect(0, 0, this.#canvas.width, this.#canvas.height);

    // The middle of a px lies half a px beside its edge.
    context.drawImage(picture.canvas, (u + 0.5 - half) * grain, (v + 0.5 - half) * grain, ACROSS * grain, ACROSS * grain,
      0, 0, this.#canvas.width, this.#canvas.height);
    const x = (/** @type {number} */ at) => (at - u + half) * ZOOM, y = (/** @type {number} */ at) => (at - v + half) * ZOOM;
    for (const [, tu, tv, du, dv] of this.ticks()) {
      if (Math.abs(tu - u) > 2 * ACROSS || Math.abs(tv - v) > 2 * ACROSS) continue;
      stroke(context, '#7fd0ff', [[x(tu - 8 * du), y(tv - 8 * dv)], [x(tu + 8 * du), y(tv + 8 * dv)]]);
    }
    const middle = half * ZOOM;
    for (const [a, b] of [[-1, 0], [1, 0], [0, -1], [0, 1]])
      stroke(context, '#ffe94a', [[middle + a * 5, middle + b * 5], [middle + a * 46, middle + b * 46]]);
    this.#words.textContent = `u ${u.toFixed(1)}   v ${v.toFixed(1)}`;

    // Beside the place, never over it.
    const perCss = picture.pxPerCss, cssU = (u + 0.5) / perCss, cssV = (v + 0.5) / perCss;
    const { clientHeight, parentElement } = picture.host, room = parentElement?.clientWidth ?? 0;
    this.#box.style.left = `${cssU + 32 + 212 < room ? cssU + 32 : cssU - 32 - 212}px`;
    this.#box.style.top = `${Math.min(Math.max(0, cssV - 117), Math.max(0, clientHeight - 234))}px`;
  }
}

/**
 * @param {CanvasRenderingContext2D} context
 * @param {string} colour
 * @param {[number, number][]} points
 */
function stroke(context, colour, [from, to]) {
  for (const [style, width] of /** @type {[string, number][]} */ ([['rgb(0 0 0 / 0.6)', 3.5], [colour, 1.5]])) {
    context.strokeStyle = style;
    context.lineWidth = width;
    context.beginPath();
    context.moveTo(...from);
    context.lineTo(...to);
    context.stroke();
  }
}
