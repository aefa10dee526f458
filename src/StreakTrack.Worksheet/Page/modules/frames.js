import { askPicture } from './server.js';

/** Frames kept in the browser: the filmstrip and a few more. */
const KEPT = 26;

/** Pictures of frames, asked for once and given up when nobody looks at them any more. */
export class Frames {
  /** @type {Map<number, { picture: Promise<ImageBitmap>, stop: AbortController, isThere: boolean }>} */
  #frames = new Map();
  #clip = '';

  /**
   * Takes another clip.
   * @param {string} sha256
   */
  open(sha256) {
    if (sha256 === this.#clip) return;
    this.#clip = sha256;
    for (const frame of this.#frames.values()) frame.stop.abort();
    this.#frames.clear();
  }

  /**
   * The picture of a frame.
   * @param {number} frame
   * @returns {Promise<ImageBitmap>}
   */
  get(frame) {
    let asked = this.#frames.get(frame);
    if (!asked) {
      const stop = new AbortController();
      const picture = askPicture(`api/frame/${frame}?clip=${this.#clip.slice(0, 16)}`, stop.signal);
      asked = { picture, stop, isThere: false };
      const entry = asked;
      picture.then(() => { entry.isThere = true; }, () => { if (this.#frames.get(frame) === entry) this.#frames.delete(frame); });
    }
    this.#frames.delete(frame);
    this.#frames.set(frame, asked);
    for (const [oldest, entry] of this.#frames) {
      if (this.#frames.size <= KEPT) break;
      this.#frames.delete(oldest);
      entry.stop.abort();
    }
    return asked.picture;
  }

  /**
   * Gives up what is still on its way and not wanted.
   * @param {Set<number>} wanted
   */
  keepOnly(wanted) {
    for (const [frame, entry] of this.#frames) {
      if (!entry.isThere && !wanted.has(frame)) {
        this.#frames.delete(frame);
        entry.stop.abort();
      }
    }
  }
}
