import { button, byId, draw, make, number, show, showFindings, table } from '../modules/dom.js';
import { ask, Refused, Unreachable } from '../modules/server.js';

const GROUPS = /** @type {Record<string, string>} */ ({
  analysis: 'As analysed', 'window-start': 'Another begin of the window', 'window-end': 'Another end of the window',
  estimate: 'Another estimate of the ends', weighting: 'Other weights', loss: 'Other treatment of points far off', model: 'Another model',
});

/** The fifth sheet: what came out. */
export class ResultsSheet {
  #isWriting = false;

  /** @param {import('../worksheet.js').Desk} desk */
  constructor(desk) {
    this.desk = desk;
    button('report').addEventListener('click', () => this.#report());
  }

  /** @param {import('../modules/types.js').State} state */
  update(state) {
    const fit = state.fit, hasFit = fit !== null && fit.model !== null && !state.streak.outdated;
    show(byId('results-waits'), !hasFit);
    show(byId('results-work'), hasFit);
    if (!fit || !hasFit) return;
    byId('results-work').classList.toggle('working', state.is_settling);
    this.#writeNumbers(fit, state);
    if (!this.#isWriting) {
      button('report').disabled = state.is_settling;
      byId('report-words').textContent = state.reported ? 'The report is written and up to date.' : state.is_settling ? 'The numbers are being brought up to date…' : '';
    }
    button('report').classList.toggle('main', !state.reported);
    button('report').textContent = state.reported ? 'Write the report again' : 'Write the report';
    this.#listFiles(state);
    showFindings(byId('results-findings'), state.findings, frame => {
      this.desk.goToFrame(frame);
      byId('frame-picture').scrollIntoView({ block: 'center' });
    });
    this.#drawRobustness(fit);
    byId('budgets').replaceChildren(...fit.budgets.map(b => table(
      `Uncertainty budget of ${b.quantity}: ${b.result}; expanded uncertainty ${b.expanded} (coverage factor ${b.coverage_factor}, about ${b.coverage})`,
      ['input', 'where from', number('estimate'), number('standard uncertainty'), 'type', number('contribution'), number('share')],
      b.components.map(c => ({ cells: [c.name, c.basis, c.estimate, c.uncertainty, c.type, c.contribution, c.share] })))));
  }

  /**
   * @param {import('../modules/types.js').Fit} fit
   * @param {import('../modules/types.js').State} state
   */
  #writeNumbers(fit, state) {
    const tau = fit.parameters.find(p => p.key === 'tau_s') ?? fit.parameters[0];
    byId('results-numbers').replaceChildren(
      make('div', { class: 'result' },
        make('p', { class: 'value' }, make('i', {}, tau.symbol), ` = ${tau.value}`),
        make('p', {}, `${tau.label}, with its standard uncertainty; 95 % interval ${tau.interval}. ${fit.statement}`),
        state.options.frequency_hz === null ? make('p', { class: 'hint' }, 'Type the frequency of the oscillation in sheet 4 to have the quality factor and the damping.') : null),
      table('What follows from it', ['quantity', 'relation', number('value')],
        fit.quantities.map(q => ({ cells: [q.label, q.relation, q.value] }))));
  }

