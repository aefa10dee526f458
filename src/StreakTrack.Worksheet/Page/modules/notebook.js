import { ask, Refused, Unreachable } from './server.js';

/** Pause before the program is asked again that did not answer, in ms. */
const AGAIN = 1000;

/**
 * The notebook as this page knows it: what the program last said, and the way to change it. Changes go one after the other and name the version they
 * were made to, so that two tabs cannot overwrite each other's work.
 *
 * @typedef {import('./types.js').State} State
 * @typedef {import('./types.js').Series} Series
 */
export class Notebook extends EventTarget {
  /** @type {State | null} */
  state = null;

  /** @type {Series | null} */
  series = null;

  /** Whether the program answers. */
  connected = true;

  #queue = Promise.resolve();
  #asking = 0;
  #refreshing = false;
  #again = false;

  /** Begins to listen to the program. */
  async start() {
    await this.refresh();
    this.#listen();
  }

  /** Asks for everything that is newer than what is known. */
  async refresh() {
    if (this.#refreshing) {
      this.#again = true;
      return;
    }
    this.#refreshing = true;
    try {
      do {
        this.#again = false;
        await this.#take(await ask('api/state'));
      } while (this.#again);
      this.#tellConnection(true);
    } catch (failure) {
      if (failure instanceof Unreachable) this.#tellConnection(false);
      else if (failure instanceof Refused) this.tell(failure.message, 'error');
      else throw failure;
    } finally {
      this.#refreshing = false;
    }
  }

  /**
   * Makes a change, after those under way.
   * @param {string} path
   * @param {object | (() => object)} body without its version; a function is called when its turn has come
   * @returns {Promise<boolean>} whether it was taken
   */
  change(path, body) {
    const turn = this.#queue.then(() => this.#change(path, body));
    this.#queue = turn.then(() => undefined);
    return turn;
  }

  /**
   * Says something to the user.
   * @param {string} text
   * @param {'info' | 'warning' | 'error'} [kind]
   */
  tell(text, kind = 'info') {
    this.dispatchEvent(new CustomEvent('notice', { detail: { text, kind } }));
  }

  /**
   * Takes a state that came as an answer.
   * @param {State} state
   */
  async #take(state) {
    const before = this.state;
    if (before && before.clip?.sha256 === state.clip?.sha256 && state.revision < before.revision) return;
    this.state = state;
    const hasSeries = state.fit !== null || state.streak?.measured;
    if (state.clip === null || !hasSeries) this.series = null;
    else if (this.series === null || before === null || before.revision !== state.revision || before.clip?.sha256 !== state.clip.sha256)
      this.series = await ask('api/series');
    this.dispatchEvent(new CustomEvent('change', { detail: { before } }));
  }

  /**
   * @param {string} path
   * @param {object | (() => object)} body
   */
  async #change(path, body) {
    if (this.state === null) return false;
    try {
      const said = typeof body === 'function' ? body() : body;
      await this.#take(await ask(path, { body: { version: this.state.version, ...said } }));
      return true;
    } catch (failure) {
      if (failure instanceof Unreachable) {
        this.#tellConnection(false);
      } else if (failure instanceof Refused) {
        if (failure.status === 409) {
          this.tell('Another tab was quicker. This page now shows what stands in the notebook; your last change was not taken, please make it again.', 'warning');
          await this.refresh();
        } else {
          this.tell(failure.message, 'error');
        }
      } else {
        throw failure;
      }
      this.dispatchEvent(new CustomEvent('change', { detail: { before: this.state } }));
      return false;
    }
  }

  #listen() {
    const events = new EventSource('api/events');
    events.addEventListener('hello', () => this.refresh());
    events.addEventListener('clip', () => this.refresh());
    events.addEventListener('changed', e => {
      const told = JSON.parse(e.data);
      if (!this.state || told.revision !== this.state.revision) this.refresh();
    });
    events.addEventListener('frames', e => {
      if (!this.state?.clip) return;
      const { count, complete } = JSON.parse(e.data);
      this.state.clip.frames = { ...this.state.clip.frames, count, complete };
      this.dispatchEvent(new CustomEvent('frames'));
      if (complete) this.refresh();
    });
    events.addEventListener('measuring', e => this.dispatchEvent(new CustomEvent('measuring', { detail: JSON.parse(e.data) })));
    events.onerror = () => {
      this.#tellConnection(false);

      // The browser tries again by itself, unless it was turned away.
      if (events.readyState === EventSource.CLOSED) setTimeout(() => this.#listen(), 2000);
    };
  }

  /** @param {boolean} connected */
  #tellConnection(connected) {
    // Whatever failed, news or a change: ask again until there is an answer.
    clearTimeout(this.#asking);
    if (!connected) this.#asking = setTimeout(() => this.refresh(), AGAIN);
    if (connected === this.connected) return;
    this.connected = connected;
    this.dispatchEvent(new CustomEvent('connection'));
  }
}
