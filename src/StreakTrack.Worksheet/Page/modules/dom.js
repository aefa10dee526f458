/** Finding and making elements. */

/**
 * The element of an id; the page always has it.
 * @param {string} id
 */
export const byId = id => element(id, HTMLElement);

/** @param {string} id */
export const input = id => element(id, HTMLInputElement);

/** @param {string} id */
export const button = id => element(id, HTMLButtonElement);

/**
 * The element of an id, of a certain kind.
 * @template {HTMLElement} T
 * @param {string} id
 * @param {new () => T} kind
 * @returns {T}
 */
export function element(id, kind) {
  const found = document.getElementById(id);
  if (!(found instanceof kind)) throw new Error(`The page has no ${id}.`);
  return found;
}

/**
 * Makes an HTML element.
 * @template {keyof HTMLElementTagNameMap} K
 * @param {K} tag
 * @param {Record<string, string | number | boolean | null | undefined>} [attributes] false, null and undefined are left out
 * @param {...(Node | string | null | undefined)} children
 * @returns {HTMLElementTagNameMap[K]}
 */
export function make(tag, attributes = {}, ...children) {
  const made = document.createElement(tag);
  dress(made, attributes);
  made.append(...children.filter(c => c !== null && c !== undefined));
  return made;
}

/**
 * Makes an SVG element.
 * @template {keyof SVGElementTagNameMap} K
 * @param {K} tag
 * @param {Record<string, string | number | boolean | null | undefined>} [attributes]
 * @param {...(Node | string)} children
 * @returns {SVGElementTagNameMap[K]}
 */
export function draw(tag, attributes = {}, ...children) {
  const made = document.createElementNS('http://www.w3.org/2000/svg', tag);
  dress(made, attributes);
  made.append(...children);
  return made;
}

/**
 * @param {Element} made
 * @param {Record<string, string | number | boolean | null | undefined>} attributes
 */
function dress(made, attributes) {
  for (const [name, value] of Object.entries(attributes)) {
    if (value === false || value === null || value === undefined) continue;
    made.setAttribute(name, value === true ? '' : String(value));
  }
}

/**
 * The head of a column of numbers.
 * @param {string} text
 */
export const number = text => ({ text, number: /** @type {const} */ (true) });

/**
 * A table.
 * @param {string} caption
 * @param {(string | { text: string, number: true })[]} heads
 * @param {{ cells: (string | Node)[], chosen?: boolean }[]} rows
 */
export function table(caption, heads, rows) {
  const isNumber = heads.map(h => typeof h !== 'string');
  return make('div', { class: 'scroll', tabindex: 0, role: 'region', 'aria-label': caption },
    make('table', {},
      make('caption', {}, caption),
      make('thead', {}, make('tr', {}, ...heads.map(h => make('th', { scope: 'col', class: typeof h === 'string' ? null : 'number' }, typeof h === 'string' ? h : h.text)))),
      make('tbody', {}, ...rows.map(row => make('tr', { class: row.chosen ? 'chosen' : null },
        ...row.cells.map((cell, i) => i === 0 ? make('th', { scope: 'row' }, cell) : make('td', { class: isNumber[i] ? 'number' : null }, cell)))))));
}

/**
 * Shows or hides.
 * @param {HTMLElement} host
 * @param {boolean} shown
 */
export function show(host, shown) {
  host.hidden = !shown;
}

/**
 * Shows findings with their advice.
 * @param {HTMLElement} host
 * @param {readonly import('./types.js').Finding[]} findings
 * @param {(frame: number) => void} [goTo] looks at a frame that a finding names
 */
export function showFindings(host, findings, goTo) {
  const words = { error: 'Cannot stand', warning: 'Look at this', info: 'Remark' };
  host.replaceChildren(...(findings.length === 0 ? [] : [make('ul', { class: 'findings' }, ...findings.map(f =>
    make('li', { class: f.severity }, make('p', {}, make('b', {}, `${words[f.severity]}. `), ...(goTo ? withFrames(f.message, goTo) : [f.message])),
      make('p', {}, f.advice))))]));
}

/**
 * A sentence in which the numbers after "frame" or "frames" lead to these frames.
 * @param {string} sentence
 * @param {(frame: number) => void} goTo
 * @returns {(string | HTMLElement)[]}
 */
function withFrames(sentence, goTo) {
  const list = /\bframes? (\d+(?:(?:, | and )\d+)*)/.exec(sentence);
  if (!list) return [sentence];
  const from = list.index + list[0].length - list[1].length;
  return [sentence.slice(0, from), ...list[1].split(/(\d+)/).map(part => {
    if (!/^\d+$/.test(part)) return part;
    const to = make('button', { type: 'button', class: 'in-text', 'aria-label': `${part}, look at this frame` }, part);
    to.addEventListener('click', () => goTo(Number(part)));
    return to;
  }), sentence.slice(from + list[1].length)];
}
