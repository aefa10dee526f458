import { bandOf, colourAlong } from '../modules/band.js';
import { button, byId, element, input, make, show, showFindings } from '../modules/dom.js';
import { closedPath, Picture } from '../modules/picture.js';
import { Plot, points, strokeCurve, strokeUpright } from '../modules/plots.js';
import { colours } from '../modules/scheme.js';
import { ask, Refused } from '../modules/server.js';
import { Filmstrip } from './filmstrip.js';

/** @import uPlot from '../vendor/uplot/uPlot.esm.js' */

/** Flags of the series that the figures show apart. */
export const EXCLUDED = 1 << 11, OUTLIER = 1 << 12;

/** How long a slider must rest before its setting is used, in ms. */
const REST = 200;

/** The third sheet: every frame measured, and any of them looked at. */
export class StreakSheet {
  #resting = 0;
  #picture = new Picture(byId('frame-picture'));
  #seriesPlot = new Plot(byId('series-plot'));
  #profilePlot = new Plot(byId('profile-plot'));
  #filmstrip;
  #frame = 0;
  #clip = '';

  /** @type {ImageBitmap | null} */
  #bitmap = null;

  /** @type {import('../modules/types.js').Profile | null} */
  #profile = null;

  /** @type {AbortController | null} */
  #asking = null;

  /** Points of a measurement under way: frame, time in s, amplitude in mm. @type {Map<number, [number, number | null]>} */
  #growing = new Map();

  #shownSeries = '';

