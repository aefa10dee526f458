import { byId, make, show } from './modules/dom.js';
import { Frames } from './modules/frames.js';
import { Notebook } from './modules/notebook.js';
import { startScheme } from './modules/scheme.js';
import { ClipSheet } from './sheets/clip.js';
import { FitSheet } from './sheets/fit.js';
import { ResultsSheet } from './sheets/results.js';
import { RulerSheet } from './sheets/ruler.js';
import { StreakSheet } from './sheets/streak.js';

/**
 * What the sheets share.
 *
 * @typedef {object} Desk
 * @property {Notebook} notebook
 * @property {Frames} frames
 * @property {(options: object) => Promise<boolean>} setOptions changes settings, by their names in the record
 * @property {(words: string) => void} say says something in passing
 * @property {(frame: number) => void} goToFrame looks at a frame in the third sheet
 * @property {() => number | null} timeOfFrame time of the frame looked at, in s
 * @property {() => void} frameChanged told when another frame is looked at
 */

startScheme();
const notebook = new Notebook();

/** @type {Desk} */
const desk = {
  notebook,
  frames: new Frames(),
  setOptions: options => notebook.change('api/options', { options }),
  say: words => notice(words, 'info', 4000),
  goToFrame: frame => streak.goTo(frame),
  timeOfFrame: () => streak.timeOf(streak.frame),
  frameChanged: () => fit.frameChanged(),
};
const clip = new ClipSheet(desk), ruler = new RulerSheet(desk), streak = new StreakSheet(desk), fit = new FitSheet(desk), results = new ResultsSheet(desk);

notebook.addEventListener('change', () => {
  const state = notebook.state;
  if (!state) return;
  desk.frames.open(state.clip?.sha256 ?? '');
  byId('cover-clip').textContent = state.clip?.name ?? 'no clip yet';
  document.title = state.clip ? `${state.clip.name} – StreakTrack worksheet` : 'StreakTrack worksheet';
  clip.update(state);
  if (state.clip) {
    ruler.update(state);
    streak.update(state);
    fit.update(state);
    results.update(state);
  }
  markDone(state);
  showSaved(state);
});
notebook.addEventListener('frames', () => {
  if (!notebook.state) return;
  clip.updateFrames(notebook.state);
  streak.updateFrames();
});
notebook.addEventListener('notice', e => {
  const { text, kind } = /** @type {CustomEvent} */ (e).detail;
  notice(text, kind);
});
notebook.addEventListener('connection', () => {
  document.getElementById('lost')?.remove();
  if (!notebook.connected) {
    byId('notices').append(make('p', { class: 'notice warning', id: 'lost' },
      'StreakTrack does not answer at the moment. What was done is saved; this page goes on by itself when it answers again. If it was closed, start it again with the same clip and open the address that it prints.'));
  }
});
notebook.start();

// Other tabs of this worksheet: they show the same work, which is said and not forbidden.
const others = new BroadcastChannel('streaktrack-tabs'), here = Math.random();
/** @type {Set<number>} */
const tabs = new Set();
others.addEventListener('message', e => {
  const { tab, isOpen, isNew } = e.data;
  if (isOpen) tabs.add(tab);
  else tabs.delete(tab);
  if (isNew) others.postMessage({ tab: here, isOpen: true });
  if (notebook.state) showSaved(notebook.state);
});
others.postMessage({ tab: here, isOpen: true, isNew: true });
addEventListener('pagehide', () => others.postMessage({ tab: here, isOpen: false }));

/**
 * @param {string} text
 * @param {'info' | 'warning' | 'error'} kind
 * @param {number} [forMs] until it goes by itself; it stays when left out
 */
function notice(text, kind, forMs) {
  const shown = make('p', { class: `notice ${kind}` }, text);
  if (forMs) {
    setTimeout(() => shown.remove(), forMs);
  } else {
    const away = make('button', { type: 'button' }, 'Read');
    away.addEventListener('click', () => shown.remove());
    shown.append(away);
  }
  const host = byId('notices');
  for (const other of host.children) if (other.id !== 'lost' && (other.firstChild?.textContent === text || host.children.length > 2)) other.remove();
  host.append(shown);
}

/** @param {import('./modules/types.js').State} state */
function markDone(state) {
  const { clip: open, ruler: scale, streak: measured, fit: fitted } = state;
  const isMeasured = measured?.measured !== null && measured?.measured !== undefined && !measured.outdated;
  const isDoubtful = scale?.marks?.some(m => m.doubtful) ?? false;
  /** @type {[string, boolean, string][]} */
  const marks = [
    ['clip', open !== null, 'to do'],
    ['ruler', scale?.mm_per_px !== undefined && !isDoubtful, isDoubtful ? 'look again' : 'to do'],
    ['streak', isMeasured, measured?.measuring ? 'at work' : measured?.outdated ? 'measure again' : 'to do'],
    ['fit', isMeasured && fitted?.model !== null && fitted?.model !== undefined && !state.is_settling, state.is_settling ? 'at work' : 'to do'],
    ['results', state.reported === true && isMeasured, 'to do'],
  ];
  for (const [id, isDone, else_] of marks) {
    const mark = byId(`${id}-mark`);
    mark.textContent = isDone ? 'done' : else_;
    mark.classList.toggle('done', isDone);
    const link = byId(`to-${id}`);
    link.classList.toggle('done', isDone);
    byId(`to-${id}-mark`).textContent = isDone ? ', done' : `, ${else_}`;
  }
}

/** @param {import('./modules/types.js').State} state */
function showSaved(state) {
  const saved = byId('saved');
  show(saved, state.clip !== null);
  saved.textContent = state.saving_problem ? '' : tabs.size > 0 ? 'Saved. Open in another tab too; both show the same work.' : 'Saved.';
  const id = 'saving-problem';
  document.getElementById(id)?.remove();
  if (state.saving_problem) byId('notices').append(make('p', { class: 'notice error', id }, state.saving_problem));
}
