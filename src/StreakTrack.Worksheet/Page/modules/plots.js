import uPlot from '../vendor/uplot/uPlot.esm.js';
import { make } from './dom.js';
import { colours, onScheme } from './scheme.js';

/**
 * A figure. It is built again when its kind or the colours change, and filled again when the data change.
 *
 * @typedef {object} PlotSetup
 * @property {string} x label of the axis
 * @property {string} y
 * @property {boolean} [log]
 * @property {boolean} [zoom] whether dragging chooses a stretch to look at
 * @property {[number, number] | null} [xRange] null for that of the data
 * @property {[number | null, number | null] | null} [yRange]
 * @property {(plot: uPlot) => void} [under] draws before the points
 * @property {(plot: uPlot) => void} [over] draws after them
 * @property {() => uPlot.Series[]} series without that of x, in the present colours
 * @property {(index: number) => void} [clicked]
 * @property {(plot: uPlot) => void} [ready]
 */
export class Plot {
  /** @type {uPlot | null} */
  plot = null;

  /** @type {PlotSetup | null} */
  #setup = null;

  /** @type {uPlot.AlignedData} */
  #data = [[]];

  // Elements of their own, because drawing thousands of points again for a line that moves takes too long.
  #now = make('div', { class: 'now', 'aria-hidden': 'true', hidden: true });
  #tint = make('div', { class: 'tint', 'aria-hidden': 'true', hidden: true });

  /** @type {number | null} */
  #nowAt = null;

  /** @type {[number, number] | null} */
  #tintAt = null;

  /** @param {HTMLElement} host */
  constructor(host) {
    this.host = host;
    new ResizeObserver(() => {
      if (this.plot && host.clientWidth > 0 && (this.plot.width !== host.clientWidth || this.plot.height !== host.clientHeight))
        this.plot.setSize({ width: host.clientWidth, height: host.clientHeight });
    }).observe(host);
    onScheme(() => this.#build());
  }

  /**
   * Another figure.
   * @param {PlotSetup} setup
   * @param {uPlot.AlignedData} data
   */
  set(setup, data) {
    this.#setup = setup;
    this.#data = data;
    this.#build();
  }

  /**
   * Other data.
   * @param {uPlot.AlignedData} data
   */
  fill(data) {
    this.#data = data;
    this.plot?.setData(data);
  }

  /**
   * Points at a place of the x axis.
   * @param {number | null} x
   * @param {string} [word]
   */
  showNow(x, word = '') {
    this.#nowAt = x;
    this.#now.textContent = word;
    this.#place();
  }

  /**
   * Tints a stretch of the x axis.
   * @param {[number, number]} stretch
   */
  showStretch(stretch) {
    this.#tintAt = [...stretch];
    this.#place();
  }

  #place() {
    const { plot } = this, { min = null, max = null } = plot?.scales.x ?? {};
    this.#now.hidden = plot === null || this.#nowAt === null || min === null || max === null || this.#nowAt < min || this.#nowAt > max;
    if (plot && this.#nowAt !== null) {
      const at = plot.valToPos(this.#nowAt, 'x');
      this.#now.style.left = `${at}px`;
      this.#now.classList.toggle('left', at > plot.over.clientWidth - 90);
    }
    this.#tint.hidden = plot === null || this.#tintAt === null;
    if (plot && this.#tintAt) {
      const [from, to] = this.#tintAt.map(x => Math.min(Math.max(plot.valToPos(x, 'x'), 0), plot.over.clientWidth));
      this.#tint.style.left = `${from}px`;
      this.#tint.style.width = `${Math.max(0, to - from)}px`;
    }
  }

  /** @param {uPlot} plot */
  #laid(plot) {
    if (plot !== this.plot) return;
    this.#place();
    this.#setup?.ready?.(plot);
  }

