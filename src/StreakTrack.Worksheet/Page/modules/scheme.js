/** Light or dark, and the colours of figures that follow from it. */

const KEY = 'streaktrack-scheme';
const NAMES = /** @type {const} */ (['paper', 'ink', 'muted', 'faint', 'edge', 'data', 'model', 'band', 'left-out', 'outlier', 'accent']);

/** @typedef {Record<(typeof NAMES)[number], string>} Palette */

/** @type {Palette | null} */
let palette = null;

/** @type {(() => void)[]} */
const followers = [];

/** The colours as they are now. */
export function colours() {
  if (palette) return palette;
  const probe = document.createElement('span');
  document.body.append(probe);
  palette = /** @type {Palette} */ (Object.fromEntries(NAMES.map(name => {
    probe.style.color = `var(--${name})`;
    return [name, getComputedStyle(probe).color];
  })));
  probe.remove();
  return palette;
}

/**
 * Calls back when the colours change.
 * @param {() => void} follower
 */
export function onScheme(follower) {
  followers.push(follower);
}

function changed() {
  palette = null;
  followers.forEach(f => f());
}

/** Reads and keeps the choice of the page's header. */
export function startScheme() {
  const choices = /** @type {NodeListOf<HTMLInputElement>} */ (document.querySelectorAll('input[name=scheme]'));
  const kept = localStorage.getItem(KEY) ?? 'auto';
  for (const choice of choices) {
    choice.checked = choice.value === kept;
    choice.addEventListener('change', () => {
      localStorage.setItem(KEY, choice.value);
      apply(choice.value);
    });
  }
  matchMedia('(prefers-color-scheme: dark)').addEventListener('change', changed);
  apply(kept);
}

/** @param {string} choice */
function apply(choice) {
  if (choice === 'auto') delete document.documentElement.dataset.scheme;
  else document.documentElement.dataset.scheme = choice;
  changed();
}