  /** @param {import('../worksheet.js').Desk} desk */
  constructor(desk) {
    this.desk = desk;
    this.#filmstrip = new Filmstrip(desk.frames, k => this.goTo(k));
    button('measure').addEventListener('click', () => {
      this.#growing.clear();
      desk.notebook.change('api/measure', {});
    });
    button('measure-cancel').addEventListener('click', () => ask('api/measure/cancel', { body: {} }).catch(() => desk.notebook.refresh()));
    button('frame-back').addEventListener('click', () => this.goTo(this.#frame - 1));
    button('frame-on').addEventListener('click', () => this.goTo(this.#frame + 1));
    const number = input('frame-number');
    number.addEventListener('change', () => {
      this.goTo(Math.round(number.valueAsNumber));
      number.value = String(this.#frame);
    });
    input('frame-slider').addEventListener('input', () => this.goTo(input('frame-slider').valueAsNumber));
    button('exclude').addEventListener('click', () => this.#exclude());
    input('exclude-reason').addEventListener('keydown', e => {
      if (e.key === 'Enter') this.#exclude();
    });
    const threshold = input('threshold');
    threshold.addEventListener('input', () => {
      byId('threshold-value').textContent = threshold.valueAsNumber.toFixed(2);
      this.#drawProfile();
      this.#drawFrameOverlay();
    });
    threshold.addEventListener('change', () => this.#settle({ threshold_fraction: threshold.valueAsNumber }));
    for (const id of ['band-offset', 'band-half']) {
      input(id).addEventListener('input', () => {
        byId(`${id}-value`).textContent = input(id).value;
        this.#drawFrameOverlay();
        this.#drawFilmstrip();
        this.#drawProfile();
      });
      input(id).addEventListener('change', () =>
        this.#settle({ band_offset_px: input('band-offset').valueAsNumber, band_half_width_px: input('band-half').valueAsNumber }));
    }
    button('band-default').addEventListener('click', () => desk.setOptions({ band_offset_px: 0, band_half_width_px: null, threshold_fraction: 0.5 }));
    desk.notebook.addEventListener('measuring', e => this.#grow(/** @type {CustomEvent} */ (e).detail));
  }

  /**
   * Changes settings once their slider rests: a key that is held down moves it many times.
   * @param {object} options
   */
  #settle(options) {
    clearTimeout(this.#resting);
    this.#resting = setTimeout(() => {
      this.#resting = 0;
      this.desk.setOptions(options);
    }, REST);
  }

  get #state() {
    return /** @type {import('../modules/types.js').State} */ (this.desk.notebook.state);
  }

  get #count() {
    return this.#state.clip?.frames.count ?? 0;
  }

  /** The frame looked at. */
  get frame() {
    return this.#frame;
  }

  /** @param {import('../modules/types.js').State} state */
  update(state) {
    const { clip, streak, ruler } = state;
    const hasScale = clip !== null && ruler.mm_per_px !== undefined;
    show(byId('streak-waits'), !hasScale);
    show(byId('streak-work'), hasScale);
    if (!clip || !hasScale) {
      this.#shownSeries = '';
      return;
    }
    if (this.#clip !== clip.sha256) {
      this.#clip = clip.sha256;
      this.#frame = 0;
      this.#bitmap = null;
      this.#profile = null;
      this.#growing.clear();
      this.#picture.size(clip.width_px, clip.height_px);
    }
    this.updateFrames();
    const measuring = streak.measuring !== null;
    show(button('measure'), !measuring);
    button('measure').textContent = streak.measured ? 'Measure again' : 'Measure the streak';
    button('measure').classList.toggle('main', streak.measured === null || streak.outdated);
    show(button('measure-cancel'), measuring);
    show(byId('measure-bar-line'), measuring);
    if (streak.measuring) this.#showProgress(streak.measuring);
    byId('measure-words').textContent = this.#words(state);
    this.#fillControls(state);
    this.#drawSeries();
    this.#drawExcluded(state);
    showFindings(byId('streak-findings'), streak.outdated ? [] : streak.measured?.findings ?? [], frame => this.goTo(frame));
    this.#look();
  }

  /** Frames that can be looked at, which grow while the clip is looked through. */
  updateFrames() {
    const most = String(Math.max(0, this.#count - 1));
    if (input('frame-number').max === most) return;
    input('frame-number').max = input('frame-slider').max = most;
  }

  /**
   * Looks at a frame.
   * @param {number} frame
   */
  goTo(frame) {
    if (!this.#state?.clip || !Number.isFinite(frame)) return;
    this.#frame = Math.max(0, Math.min(frame, this.#count - 1));
    this.#look();
    this.desk.frameChanged();
  }

  /** @param {import('../modules/types.js').State} state */
  #words({ streak, analysis_problem }) {
    const { measured } = streak;
    if (streak.measuring) return '';
    if (streak.measuring_problem) return streak.measuring_problem;
    if (!measured) return 'Each frame is measured once; this takes about as long as reading the clip.';
    if (streak.outdated) return 'The band was changed since the streak was measured. Measure again to use it.';
    if (analysis_problem) return analysis_problem;
    return `${measured.usable === null ? `${measured.frames} frames are measured` : `${measured.usable} of ${measured.frames} frames are usable`}. The beam stands out in the ${measured.channel} channel; `
      + `its spot is ${(2 * measured.spot_sigma_px).toFixed(1)} px wide (two standard deviations)`
      + (measured.exposure_periods ? `; one exposure sees about ${measured.exposure_periods.toFixed(1)} periods.` : '.');
  }

  /** @param {import('../modules/types.js').State} state */
  #fillControls({ options, streak, clip }) {
    const fields = /** @type {[string, number, number][]} */ ([
      ['threshold', options.threshold_fraction, 2], ['band-offset', options.band_offset_px, 0], ['band-half', streak.search_band?.half_width_px ?? 0, 0],
    ]);
    if (clip) {
      const side = Math.min(clip.width_px, clip.height_px);
      input('band-half').max = String(Math.floor(side / 2));
      input('band-offset').min = String(-Math.floor(side / 2));
      input('band-offset').max = String(Math.floor(side / 2));
    }
    if (this.#resting !== 0) return;
    for (const [id, value, digits] of fields) {
      input(id).value = String(value);
      byId(`${id}-value`).textContent = value.toFixed(digits);
    }
  }

  // --- the series

  /** @param {{ stage: string, done: number, total: number | null, points: [number, number, number | null][] }} told */
  #grow(told) {
    if (!this.desk.notebook.state) return;
    for (const [frame, time, amplitude] of told.points) this.#growing.set(frame, [time, amplitude]);
    this.#showProgress(told);
    this.#drawSeries();
  }

  /** @param {import('../modules/types.js').Progress} progress */
  #showProgress({ stage, done, total }) {
    const bar = element('measure-bar', HTMLProgressElement);
    byId('measure-stage').textContent = `${stage[0].toUpperCase()}${stage.slice(1)}`;
    if (total) {
      bar.max = total;
      bar.value = Math.min(done, total);
    } else {
      bar.removeAttribute('value');
    }
  }

  #drawSeries() {
    const state = this.#state, { series } = this.desk.notebook;
    const isGrowing = state.streak.measuring !== null || (series === null || series.frame.length === 0) && this.#growing.size > 0;
    const rows = isGrowing ? [...this.#growing].sort((a, b) => a[0] - b[0]) : null;
    const key = rows ? 'growing' : series ? `series ${series.frame.length > 0}` : 'none';
    const data = /** @type {uPlot.AlignedData} */ (rows
      ? [rows.map(r => r[1][0]), rows.map(r => r[1][1]), [], [], []].map((column, i) => i < 2 ? column : rows.map(() => null))
      : kindsOf(series));
    const hasPoints = rows !== null || (series !== null && series.frame.length > 0);
    show(byId('series-figure'), hasPoints);
    if (!hasPoints) {
      this.#shownSeries = '';
      return;
    }
    byId('series-caption').textContent = rows ? `The figure grows as frames are measured: ${rows.length} so far, roughly.`
      : `Amplitude against time, ${series?.frame.length} frames: measured (filled), left out or unusable (open), far off the curve (large, open). Click a point to look at its frame, drag to look closer, double-click to see all.`;
    if (key === this.#shownSeries) {
      this.#seriesPlot.fill(data);
      return;
    }
    this.#shownSeries = key;
    this.#seriesPlot.set({
      x: 'time in s', y: 'amplitude in mm', zoom: true, yRange: [0, null],
      series: seriesOfKinds,
      clicked: at => this.goTo(rows ? [...this.#growing.keys()].sort((a, b) => a - b)[at] : this.desk.notebook.series?.frame[at] ?? at),
    }, data);
    describe(byId('series-plot'), 'Figure: amplitude against time. Frames are reached by number below.');
  }

  /**
   * Time of a frame as far as it is known.
   * @param {number} frame
   * @returns {number | null} in s
   */
  timeOf(frame) {
    const { series } = this.desk.notebook;
    return series && series.frame[frame] === frame ? series.time_s[frame] : this.#growing.get(frame)?.[0] ?? null;
  }

  // --- one frame

  #look() {
    const frame = this.#frame, { clip, streak, revision } = this.#state;
    if (!clip) return;
    input('frame-slider').value = String(frame);
    if (document.activeElement !== input('frame-number')) input('frame-number').value = String(frame);
    this.#seriesPlot.showNow(this.timeOf(frame), `frame ${frame}`);
    this.#drawFilmstrip();
    this.#asking?.abort();
    const asking = new AbortController();
    this.#asking = asking;
    if (this.#profile?.frame !== frame) this.#profile = null;
    const started = performance.now();
    this.desk.frames.get(frame).then(bitmap => {
      if (this.#frame !== frame || this.#clip !== clip.sha256) return;
      this.#bitmap = bitmap;
      this.#picture.paint(bitmap, `Frame ${frame}`);
      this.#picture.host.dataset.frame = String(frame);
      this.#picture.host.dataset.shownMs = (performance.now() - started).toFixed(1);
      this.#drawFrameOverlay();
      if (!this.#profile) this.#drawProfile();
    }, failure => {
      if (failure instanceof Refused && this.#frame === frame) this.#picture.wait(failure.message);
    });
    if (streak.measured) {
      ask(`api/profile/${frame}?revision=${revision}`, { signal: asking.signal }).then(profile => {
        if (this.#frame !== frame) return;
        this.#profile = profile;
        this.#drawFrameOverlay();
        this.#drawProfile();
        this.#sayFrame();
      }, () => undefined);
    } else {
      this.#profile = null;
      this.#drawProfile();
    }
    this.#sayFrame();
    const isOut = this.#state.options.excluded_frames.includes(frame);
    button('exclude').textContent = isOut ? 'Take this frame in again' : 'Leave this frame out';
    show(/** @type {HTMLElement} */ (input('exclude-reason').parentElement), !isOut);
    show(byId('exclude-line'), streak.measured !== null);
  }

  #sayFrame() {
    const { series } = this.desk.notebook, frame = this.#frame, profile = this.#profile;
    const time = profile?.time_s ?? this.timeOf(frame), amplitude = series?.amplitude_mm[frame] ?? null, u = series?.uncertainty_mm[frame] ?? null;
    const words = profile?.flag_words ?? '';
    const facts = [
      ['frame', `${frame}, of 0 to ${this.#count - 1}`],
      ['time', time === null ? '' : `${time.toFixed(3)} s`],
      ['ends', profile?.ends_mm ? `${profile.ends_mm[0].toFixed(2)} and ${profile.ends_mm[1].toFixed(2)} mm` : ''],
      ['amplitude', amplitude === null ? '' : u === null ? `${amplitude.toFixed(2)} mm` : `(${amplitude.toFixed(2)} ± ${u.toFixed(2)}) mm`],
      ['remarkable', words],
    ];
    byId('frame-facts').replaceChildren(...facts.filter(([, text]) => text !== '').map(([name, text]) =>
      make('tr', {}, make('th', { scope: 'row' }, name), make('td', {}, text))));
    byId('frame-caption').textContent = this.#state.streak.measured ? 'The band in which the streak was looked for, the turning points (yellow), and the coarse ends (dashed).'
      : 'Dashed: the band in which the streak will be looked for.';
  }

  /** The band as the sliders have it, and as the program found it. */
  #bands() {
    const { search_band: search, measured, outdated } = this.#state.streak;
    const sought = search ? bandOf(search, input('band-offset').valueAsNumber, input('band-half').valueAsNumber) : [];
    return { sought, found: measured && !outdated ? this.#profile?.band ?? measured.band : null };
  }

  #isMovingBand() {
    const { options, streak } = this.#state;
    return input('band-offset').valueAsNumber !== Math.round(options.band_offset_px) || input('band-half').valueAsNumber !== streak.search_band?.half_width_px;
  }

  #drawFilmstrip() {
    const { clip } = this.#state, { sought, found } = this.#bands();
    const corners = this.#isMovingBand() ? sought : found ?? sought;
    if (clip && corners.length > 0 && this.#count > 0) this.#filmstrip.show(this.#frame, this.#count, clip.width_px, corners);
  }

  #drawFrameOverlay() {
    const { overlay } = this.#picture, { sought, found } = this.#bands();
    overlay.replaceChildren();
    if (!found || this.#isMovingBand()) overlay.append(this.#picture.line('band-search', closedPath(sought), 1.3, '6 5'));
    if (found) overlay.append(this.#picture.line('band-found', closedPath(found), 1.2));
    const profile = this.#profile;
    if (!profile || !found || this.#state.streak.outdated) return;
    const [a, b, , d] = profile.band, length = Math.hypot(b[0] - a[0], b[1] - a[1]);
    const along = [(b[0] - a[0]) / length, (b[1] - a[1]) / length], across = [d[0] - a[0], d[1] - a[1]];
    const upright = (/** @type {number} */ s, /** @type {number} */ from, /** @type {number} */ to) =>
      `M${a[0] + along[0] * s + across[0] * from} ${a[1] + along[1] * s + across[1] * from}L${a[0] + along[0] * s + across[0] * to} ${a[1] + along[1] * s + across[1] * to}`;
    for (const s of [profile.ends.first_px, profile.ends.second_px])
      if (s !== null) overlay.append(this.#picture.line('end', upright(s, 0.02, 0.98), 1.6));
    for (const { place } of this.#thresholdEnds())
      overlay.append(this.#picture.line('end-threshold', upright(place, 0.3, 0.7), 1.6, '3 3'));
  }

  /**
   * Threshold ends of the frame, for the threshold that the slider has: near those that the program found, where the light crosses the level moved in
   * the same proportion. The program's own take their place as soon as the slider is let go.
   */
  #thresholdEnds() {
    const profile = this.#profile;
    if (!profile) return [];
    const ratio = input('threshold').valueAsNumber / this.#state.options.threshold_fraction;
    const { first_px, first_level, second_px, second_level } = profile.threshold;
    return /** @type {const} */ ([[first_px, first_level, -1], [second_px, second_level, 1]]).flatMap(([place, level, outward]) => {
      if (place === null || level === null) return [];
      return [{ place: Math.abs(ratio - 1) < 1e-9 ? place : crossing(profile.light, place, level * ratio, outward), level: level * ratio }];
    });
  }

  #drawProfile() {
    const profile = this.#state.streak.outdated || this.#isMovingBand() ? null : this.#profile, { clip, streak } = this.#state;
    if (profile) {
      const places = profile.light.map((_, i) => i);
      this.#profilePlot.set({
        x: 'place along the band in px', y: 'light of the laser', series: lineOfLight,
        yRange: [null, null],
        over: plot => {
          if (profile.model.length > 0) strokeCurve(plot, places, profile.model, colours().model, 1.8);
          for (const end of [profile.ends.first_px, profile.ends.second_px]) if (end !== null) strokeUpright(plot, end, colours().ink);
          for (const { place, level } of this.#thresholdEnds()) {
            strokeUpright(plot, place, colours().muted, undefined, [3, 4]);
            strokeCurve(plot, [place - places.length / 40, place + places.length / 40], [level, level], colours().ink, 2);
          }
        },
      }, [places, /** @type {number[]} */ (profile.light)]);
      byId('profile-caption').textContent = 'Laser light along the band, room light taken off (thin), the fitted brightness of a swinging spot (thick), its turning points (upright), '
        + 'and the coarse ends where the light crosses the threshold (dashed).';
    } else if (clip && this.#bitmap && streak.search_band) {
      const { places, colour } = colourAlong(this.#bitmap, clip.width_px, this.#bands().sought);
      this.#profilePlot.set({
        x: 'place along the band in px', y: 'colour', yRange: [0, null], series: lineOfLight,
      }, [places, colour]);
      byId('profile-caption').textContent = 'The most coloured px of this frame across the dashed band, place by place: the beam should stand out. Room light is taken off when the streak is measured.';
    }
    describe(byId('profile-plot'), 'Figure: light along the band of this frame.');
  }

  // --- leaving out

  #exclude() {
    const frame = this.#frame, isOut = this.#state.options.excluded_frames.includes(frame);
    const reason = input('exclude-reason').value.trim();
    this.desk.notebook.change('api/exclude', { frame, exclude: !isOut, reason: isOut || reason === '' ? null : reason })
      .then(taken => { if (taken) this.desk.say(isOut ? `Frame ${frame} is in again.` : `Frame ${frame} is left out.`); });
  }

  /** @param {import('../modules/types.js').State} state */
  #drawExcluded({ options }) {
    const host = byId('excluded');
    if (options.excluded_frames.length === 0) {
      host.replaceChildren();
      return;
    }
    host.replaceChildren(make('p', {}, 'Left out: ', ...options.excluded_frames.flatMap((frame, i) => {
      const to = make('button', { type: 'button', class: 'in-text' }, `frame ${frame}`);
      to.addEventListener('click', () => this.goTo(frame));
      const reason = options.exclusion_reasons[frame];
      return [i > 0 ? ', ' : '', to, reason ? ` (${reason})` : ''];
    }), '.'));
  }
}

/** How the columns of {@link kindsOf} are drawn. */
export function seriesOfKinds() {
  const c = colours();
  return [points(c.data, { size: 6 }), points(c['left-out'], { size: 6, open: true }), points(c.outlier, { size: 9, open: true })];
}

const lineOfLight = () => [{ stroke: colours().data, width: 1.3, points: { show: false } }];

/**
 * The series as columns by kind, for figures.
 * @param {import('../modules/types.js').Series | null} series
 * @returns {(number | null)[][]} time, used, left out, far off the curve
 */
export function kindsOf(series) {
  if (!series) return [[], [], [], []];
  const { amplitude_mm: a, flags, usable } = series;
  return [series.time_s,
    a.map((y, i) => usable[i] && (flags[i] & (EXCLUDED | OUTLIER)) === 0 ? y : null),
    a.map((y, i) => !usable[i] || (flags[i] & EXCLUDED) !== 0 ? y : null),
    a.map((y, i) => usable[i] && (flags[i] & (EXCLUDED | OUTLIER)) === OUTLIER ? y : null)];
}

/**
 * @param {readonly (number | null)[]} light
 * @param {number} from place to begin at
 * @param {number} level
 * @param {-1 | 1} outward
 */
function crossing(light, from, level, outward) {
  const at = (/** @type {number} */ i) => light[i] ?? 0;
  let i = Math.round(from);

  // Inward to where it is brighter than the level, then outward to where it falls below.
  while (i > 0 && i < light.length - 1 && at(i) < level) i -= outward;
  while (i > 0 && i < light.length - 1 && at(i) >= level) i += outward;
  const inner = at(i - outward), outer = at(i);
  return i - outward * (inner > outer ? (level - outer) / (inner - outer) : 0);
}

/**
 * Names a figure for those who don't see it.
 * @param {HTMLElement} host
 * @param {string} words
 */
export function describe(host, words) {
  host.setAttribute('role', 'img');
  host.setAttribute('aria-label', words);
}
