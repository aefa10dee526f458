import { make } from '../modules/dom.js';

/** @import uPlot from '../vendor/uplot/uPlot.esm.js' */

/**
 * Two handles over a figure that choose the stretch that is fitted.
 */
export class WindowHandles {
  /** @type {uPlot | null} */
  #plot = null;

  #start = this.#make('start', 'begin of the fitted stretch');
  #end = this.#make('end', 'end of the fitted stretch');

  /** @type {[number, number]} */
  #all = [0, 1];

  /** @type {[number, number]} */
  #window = [0, 1];
  #timer = 0;
  #isHeld = false;

  /**
   * @param {{ moving: (window: [number, number]) => void, chosen: (start: number | null, end: number | null) => void }} owner told in s while a handle moves, and when
   * it was let go; null for the end of the clip
   */
  constructor(owner) {
    this.owner = owner;
  }

  /** The stretch as the handles have it, in s. */
  get window() {
    return this.#window;
  }

  /**
   * Takes another figure.
   * @param {uPlot} plot
   */
  attach(plot) {
    if (this.#plot !== plot) {
      this.#plot = plot;
      const focused = [this.#start, this.#end].find(handle => handle === document.activeElement);
      plot.over.append(this.#start, this.#end);
      focused?.focus();
    }
    this.#place();
  }

  /**
   * Takes the stretch that stands in the notebook.
   * @param {[number, number]} all times of the first and the last frame, in s
   * @param {number | null} start
   * @param {number | null} end
   */
  set(all, start, end) {
    // A move by keys that the notebook has not been told yet stands, too.
    if (this.#isHeld || this.#timer) return;
    this.#all = all;
    this.#window = [Math.max(start ?? all[0], all[0]), Math.min(end ?? all[1], all[1])];
    this.#place();
  }

  #place() {
    if (!this.#plot) return;
    [this.#start, this.#end].forEach((handle, i) => {
      const at = this.#plot?.valToPos(this.#window[i], 'x') ?? 0;
      handle.style.left = `${at}px`;
      handle.setAttribute('aria-valuemin', this.#all[0].toFixed(3));
      handle.setAttribute('aria-valuemax', this.#all[1].toFixed(3));
      handle.setAttribute('aria-valuenow', this.#window[i].toFixed(3));
      handle.setAttribute('aria-valuetext', `${this.#window[i].toFixed(3)} s`);
    });
  }

  /**
   * @param {'start' | 'end'} name
   * @param {string} label
   */
  #make(name, label) {
    const index = name === 'start' ? 0 : 1;
    const handle = make('div', { class: `handle ${name}`, role: 'slider', tabindex: 0, 'aria-label': label, 'aria-orientation': 'horizontal' });
    handle.addEventListener('pointerdown', e => {
      handle.setPointerCapture(e.pointerId);
      handle.focus();
      this.#isHeld = true;
      e.preventDefault();
      e.stopPropagation();
    });
    handle.addEventListener('pointermove', e => {
      if (!this.#isHeld || !handle.hasPointerCapture(e.pointerId) || !this.#plot) return;
      const box = this.#plot.over.getBoundingClientRect();
      this.#move(index, this.#plot.posToVal(e.clientX - box.left, 'x'));
    });
    const drop = () => {
      if (!this.#isHeld) return;
      this.#isHeld = false;
      this.#choose();
    };
    handle.addEventListener('pointerup', drop);
    handle.addEventListener('pointercancel', drop);
    for (const kind of ['mousedown', 'click', 'dblclick']) handle.addEventListener(kind, e => e.stopPropagation());
    handle.addEventListener('keydown', e => {
      const span = this.#all[1] - this.#all[0], step = e.shiftKey ? span / 1000 : span / 100;
      const to = { ArrowLeft: this.#window[index] - step, ArrowDown: this.#window[index] - step, ArrowRight: this.#window[index] + step, ArrowUp: this.#window[index] + step,
        PageDown: this.#window[index] - 10 * step, PageUp: this.#window[index] + 10 * step, Home: this.#all[0], End: this.#all[1] }[e.key];
      if (to === undefined) return;
      e.preventDefault();
      this.#move(index, to);
      clearTimeout(this.#timer);
      this.#timer = setTimeout(() => {
        this.#timer = 0;
        this.#choose();
      }, 200);
    });
    return handle;
  }

  /**
   * @param {number} index
   * @param {number} to
   */
  #move(index, to) {
    const least = (this.#all[1] - this.#all[0]) / 200;
    this.#window[index] = index === 0
      ? Math.min(Math.max(to, this.#all[0]), this.#window[1] - least)
      : Math.max(Math.min(to, this.#all[1]), this.#window[0] + least);
    this.#place();
    this.owner.moving(this.#window);
  }

  #choose() {
    const [start, end] = this.#window, [first, last] = this.#all, near = (last - first) / 2000;
    this.owner.chosen(start - first < near ? null : Number(start.toFixed(4)), last - end < near ? null : Number(end.toFixed(4)));
  }
}