  #build() {
    const { host } = this, setup = this.#setup;
    this.plot?.destroy();
    this.plot = null;
    if (!setup) return;
    const c = colours();
    const font = '14px Charter, "Bitstream Charter", Georgia, "Liberation Serif", serif';
    const axis = { stroke: c.ink, font, labelFont: font, grid: { stroke: c.faint, width: 1 }, ticks: { stroke: c.edge, width: 1, size: 5 } };
    const data = this.#data;
    this.plot = new uPlot({
      width: Math.max(200, host.clientWidth),
      height: Math.max(80, host.clientHeight),
      legend: { show: false },
      padding: [10, 12, 0, 0],
      cursor: {
        x: setup.clicked !== undefined, y: false, drag: { x: setup.zoom === true, y: false, setScale: setup.zoom === true },
        points: { show: setup.clicked !== undefined, size: 11, width: 2, fill: 'transparent', stroke: c.accent },
      },
      scales: {
        x: { time: false, range: (_, min, max) => setup.xRange ?? [min ?? 0, max ?? 1] },
        y: {
          distr: setup.log ? 3 : 1,
          range: (_, min, max) => rangeOf(setup, min, max),
        },
      },
      axes: [
        { ...axis, label: setup.x, labelSize: 24, size: 34 },
        { ...axis, label: setup.y, labelSize: 26, size: 56, values: setup.log ? (_, ticks) => ticks.map(logLabel) : undefined },
      ],
      series: [{}, ...setup.series()],
      hooks: { drawAxes: [u => setup.under?.(u)], draw: [u => setup.over?.(u)], setSize: [u => this.#laid(u)], setScale: [u => this.#laid(u)] },
    }, data, host);
    this.plot.over.append(this.#now);
    this.plot.under.append(this.#tint);
    this.#laid(this.plot);
    const over = this.plot.over;
    if (setup.clicked) {
      let downAt = 0;
      over.addEventListener('mousedown', e => { downAt = e.clientX; });
      over.addEventListener('click', e => {
        const at = this.plot?.cursor.idx;
        if (at !== null && at !== undefined && Math.abs(e.clientX - downAt) < 4) setup.clicked?.(at);
      });
    }
  }
}

/**
 * @param {PlotSetup} setup
 * @param {number | null} min
 * @param {number | null} max
 * @returns {[number, number]}
 */
function rangeOf(setup, min, max) {
  if (setup.log) {
    const low = setup.yRange?.[0] ?? min ?? 0.1, high = max ?? 1;
    return [Math.max(low, high * 1e-4) / 1.15, high * 1.15];
  }
  const low = setup.yRange?.[0] ?? min ?? 0, high = setup.yRange?.[1] ?? max ?? 1;
  const margin = (high - low || 1) * 0.06;
  return [setup.yRange?.[0] ?? low - margin, setup.yRange?.[1] ?? high + margin];
}

/** @param {number | null} value */
function logLabel(value) {
  if (value === null) return '';
  const lead = value / 10 ** Math.floor(Math.log10(value) + 1e-9);
  return [1, 2, 5].some(l => Math.abs(lead - l) < 1e-6) ? String(Number(value.toPrecision(1))) : '';
}

/**
 * Points of one kind.
 * @param {string} colour
 * @param {{ size?: number, open?: boolean }} [look]
 * @returns {uPlot.Series}
 */
export function points(colour, { size = 5, open = false } = {}) {
  return { paths: () => null, points: { show: true, size, width: open ? 1.4 : 0, stroke: colour, fill: open ? 'transparent' : colour } };
}

/**
 * A line through data that a figure's x does not know.
 * @param {uPlot} plot
 * @param {readonly number[]} xs
 * @param {readonly (number | null)[]} ys
 * @param {string} colour
 * @param {number} width in css px
 * @param {number[]} [dashes]
 */
export function strokeCurve(plot, xs, ys, colour, width, dashes = []) {
  const { ctx } = plot;
  clipped(plot, () => {
    ctx.strokeStyle = colour;
    ctx.lineWidth = width * devicePixelRatio;
    ctx.setLineDash(dashes.map(d => d * devicePixelRatio));
    ctx.lineJoin = 'round';
    ctx.beginPath();
    trace(plot, xs, ys, true);
    ctx.stroke();
  });
}

/**
 * The area between two curves over the same places.
 * @param {uPlot} plot
 * @param {readonly number[]} xs
 * @param {readonly number[]} low
 * @param {readonly number[]} high
 * @param {string} colour
 */
export function fillBetween(plot, xs, low, high, colour) {
  const { ctx } = plot;
  clipped(plot, () => {
    ctx.fillStyle = colour;
    ctx.beginPath();
    trace(plot, xs, high, true);
    trace(plot, [...xs].reverse(), [...low].reverse(), false);
    ctx.closePath();
    ctx.fill();
  });
}

/**
 * An upright line with a word at its head.
 * @param {uPlot} plot
 * @param {number} x
 * @param {string} colour
 * @param {string} [word]
 * @param {number[]} [dashes]
 */
export function strokeUpright(plot, x, colour, word, dashes = []) {
  const { ctx, bbox } = plot;
  const at = Math.round(plot.valToPos(x, 'x', true));
  if (!(at >= bbox.left && at <= bbox.left + bbox.width)) return;
  ctx.save();
  ctx.strokeStyle = ctx.fillStyle = colour;
  ctx.lineWidth = 1.5 * devicePixelRatio;
  ctx.setLineDash(dashes.map(d => d * devicePixelRatio));
  ctx.beginPath();
  ctx.moveTo(at, bbox.top);
  ctx.lineTo(at, bbox.top + bbox.height);
  ctx.stroke();
  if (word) {
    ctx.font = `${13 * devicePixelRatio}px Charter, "Bitstream Charter", Georgia, "Liberation Serif", serif`;
    const room = bbox.left + bbox.width - at, width = ctx.measureText(word).width + 8 * devicePixelRatio;
    ctx.textAlign = room > width ? 'left' : 'right';
    ctx.fillText(word, at + (room > width ? 5 : -5) * devicePixelRatio, bbox.top + 14 * devicePixelRatio);
  }
  ctx.restore();
}

/**
 * @param {uPlot} plot
 * @param {() => void} drawing
 */
function clipped({ ctx, bbox }, drawing) {
  ctx.save();
  ctx.beginPath();
  ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
  ctx.clip();
  drawing();
  ctx.restore();
}

/**
 * @param {uPlot} plot
 * @param {readonly number[]} xs
 * @param {readonly (number | null)[]} ys
 * @param {boolean} isFirst
 */
function trace(plot, xs, ys, isFirst) {
  let isDown = !isFirst;
  for (let i = 0; i < xs.length; i++) {
    const y = ys[i];
    if (y === null || y === undefined) {
      isDown = false;
      continue;
    }
    const at = plot.valToPos(y, 'y', true);
    const px = plot.valToPos(xs[i], 'x', true), py = Number.isFinite(at) ? at : plot.bbox.top + 2 * plot.bbox.height;
    if (isDown) plot.ctx.lineTo(px, py);
    else plot.ctx.moveTo(px, py);
    isDown = true;
  }
}
