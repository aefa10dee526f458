import { button, byId, draw, element, input, make, show, showFindings } from '../modules/dom.js';
import { Loupe } from '../modules/loupe.js';
import { Picture } from '../modules/picture.js';
import { ask, askPicture, Unreachable } from '../modules/server.js';

/**
 * A mark as it is being made: it may have no reading yet.
 * @typedef {{ id: number, u: number, v: number, reading: number | null }} OwnMark
 */

/** How long a mark must rest before it is sent while the arrow keys move it, in ms. */
const REST = 180;

/** How near a tick must be for a mark to go there, in px of the page. */
const SNAP_CSS_PX = 9;

/** The second sheet: marks on the ruler make the scale. */
export class RulerSheet {
  /** @type {OwnMark[]} */
  #marks = [];

  /** @type {OwnMark[][]} */
  #past = [];

  /** @type {OwnMark[][]} */
  #future = [];

  #selected = -1;
  #nextId = 1;
  #unsent = false;
  #timer = 0;
  #clip = '';

  /** @type {import('../modules/types.js').Ruler} */
  #ruler = { scale_problem: null };

  #picture = new Picture(byId('ruler-picture'), () => this.#drawOverlay());
  #loupe = new Loupe(this.#picture, () => this.#ruler.ticks ?? []);

  /** @type {Map<number, HTMLButtonElement>} */
  #markers = new Map();

  /** @type {Map<number, HTMLTableRowElement>} */
  #rows = new Map();

  #tagInput = make('input', { type: 'text', inputmode: 'decimal', size: 7, autocomplete: 'off' });
  #tagWords = make('span', {}, 'reading ');
  #tag = make('div', { class: 'tag', hidden: true }, make('label', {}, this.#tagWords, this.#tagInput, ' mm'));

