import { button, byId, element, input, make, number, show, table } from '../modules/dom.js';
import { fillBetween, Plot, points, strokeCurve, strokeUpright } from '../modules/plots.js';
import { colours } from '../modules/scheme.js';
import { describe, kindsOf, seriesOfKinds } from './streak.js';
import { WindowHandles } from './window-handles.js';

/** @import uPlot from '../vendor/uplot/uPlot.esm.js' */

const GIVENS = /** @type {const} */ (['frequency_hz', 'frequency_uncertainty_hz', 'distance_mm', 'distance_uncertainty_mm', 'switch_time_s', 'time_scale']);

/** The fourth sheet: which curve, over which stretch. */
export class FitSheet {
  #plot = new Plot(byId('fit-plot'));
  #residuals = new Plot(byId('residual-plot'));
  #handles = new WindowHandles({
    moving: () => this.#showPlaces(),
    chosen: (start, end) => {
      this.#letGo = performance.now();
      this.desk.setOptions({ window_start_s: start, window_end_s: end });
    },
  });

  #kind = '';
  #letGo = 0;

  /** @param {import('../worksheet.js').Desk} desk */
  constructor(desk) {
    this.desk = desk;
    const model = element('model', HTMLSelectElement);
    model.addEventListener('change', () => desk.setOptions({ model: model.value }));
    button('window-all').addEventListener('click', () => desk.setOptions({ window_start_s: null, window_end_s: null }));
    for (const choice of document.querySelectorAll('input[name=amplitude-scale]'))
      choice.addEventListener('change', () => this.#draw());
    for (const name of GIVENS) {
      input(name).addEventListener('change', () => this.#give(name));
    }
  }

  /** @param {import('../modules/types.js').State} state */
  update(state) {
    const { series } = this.desk.notebook;
    const isThere = state.streak?.measured !== null && state.streak?.measured !== undefined && !state.streak.outdated && series !== null && series.frame.length > 0;
    show(byId('fit-waits'), !isThere);
    show(byId('fit-work'), isThere);
    if (!isThere || !series) {
      this.#kind = '';
      return;
    }
    this.#fillChoices(state);
    this.#handles.set([series.time_s[0], series.time_s.at(-1) ?? 1], state.options.window_start_s, state.options.window_end_s);
    this.#draw();
    this.#showPlaces();
    this.#write(state);
    if (this.#letGo > 0 && series.fit) {
      byId('fit-plot').dataset.refitMs = (performance.now() - this.#letGo).toFixed(0);
      this.#letGo = 0;
    }
  }

  /** The frame looked at has changed. */
  frameChanged() {
    this.#showPlaces();
  }

  #showPlaces() {
    for (const plot of [this.#plot, this.#residuals]) {
      plot.showStretch(this.#handles.window);
      plot.showNow(this.desk.timeOfFrame());
    }
  }

  /** @param {import('../modules/types.js').State} state */
  #fillChoices({ models, options }) {
    const model = element('model', HTMLSelectElement);
    if (model.options.length !== models.length + 1)
      model.replaceChildren(make('option', { value: 'auto' }, 'the one that the data ask for'), ...models.map(m => make('option', { value: m.name }, m.label)));
    model.value = options.model;
    for (const name of GIVENS) {
      const field = input(name);
      const value = options[name], text = value === null || (name.includes('uncertainty') && value === 0) ? '' : String(value);
      field.defaultValue = text;
      if (document.activeElement !== field) field.value = text;
    }
  }

  /** @param {(typeof GIVENS)[number]} name */
  async #give(name) {
    const field = input(name), text = field.value.trim().replace(',', '.');
    const value = text === '' ? null : Number(text);
    const problem = byId('givens-problem');
    const isWrong = value !== null && (!Number.isFinite(value) || value < 0);
    show(problem, isWrong);
    field.toggleAttribute('aria-invalid', false);
    if (isWrong) {
      field.setAttribute('aria-invalid', 'true');
      problem.textContent = `“${field.value}” is no number that this can be. Type a number like 38.9.`;
      return;
    }
    await this.desk.setOptions({ [name]: value });
  }

  #draw() {
    const { series } = this.desk.notebook;
    if (!series) return;
    const isLog = /** @type {HTMLInputElement} */ (document.querySelector('input[name=amplitude-scale][value=log]')).checked;
    const data = /** @type {uPlot.AlignedData} */ (isLog
      ? kindsOf(series).map((column, i) => i === 0 ? column : column.map(y => y !== null && y > 0 ? y : null)) : kindsOf(series));
    const residuals = this.#residualColumns(series);
    const kind = `${isLog}`;
    if (this.#kind === kind) {
      this.#plot.fill(data);
      this.#residuals.fill(residuals);
      return;
    }
    this.#kind = kind;
    const clicked = (/** @type {number} */ at) => this.desk.goToFrame(this.desk.notebook.series?.frame[at] ?? at);
    this.#plot.set({
      x: '', y: 'amplitude in mm', log: isLog, yRange: isLog ? null : [0, null],
      series: seriesOfKinds,
      clicked,
      under: plot => this.#drawUnder(plot),
      over: plot => this.#drawCurve(plot),
      ready: plot => this.#handles.attach(plot),
    }, data);
    this.#residuals.set({
      x: 'time in s', y: 'residual in mm', series: () => [points(colours().data, { size: 4 })], clicked,
      over: plot => strokeCurve(plot, [plot.scales.x.min ?? 0, plot.scales.x.max ?? 1], [0, 0], colours().model, 1.4),
    }, residuals);
    describe(byId('fit-plot'), 'Figure: amplitude against time with the fitted curve.');
    byId('fit-plot').removeAttribute('role');
    describe(byId('residual-plot'), 'Figure: residuals of the fit against time.');
  }

  /**
   * @param {import('../modules/types.js').Series} series
   * @returns {uPlot.AlignedData}
   */
  #residualColumns(series) {
    return /** @type {any} */ ([series.time_s, series.fit?.residual_mm.length === series.time_s.length ? series.fit.residual_mm : series.time_s.map(() => null)]);
  }

  /** @param {uPlot} plot */
  #drawUnder(plot) {
    const fit = this.desk.notebook.series?.fit;
    if (!fit) return;
    const uncertainty = fit.uncertainty_mm.map(u => 2 * (u ?? 0));
    fillBetween(plot, fit.time_s, fit.amplitude_mm.map((a, i) => a - uncertainty[i]), fit.amplitude_mm.map((a, i) => a + uncertainty[i]), colours().band);
  }

  /** @param {uPlot} plot */
  #drawCurve(plot) {
    const fit = this.desk.notebook.series?.fit;
    if (!fit) return;
    strokeCurve(plot, fit.time_s, fit.amplitude_mm, colours().model, 2.2);
    if (fit.switch_time_s !== null) strokeUpright(plot, fit.switch_time_s, colours().muted, 'switched', [4, 4]);
  }

  /** @param {import('../modules/types.js').State} state */
  #write({ fit, is_settling, analysis_problem, options }) {
    const words = byId('fit-words');
    words.classList.toggle('working', is_settling);
    words.textContent = analysis_problem ?? (is_settling ? 'Comparing the models and tracing the intervals…'
      : fit === null ? '' : fit.model === null ? fit.problem ?? '' : `${fit.statement} Fitted: ${fit.label}.`);
    const { series } = this.desk.notebook;
    const [start, end] = this.#handles.window;
    byId('fit-caption').textContent = `Measured amplitudes and the fitted curve${series?.fit ? ' with twice its standard uncertainty' : ''}; below, what is left. `
      + `The fitted stretch runs from ${start.toFixed(2)} to ${end.toFixed(2)} s${options.window_start_s === null && options.window_end_s === null ? ', the whole clip' : ''}; drag its handles, or move them with the arrow keys. Click a point to see its frame in sheet 3.`;
    const host = byId('fit-tables');
    host.classList.toggle('working', is_settling);
    if (fit === null || fit.model === null) {
      if (!is_settling) host.replaceChildren();
      return;
    }
    host.replaceChildren(
      table(`${fit.label}, ${fit.formula}; ${fit.points} points, reduced χ² ${fit.reduced_chi_square}, residuals ${fit.residual_rms} (root mean square)`,
        ['symbol', 'meaning', number('value'), number('95 % interval')],
        fit.parameters.map(p => ({ cells: [make('i', {}, p.symbol), p.label, p.value, p.interval] }))),
      table('The models that were compared, the best by AICc first', ['model', number('parameters'), number('AICc above the best'), number('τ')],
        fit.models.map(m => ({ cells: [m.label, String(m.parameters), m.delta_aicc, m.tau], chosen: m.model === fit.model }))));
  }
}
