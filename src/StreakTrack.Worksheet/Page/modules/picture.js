import { draw, make } from './dom.js';

/**
 * A picture of the clip with drawings over it, in px of the displayed picture.
 */
export class Picture {
  /** Drawings over the picture. */
  overlay = draw('svg', { preserveAspectRatio: 'none', 'aria-hidden': 'true' });

  canvas = make('canvas', { role: 'img' });
  width = 0;
  height = 0;

  #waiting = make('p', { class: 'waiting' });

  /**
   * @param {HTMLElement} host
   * @param {() => void} [resized] called when the picture has another size on the page
   */
  constructor(host, resized) {
    this.host = host;
    host.append(this.canvas, this.overlay, this.#waiting);
    this.#waiting.hidden = true;
    new ResizeObserver(() => resized?.()).observe(host);
  }

  /**
   * Takes the size of a clip.
   * @param {number} width
   * @param {number} height
   */
  size(width, height) {
    if (width === this.width && height === this.height) return;
    [this.width, this.height] = [width, height];
    this.host.style.aspectRatio = `${width} / ${height}`;
    this.host.style.maxWidth = `calc(84vh * ${width / height})`;
    this.host.closest('.frame')?.setAttribute('data-upright', String(height > width));
    this.overlay.setAttribute('viewBox', `-0.5 -0.5 ${width} ${height}`);
  }

  /** Px of the clip for one px of the page. */
  get pxPerCss() {
    return this.width / Math.max(1, this.host.clientWidth);
  }

  /**
   * The place under the pointer.
   * @param {{ clientX: number, clientY: number }} event
   * @returns {[number, number]}
   */
  placeOf(event) {
    const box = this.host.getBoundingClientRect();
    return [(event.clientX - box.left) / box.width * this.width - 0.5, (event.clientY - box.top) / box.height * this.height - 0.5];
  }

  /**
   * Puts an element at a place.
   * @param {HTMLElement} element
   * @param {number} u
   * @param {number} v
   */
  put(element, u, v) {
    element.style.left = `${(u + 0.5) / this.width * 100}%`;
    element.style.top = `${(v + 0.5) / this.height * 100}%`;
  }

  /**
   * Shows a picture.
   * @param {ImageBitmap} bitmap
   * @param {string} label
   */
  paint(bitmap, label) {
    this.canvas.width = bitmap.width;
    this.canvas.height = bitmap.height;
    this.canvas.getContext('2d')?.drawImage(bitmap, 0, 0);
    this.canvas.setAttribute('aria-label', label);
    this.wait(null);
  }

  /**
   * Says what is waited for, or that nothing is.
   * @param {string | null} words
   */
  wait(words) {
    this.#waiting.hidden = words === null;
    this.#waiting.textContent = words;
  }

  /**
   * A line over the picture, with a dark edge so that it is seen on any ground.
   * @param {string} name its class
   * @param {string} path
   * @param {number} [cssWidth]
   * @param {string | null} [dashes]
   */
  line(name, path, cssWidth = 1.5, dashes = null) {
    const g = draw('g');
    g.append(
      draw('path', { class: 'halo', d: path, 'stroke-width': cssWidth + 2, 'vector-effect': 'non-scaling-stroke' }),
      draw('path', { class: name, d: path, 'stroke-width': cssWidth, 'vector-effect': 'non-scaling-stroke', 'stroke-dasharray': dashes }));
    return g;
  }

  /**
   * Words over the picture.
   * @param {string} name its class
   * @param {string} words
   * @param {number} u
   * @param {number} v
   * @param {number} [cssSize]
   */
  words(name, words, u, v, cssSize = 14) {
    const size = cssSize * this.pxPerCss;
    return draw('text', { class: name, x: u, y: v, 'font-size': size, 'stroke-width': size / 4 }, words);
  }
}

/**
 * A closed path through points.
 * @param {readonly import('./types.js').Point[]} points
 */
export function closedPath(points) {
  return points.length === 0 ? '' : `M${points.map(p => p.map(x => x.toFixed(2)).join(' ')).join('L')}Z`;
}
