import { button, byId, element, input, make, show, showFindings } from '../modules/dom.js';
import { Picture } from '../modules/picture.js';
import { Refused, sendClip, Unreachable } from '../modules/server.js';

/** The first sheet: which clip. */
export class ClipSheet {
  #picture = new Picture(byId('clip-picture'));
  #shown = '';

  /** @type {AbortController | null} */
  #sending = null;

  /** @param {import('../worksheet.js').Desk} desk */
  constructor(desk) {
    this.desk = desk;
    const choose = input('choose'), drop = byId('drop');
    choose.addEventListener('change', () => {
      if (choose.files?.[0]) this.#send(choose.files[0]);
      choose.value = '';
    });

    // Anywhere on the page: a clip that misses the frame must not replace the page.
    document.addEventListener('dragover', e => {
      e.preventDefault();
      drop.classList.add('over');
    });
    document.addEventListener('dragleave', e => {
      if (e.relatedTarget === null) drop.classList.remove('over');
    });
    document.addEventListener('drop', e => {
      e.preventDefault();
      drop.classList.remove('over');
      const files = e.dataTransfer?.files;
      if (files && files.length > 1) this.#problem('One clip at a time, please.');
      else if (files?.[0]) this.#send(files[0]);
    });
    button('upload-cancel').addEventListener('click', () => this.#sending?.abort());
  }

  /** @param {import('../modules/types.js').State} state */
  update(state) {
    const clip = state.clip;
    show(byId('clip-open'), clip !== null);
    if (!clip) {
      showFindings(byId('clip-findings'), []);
      this.#shown = '';
      return;
    }
    if (this.#shown !== clip.sha256) {
      this.#shown = clip.sha256;
      this.#picture.size(clip.width_px, clip.height_px);
      this.#picture.wait('The first frame is on its way…');
      this.desk.frames.get(0).then(bitmap => {
        if (this.#shown === clip.sha256) this.#picture.paint(bitmap, 'The first frame of the clip');
      }, failure => this.#picture.wait(failure.message));
    }
    this.updateFrames(state);
    showFindings(byId('clip-findings'), clip.findings);
  }

  /**
   * What is known of the frames, which grows while the clip is looked through.
   * @param {import('../modules/types.js').State} state
   */
  updateFrames({ clip, folder }) {
    if (!clip) return;
    const { count, complete, problem } = clip.frames;
    const seconds = clip.duration_s;
    byId('clip-caption').textContent = problem ? `The clip could not be read to its end: ${problem}`
      : complete ? 'The first frame. The whole clip has been looked through.'
        : `The first frame. Looking through the clip: ${count} frames so far…`;
    const frames = complete ? count : clip.announced_frames;
    const facts = [
      ['File', clip.name],
      ['Picture', `${clip.width_px} × ${clip.height_px} px, ${clip.bit_depth} bit`],
      ['Frames', frames === null ? '' : complete ? String(frames) : `${frames} announced`],
      ['Duration', seconds === null ? '' : `${seconds.toFixed(2)} s`],
      ['Frame rate', seconds && frames ? `${(frames / seconds).toFixed(2)} frames a second, on average` : ''],
      ['Format', `${clip.codec} in ${clip.container}`],
      ['Size', `${(clip.bytes / 1e6).toFixed(clip.bytes < 1e7 ? 2 : 0)} MB`],
      ['SHA-256', `${clip.sha256.slice(0, 16)}…`],
      ['Work folder', folder],
    ];
    byId('clip-facts').replaceChildren(...facts.filter(([, words]) => words !== '').map(([name, words]) =>
      make('tr', {}, make('th', { scope: 'row' }, name), make('td', { class: 'wrap' }, words))));
  }

  /** @param {File} file */
  async #send(file) {
    this.#problem(null);
    const limit = this.desk.notebook.state?.max_upload_bytes ?? Infinity;
    if (file.size > limit) {
      this.#problem(`${file.name} has ${(file.size / 1e6).toFixed(0)} MB; no more than ${(limit / 1e6).toFixed(0)} MB are copied here. Start the worksheet with the clip instead: streaktrack open CLIP.`);
      return;
    }
    this.#sending?.abort();
    const stop = new AbortController();
    this.#sending = stop;
    const bar = element('upload-bar', HTMLProgressElement);
    const words = byId('upload-words');
    words.textContent = `Copying ${file.name}…`;
    bar.value = 0;
    show(byId('upload'), true);
    try {
      await sendClip(file, share => {
        bar.value = share;
        if (share >= 1) words.textContent = `Reading ${file.name}…`;
      }, stop.signal);
      await this.desk.notebook.refresh();
      byId('clip-title').scrollIntoView({ block: 'start' });
    } catch (failure) {
      if (failure instanceof Refused || failure instanceof Unreachable) this.#problem(failure.message);
      else if (!stop.signal.aborted) throw failure;
    } finally {
      if (this.#sending === stop) show(byId('upload'), false);
    }
  }

  /** @param {string | null} text */
  #problem(text) {
    const host = byId('upload-problem');
    host.textContent = text;
    show(host, text !== null);
  }
}