  /** @param {import('../modules/types.js').State} state */
  #listFiles({ reported, folder }) {
    const entry = (/** @type {string} */ file, /** @type {string} */ words, /** @type {boolean} */ opens) => make('li', {},
      make('a', opens ? { href: `files/${file}`, target: '_blank', rel: 'noopener' } : { href: `files/${file}`, download: file }, file), ` – ${words}`);
    byId('files').replaceChildren(
      ...(reported ? [
        entry('report.html', 'the report, for reading and printing', true),
        entry('series.csv', 'a row for each frame', false),
        entry('datapackage.json', 'what the columns are', false)] : []),
      entry('record.json', 'the record to hand in with the clip: with it the analysis is repeated', false),
      make('li', {}, 'All of it lies in ', make('code', {}, folder)));
  }

  /** @param {import('../modules/types.js').Fit} fit */
  #drawRobustness({ robustness, parameters }) {
    const host = byId('robustness');
    const tau = parameters.find(p => p.key === 'tau_s');
    const rows = robustness.filter(r => r.tau_s !== null);
    if (rows.length === 0 || !tau) {
      host.replaceChildren(make('p', { class: 'waits' }, 'Not made for this model.'));
      return;
    }
    const centre = tau.number, u = tau.standard_uncertainty ?? 0;

    // The scale follows the bulk: one wild row must not squeeze the others into a line.
    const reaches = rows.map(r => Math.abs(/** @type {number} */ (r.tau_s) - centre) + (r.uncertainty_s ?? 0)).sort((a, b) => a - b);
    const reach = Math.max(2.5 * u, Math.min(reaches[reaches.length - 1], 3 * reaches[Math.floor(0.75 * (reaches.length - 1))])) * 1.08 || 1;
    const x = (/** @type {number} */ t) => Math.max(0, Math.min(100, 50 + 50 * (t - centre) / reach));
    const digits = Math.max(0, 2 - Math.floor(Math.log10(u || centre / 100)) - 1);
    let group = '';
    const body = make('tbody');
    for (const row of rows) {
      if (row.group !== group) {
        group = row.group;
        body.append(make('tr', { class: 'group' }, make('th', { scope: 'rowgroup', colspan: 4 }, GROUPS[group] ?? group)));
      }
      const t = /** @type {number} */ (row.tau_s), s = row.uncertainty_s ?? 0, isOut = Math.abs(t - centre) > reach;
      body.append(make('tr', { class: group === 'analysis' ? 'chosen' : null },
        make('th', { scope: 'row' }, row.label),
        make('td', { class: 'number' }, `${t.toFixed(digits)} ± ${s.toFixed(digits)} s`),
        make('td', { class: 'number' }, String(row.point_count)),
        make('td', { class: 'rod' }, draw('svg', { viewBox: '0 0 100 10', preserveAspectRatio: 'none', 'aria-hidden': 'true' },
          draw('rect', { class: 'strip', x: x(centre - u), y: -2, width: Math.max(0.3, x(centre + u) - x(centre - u)), height: 14 }),
          draw('path', { class: 'centre', d: 'M50-2V12', 'vector-effect': 'non-scaling-stroke' }),
          draw('path', { class: 'whisker', d: `M${x(t - s)} 5H${x(t + s)}`, 'vector-effect': 'non-scaling-stroke' }),
          draw('path', { class: isOut ? 'far' : 'dot-line', d: `M${x(t)} 5h0.001`, 'vector-effect': 'non-scaling-stroke' })))));
    }
    host.replaceChildren(make('table', { class: 'robust' },
      make('caption', {}, `τ against one choice at a time; the strip spans ${(centre - reach).toFixed(digits)} to ${(centre + reach).toFixed(digits)} s`),
      make('thead', {}, make('tr', {}, make('th', { scope: 'col' }, 'choice'), make('th', { scope: 'col', class: 'number' }, 'τ'), make('th', { scope: 'col', class: 'number' }, 'points'), make('th', { scope: 'col' }, 'where it lies'))),
      body));
  }

  async #report() {
    const write = button('report'), words = byId('report-words');
    this.#isWriting = write.disabled = true;
    words.textContent = 'Writing…';
    try {
      await ask('api/report', { body: {} });
    } catch (failure) {
      if (!(failure instanceof Refused || failure instanceof Unreachable)) throw failure;
      this.desk.notebook.tell(failure.message, 'error');
    } finally {
      this.#isWriting = write.disabled = false;
      if (document.activeElement === document.body) write.focus();
      await this.desk.notebook.refresh();
    }
  }
}