  /** @param {import('../worksheet.js').Desk} desk */
  constructor(desk) {
    this.desk = desk;
    const host = this.#picture.host;
    host.append(this.#tag);
    host.addEventListener('pointermove', e => {
      if (e.target === host || e.target instanceof HTMLCanvasElement) this.#loupe.show(...this.#picture.placeOf(e));
    });
    host.addEventListener('pointerleave', () => this.#loupe.hide());
    host.addEventListener('click', e => {
      if (e.target instanceof HTMLCanvasElement) this.#add(...this.#picture.placeOf(e));
    });
    button('mark-add').addEventListener('click', () => this.#addByKey());
    button('mark-undo').addEventListener('click', () => this.#step(this.#past, this.#future));
    button('mark-redo').addEventListener('click', () => this.#step(this.#future, this.#past));
    byId('ruler').addEventListener('keydown', e => {
      if (!(e.ctrlKey || e.metaKey) || e.altKey || (e.target instanceof HTMLInputElement && e.target.type === 'text' && e.target.value !== e.target.defaultValue)) return;
      const key = e.key.toLowerCase();
      if (key === 'z' && !e.shiftKey) this.#step(this.#past, this.#future);
      else if (key === 'y' || (key === 'z' && e.shiftKey)) this.#step(this.#future, this.#past);
      else return;
      e.preventDefault();
    });
    const rulerClass = element('ruler-class', HTMLSelectElement);
    rulerClass.addEventListener('change', () => this.desk.setOptions({ ruler_class: rulerClass.value }));
    input('use-ticks').addEventListener('change', () => this.desk.setOptions({ ticks: input('use-ticks').checked ? 'auto' : 'off' }));
    this.#tagInput.addEventListener('keydown', e => {
      if (e.key === 'Enter') {
        this.#takeTag(true);
        this.#markers.get(this.#selected)?.focus();
        e.preventDefault();
      } else if (e.key === 'Escape') {
        this.#tagInput.value = '';
        show(this.#tag, false);
        this.#markers.get(this.#selected)?.focus();
      }
    });
    this.#tagInput.addEventListener('blur', () => this.#takeTag(false));
    desk.notebook.addEventListener('connection', () => {
      if (desk.notebook.connected && this.#unsent) this.#send(0);
    });
  }

  /** @param {import('../modules/types.js').State} state */
  update(state) {
    const { clip } = state;
    show(byId('ruler-waits'), clip === null);
    show(byId('ruler-work'), clip !== null);
    if (!clip) return;
    this.#ruler = state.ruler;
    if (this.#clip !== clip.sha256) this.#open(clip);
    element('ruler-class', HTMLSelectElement).value = state.options.ruler_class;
    input('use-ticks').checked = state.options.ticks === 'auto';
    if (!this.#unsent) this.#adopt(state.marks);
    this.#render();
    const held = this.#marks.find(m => this.#markers.get(m.id) === document.activeElement);
    if (held) this.#loupe.show(held.u, held.v);
    showFindings(byId('ruler-findings'), state.ruler.findings ?? []);
    byId('scale-words').textContent = this.#scaleWords(state);
  }

  /** @param {import('../modules/types.js').ClipFacts} clip */
  #open(clip) {
    this.#clip = clip.sha256;
    [this.#marks, this.#past, this.#future, this.#selected, this.#unsent] = [[], [], [], -1, false];
    this.#picture.size(clip.width_px, clip.height_px);
    this.#picture.wait('Laying a dozen frames over each other, so that ruler and streak are seen together…');
    const query = `?clip=${clip.sha256.slice(0, 16)}`;
    Promise.all([askPicture(`api/still${query}`), ask(`api/still/facts${query}`)]).then(([bitmap, facts]) => {
      if (this.#clip !== clip.sha256) return;
      this.#picture.paint(bitmap, 'The ruler with the streak on it');
      byId('ruler-caption').textContent = facts.camera_moves
        ? 'The first frame: the picture moves during the clip, and the marks belong to this frame. The streak is followed from here.'
        : 'Frames of the whole clip laid over each other: the ruler as it usually is, and the streak at its longest.';
    }, failure => {
      this.#picture.wait(failure.message);

      // Asked for again with the next news.
      if (failure instanceof Unreachable && this.#clip === clip.sha256) this.#clip = '';
    });
  }

  /**
   * Takes the marks that stand in the notebook; own ones without a reading stay.
   * @param {readonly import('../modules/types.js').Mark[]} marks
   */
  #adopt(marks) {
    const own = this.#marks.filter(m => m.reading !== null);
    const adopted = marks.map((m, i) => ({ id: own[i]?.id ?? this.#nextId++, u: m.u_px, v: m.v_px, reading: m.reading_mm }));
    const isSame = own.length === adopted.length && own.every((m, i) => m.u === adopted[i].u && m.v === adopted[i].v && m.reading === adopted[i].reading);
    if (!isSame) this.#marks = [...adopted, ...this.#marks.filter(m => m.reading === null)];
  }

  /** @param {import('../modules/types.js').State} state */
  #scaleWords({ ruler, marks, clip, options, streak }) {
    if (ruler.scale_problem) return `These marks make no scale: ${ruler.scale_problem}`;
    if (!ruler.mm_per_px || !clip) return marks.length === 1 ? 'One more mark makes a scale.' : '';
    const models = /** @type {Record<string, string>} */ ({
      linear: 'a uniform scale', projective: 'with perspective', 'projective-with-lens': 'with perspective and the lens’s curvature',
    });
    const rms = ruler.residual_rms_mm, { found } = ruler;
    return `Scale: ${(1 / ruler.mm_per_px).toFixed(2)} px for 1 mm in the middle, ${models[ruler.model ?? ''] ?? ruler.model}.`
      + (found ? ` It was made by ${found.count} ticks of ${found.step_mm} mm that were found in the picture; they lie off it by ${found.residual_rms_mm.toFixed(3)} mm (root mean square).`
        : rms !== null && rms !== undefined && marks.length > 2 ? ` The marks lie off it by ${rms.toFixed(3)} mm (root mean square).` : ' Predicted ticks should lie on the ruler’s own.')
      + (!found && options.ticks === 'auto' && streak.measured === null ? ' When the streak is measured, the ruler’s ticks are looked for in the picture, and make the scale where they are found.' : '')
      + (ruler.relative_uncertainty ? ` Lengths are known to ${(100 * ruler.relative_uncertainty).toPrecision(2)} %.` : '');
  }

  // --- changing marks

  /**
   * Puts other marks in place of the present ones.
   * @param {OwnMark[]} marks
   * @param {{ remember?: boolean, rest?: boolean }} [how]
   */
  #commit(marks, { remember = true, rest = false } = {}) {
    if (remember) {
      this.#past.push(this.#marks);
      this.#future = [];
    }
    this.#marks = marks;
    this.#send(rest ? REST : 0);
    this.#render();
  }

  /** @param {number} delay */
  #send(delay) {
    this.#unsent = true;
    clearTimeout(this.#timer);
    this.#timer = setTimeout(async () => {
      const { notebook } = this.desk, sent = this.#marks, known = JSON.stringify(notebook.state?.marks);
      const isTaken = JSON.stringify(this.#readMarks()) === known || await notebook.change('api/marks', () => ({ marks: this.#readMarks() }));

      // What could not be sent waits for the connection.
      if (!isTaken && !notebook.connected) return;
      if (this.#marks === sent || !this.#unsent) {
        this.#unsent = false;
        if (notebook.state) this.update(notebook.state);
      }
    }, delay);
  }

  #readMarks() {
    return this.#marks.flatMap(m => m.reading === null ? [] : [{ u_px: m.u, v_px: m.v, reading_mm: m.reading }]);
  }

  /**
   * @param {OwnMark[][]} from
   * @param {OwnMark[][]} to
   */
  #step(from, to) {
    const other = from.pop();
    if (!other) return;
    to.push(this.#marks);
    this.#closeTag();
    this.#commit(other, { remember: false });
    this.desk.say(`${this.#marks.length} marks`);
  }

  /**
   * @param {number} u
   * @param {number} v
   */
  async #add(u, v) {
    const id = this.#put(u, v);
    this.#openTag();
    if (input('mark-snap').checked) {
      await this.#snap(id, false);
      if (this.#selected === id) this.#suggest();
    }
  }

  #addByKey() {
    // In the middle of the picture, or beside the last mark, where the next tick is likely.
    const last = this.#marks.at(-1), { width, height } = this.#picture;
    const [u, v] = last ? [last.u + (last.u > width / 2 ? -1 : 1) * width / 10, last.v] : [width / 2, height / 2];
    this.#markers.get(this.#put(u, v))?.scrollIntoView({ block: 'nearest' });
  }

  /**
   * A new mark, looked at, without a reading.
   * @param {number} u
   * @param {number} v
   * @returns {number} its id
   */
  #put(u, v) {
    this.#takeTag(false);
    const mark = { id: this.#nextId++, u: round(u), v: round(v), reading: null };
    this.#selected = mark.id;
    this.#commit([...this.#marks, mark]);
    this.#markers.get(mark.id)?.focus({ preventScroll: true });
    return mark.id;
  }

  /**
   * Moves a mark to the tick under it.
   * @param {number} id
   * @param {boolean} remember
   */
  async #snap(id, remember) {
    const mark = this.#marks.find(m => m.id === id);
    if (!mark) return;
    const reach = Math.min(50, Math.max(8, SNAP_CSS_PX * this.#picture.pxPerCss));
    const found = await ask('api/snap', { body: { u_px: mark.u, v_px: mark.v, reach_px: reach } }).catch(() => ({ found: false }));
    const now = this.#marks.find(m => m.id === id);
    if (!now || now.u !== mark.u || now.v !== mark.v) return;
    if (!found.found) {
      this.desk.say('No tick was found there; the mark stays where it was put.');
      return;
    }
    this.#commit(this.#marks.map(m => m.id === id ? { ...m, u: round(found.u_px, 3), v: round(found.v_px, 3) } : m), { remember });
    if (document.activeElement === this.#markers.get(id) || this.#selected === id) this.#loupe.show(found.u_px, found.v_px);
  }

  /**
   * @param {number} id
   * @param {Partial<OwnMark>} change
   * @param {boolean} [rest]
   */
  #alter(id, change, rest = false) {
    this.#commit(this.#marks.map(m => m.id === id ? { ...m, ...change } : m), { rest });
  }

  /** @param {number} id */
  #remove(id) {
    const at = this.#marks.findIndex(m => m.id === id);
    this.#closeTag();
    this.#commit(this.#marks.filter(m => m.id !== id));
    const next = this.#marks[Math.min(at, this.#marks.length - 1)];
    if (next) this.#markers.get(next.id)?.focus();
    else button('mark-add').focus();
    this.#loupe.hide();
  }

  // --- the reading beside the mark

  #openTag() {
    const mark = this.#marks.find(m => m.id === this.#selected);
    if (!mark) return;
    this.#tagInput.value = mark.reading === null ? '' : String(mark.reading);
    this.#tagInput.setAttribute('aria-label', `reading of mark ${this.#marks.indexOf(mark) + 1} in mm`);
    show(this.#tag, true);
    this.#placeTag();
    this.#suggest();
    this.#tagInput.focus({ preventScroll: true });
    this.#tagInput.select();
  }

  #placeTag() {
    const mark = this.#marks.find(m => m.id === this.#selected);
    if (!mark || this.#tag.hidden) return;
    this.#picture.put(this.#tag, mark.u, mark.v);
    const isLeft = mark.u / this.#picture.pxPerCss > 190;
    this.#tag.classList.toggle('left', isLeft);
  }

  // Between marks that agree, the scale knows what a further one should read. It is offered, never taken by itself.
  #suggest() {
    const mark = this.#marks.find(m => m.id === this.#selected);
    const { marks = [], residual_rms_mm: rms = null, min_mm = 0, max_mm = 0 } = this.#ruler;
    const guess = mark && mark.reading === null && marks.length > 2 && rms !== null && rms < 0.2 ? this.#readingAt(mark.u, mark.v) : null;
    const isSure = guess !== null && guess > min_mm && guess < max_mm && Math.abs(guess - Math.round(guess)) < 0.25;
    this.#tagInput.placeholder = isSure ? `${Math.round(guess)} ?` : '';
    this.#tagWords.textContent = this.#tagInput.placeholder ? 'reading (Enter takes the one offered) ' : 'reading ';
  }

  /**
   * @param {number} u
   * @param {number} v
   * @returns {number | null} in mm
   */
  #readingAt(u, v) {
    const ticks = [...(this.#ruler.ticks ?? [])].sort((a, b) => a[0] - b[0]);
    for (let i = 0; i + 1 < ticks.length; i++) {
      const [mm, u0, v0] = ticks[i], [next, u1, v1] = ticks[i + 1];
      const du = u1 - u0, dv = v1 - v0, along = ((u - u0) * du + (v - v0) * dv) / (du * du + dv * dv);
      if (along >= 0 && along <= 1) return mm + along * (next - mm);
    }
    return null;
  }

  /** @param {boolean} takeOffer */
  #takeTag(takeOffer) {
    if (this.#tag.hidden) return;
    const id = this.#selected, text = this.#tagInput.value.trim() || (takeOffer ? this.#tagInput.placeholder.replace(' ?', '') : '');
    this.#closeTag();
    const reading = numberOf(text), mark = this.#marks.find(m => m.id === id);
    if (mark && reading !== null && reading !== mark.reading) this.#alter(id, { reading });
    else if (text !== '' && reading === null) this.desk.notebook.tell(`“${text}” is no number of millimetres.`, 'warning');
  }

  #closeTag() {
    show(this.#tag, false);
  }

  // --- showing

  #render() {
    this.#renderMarkers();
    this.#renderRows();
    this.#drawOverlay();
    this.#placeTag();
    button('mark-undo').disabled = this.#past.length === 0;
    button('mark-redo').disabled = this.#future.length === 0;
    const unread = this.#marks.filter(m => m.reading === null).length;
    byId('marks-caption').textContent = this.#marks.length === 0 ? 'No mark yet.'
      : `${this.#marks.length} ${this.#marks.length === 1 ? 'mark' : 'marks'}${unread > 0 ? `, ${unread} without a reading` : ''}. The residual is how far a mark lies from where the scale has its reading.`;
  }

  /** What the scale says of each mark, by its id; nothing while marks are on their way. */
  #fits() {
    const fits = new Map();
    if (this.#unsent) return fits;
    let at = 0;
    for (const mark of this.#marks)
      if (mark.reading !== null) fits.set(mark.id, this.#ruler.marks?.[at++]);
    return /** @type {Map<number, import('../modules/types.js').MarkFit | undefined>} */ (fits);
  }

  #renderMarkers() {
    const fits = this.#fits();
    for (const [id, marker] of this.#markers) {
      if (!this.#marks.some(m => m.id === id)) {
        marker.remove();
        this.#markers.delete(id);
      }
    }
    this.#marks.forEach((mark, i) => {
      let marker = this.#markers.get(mark.id);
      if (!marker) {
        marker = this.#makeMarker(mark.id);
        this.#markers.set(mark.id, marker);
        this.#picture.host.insertBefore(marker, this.#tag);
      }
      this.#picture.put(marker, mark.u, mark.v);
      const fit = fits.get(mark.id);
      marker.classList.toggle('unread', mark.reading === null);
      marker.classList.toggle('doubtful', fit?.doubtful === true);
      marker.classList.toggle('selected', mark.id === this.#selected);
      marker.setAttribute('aria-label', `mark ${i + 1}, ${mark.reading === null ? 'no reading yet' : `reading ${mark.reading} mm`}, at u ${mark.u.toFixed(1)}, v ${mark.v.toFixed(1)}`
        + (fit?.doubtful ? `, doubtful: the others have it at ${fit.predicted_reading_mm.toFixed(1)} mm` : ''));
    });
  }

  /** @param {number} id */
  #makeMarker(id) {
    const marker = make('button', { type: 'button', class: 'marker', 'aria-describedby': 'mark-keys' });
    const own = () => /** @type {OwnMark} */ (this.#marks.find(m => m.id === id));
    marker.addEventListener('focus', () => {
      this.#selected = id;
      this.#renderMarkers();
      this.#renderRows();
      this.#loupe.show(own().u, own().v);
    });
    marker.addEventListener('blur', () => this.#loupe.hide());
    marker.addEventListener('keydown', e => {
      const step = e.shiftKey ? 0.1 : 1;
      const [du, dv] = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step], PageUp: [-20, 0], PageDown: [20, 0], Home: [0, -20], End: [0, 20] }[e.key] ?? [0, 0];
      if ((du !== 0 || dv !== 0) && !e.ctrlKey && !e.altKey && !e.metaKey) {
        const { width, height } = this.#picture, { u, v } = own();
        this.#alter(id, { u: round(Math.min(Math.max(u + du, 0), width - 1), 3), v: round(Math.min(Math.max(v + dv, 0), height - 1), 3) }, true);
        this.#loupe.show(own().u, own().v);
      } else if (e.key === 's' || e.key === 'S') {
        this.#snap(id, true);
      } else if (e.key === 'Enter') {
        this.#openTag();
      } else if (e.key === 'Delete' || e.key === 'Backspace') {
        this.#remove(id);
      } else {
        return;
      }
      e.preventDefault();
    });

    /** @type {{ u: number, v: number, isMoved: boolean, before: OwnMark[] } | null} */
    let drag = null;
    marker.addEventListener('pointerdown', e => {
      if (e.button !== 0) return;
      this.#takeTag(false);
      const [pu, pv] = this.#picture.placeOf(e);
      drag = { u: own().u - pu, v: own().v - pv, isMoved: false, before: this.#marks };
      marker.setPointerCapture(e.pointerId);
    });
    marker.addEventListener('pointermove', e => {
      if (!drag) return;
      const [pu, pv] = this.#picture.placeOf(e), u = pu + drag.u, v = pv + drag.v;
      if (!drag.isMoved && Math.hypot(u - own().u, v - own().v) < 3 * this.#picture.pxPerCss) return;
      drag.isMoved = true;
      this.#marks = this.#marks.map(m => m.id === id ? { ...m, u: round(u), v: round(v) } : m);
      this.#unsent = true;
      this.#renderMarkers();
      this.#loupe.show(u, v);
    });
    const drop = async () => {
      if (drag?.isMoved) {
        const moved = this.#marks;
        this.#marks = drag.before;
        drag = null;
        this.#commit(moved);
        if (input('mark-snap').checked) await this.#snap(id, false);
      } else if (drag) {
        drag = null;
        this.#openTag();
      }
    };
    marker.addEventListener('pointerup', drop);
    marker.addEventListener('pointercancel', drop);
    return marker;
  }

  #renderRows() {
    const fits = this.#fits();
    for (const [id, row] of this.#rows) {
      if (!this.#marks.some(m => m.id === id)) {
        row.remove();
        this.#rows.delete(id);
      }
    }
    this.#marks.forEach((mark, i) => {
      let row = this.#rows.get(mark.id);
      if (!row) {
        row = this.#makeRow(mark.id);
        this.#rows.set(mark.id, row);
        byId('marks-rows').append(row);
      }
      const fit = fits.get(mark.id), [name, reading, u, v, residual, remark, away] = [...row.cells];
      name.textContent = String(i + 1);
      fill(reading, mark.reading === null ? '' : String(mark.reading), `reading of mark ${i + 1} in mm`);
      fill(u, mark.u.toFixed(1), `u of mark ${i + 1} in px`);
      fill(v, mark.v.toFixed(1), `v of mark ${i + 1} in px`);
      residual.textContent = fit ? signed(fit.residual_mm, 2) : '';
      remark.textContent = mark.reading === null ? 'type its reading'
        : fit?.doubtful ? `Wrong? The others have it at ${fit.predicted_reading_mm.toFixed(1)} mm.` : '';
      away.querySelector('button')?.setAttribute('aria-label', `Take away mark ${i + 1}`);
      row.classList.toggle('doubtful', fit?.doubtful === true);
      row.classList.toggle('selected', mark.id === this.#selected);
    });
  }

  /** @param {number} id */
  #makeRow(id) {
    /** @param {'reading' | 'u' | 'v'} what */
    const field = what => {
      const made = make('input', { type: 'text', inputmode: 'decimal', size: 8, autocomplete: 'off' });
      made.addEventListener('change', () => {
        const number = numberOf(made.value), own = this.#marks.find(m => m.id === id);
        made.toggleAttribute('aria-invalid', false);
        if (!own) return;
        if (number === null) {
          made.setAttribute('aria-invalid', 'true');
          return;
        }
        this.#alter(id, { [what]: number });
      });
      return make('td', {}, made);
    };
    const away = make('button', { type: 'button' }, 'Take away');
    away.addEventListener('click', () => this.#remove(id));
    return make('tr', {}, make('th', { scope: 'row' }), field('reading'), field('u'), field('v'), make('td', { class: 'number' }), make('td'), make('td', {}, away));
  }

  #drawOverlay() {
    const { overlay } = this.#picture;
    if (this.#picture.width === 0) return;
    overlay.replaceChildren();
    const perCss = this.#picture.pxPerCss;
    const ticks = this.#ruler.ticks ?? [];
    if (!this.#unsent && ticks.length > 1) {
      const pitch = Math.hypot(ticks[1][1] - ticks[0][1], ticks[1][2] - ticks[0][2]) / perCss / Math.abs(ticks[1][0] - ticks[0][0]);
      const paths = { fine: '', middle: '', long: '' };
      const labels = [];
      const every = pitch * 10 > 42 ? 10 : pitch * 50 > 42 ? 50 : 100;
      for (const [mm, u, v, du, dv] of ticks) {
        const kind = mm % 10 === 0 ? 'long' : mm % 5 === 0 ? 'middle' : 'fine';
        if ((kind === 'fine' && pitch < 4) || (kind === 'middle' && pitch * 5 < 4)) continue;
        const half = { fine: 5, middle: 8, long: 13 }[kind] * perCss;
        paths[kind] += `M${u - half * du} ${v - half * dv}L${u + half * du} ${v + half * dv}`;
        if (mm % every === 0) labels.push(this.#picture.words('tick-label', String(mm), u + (half + 15 * perCss) * du, v + (half + 15 * perCss) * dv + 4 * perCss, 13));
      }
      overlay.append(draw('path', { class: 'tick', d: paths.fine, 'stroke-width': 1, 'vector-effect': 'non-scaling-stroke' }), this.#picture.line('tick', paths.middle, 1.2), this.#picture.line('tick', paths.long, 1.6), ...labels);
    }
    const fits = this.#fits();
    for (const mark of this.#marks) {
      const fit = fits.get(mark.id);
      if (!fit) continue;
      if (fit.doubtful) {
        // From the mark to where the scale has its reading.
        const where = ticks.find(t => t[0] === mark.reading);
        if (where) overlay.append(this.#picture.line('pull', `M${mark.u} ${mark.v}L${where[1]} ${where[2]}`, 2, '5 4'));
      }

      // On the side of the ticks that has no readings.
      const [, , , du, dv] = ticks[0] ?? [0, 0, 0, 0, 1], isUpright = Math.abs(du) > Math.abs(dv);
      const text = this.#marks.length < 3 && !fit.doubtful ? String(mark.reading) : `${mark.reading}: ${signed(fit.residual_mm, 2)}${fit.doubtful ? ' mm, wrong?' : ''}`;
      const words = this.#picture.words(fit.doubtful ? 'residual doubtful' : 'residual', text,
        mark.u - 22 * perCss * du, mark.v - (dv > 0 || isUpright ? 20 : 30) * perCss * dv + (isUpright ? 4 * perCss : 0), fit.doubtful ? 16 : 13);
      words.setAttribute('text-anchor', isUpright ? (du > 0 ? 'end' : 'start')
        : mark.u < 60 * perCss ? 'start' : mark.u > this.#picture.width - 60 * perCss ? 'end' : 'middle');
      overlay.append(words);
    }
  }
}

/**
 * @param {HTMLTableCellElement} cell
 * @param {string} text
 * @param {string} label
 */
function fill(cell, text, label) {
  const field = /** @type {HTMLInputElement} */ (cell.firstElementChild);
  field.setAttribute('aria-label', label);
  field.defaultValue = text;
  if (document.activeElement !== field) field.value = text;
}

/** @param {string} text */
function numberOf(text) {
  const plain = text.trim().replace(',', '.').replace('−', '-');
  const number = Number(plain);
  return plain !== '' && Number.isFinite(number) ? number : null;
}

/**
 * @param {number} value
 * @param {number} [digits]
 */
const round = (value, digits = 2) => Number(value.toFixed(digits));

/**
 * @param {number} value
 * @param {number} digits
 */
function signed(value, digits) {
  const text = Math.abs(value).toFixed(digits);
  return Number(text) === 0 ? text : (value < 0 ? '−' : '+') + text;
}
