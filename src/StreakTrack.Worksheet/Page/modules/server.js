/** Talking to the program that serves this page. */

/** The program said no, and why. */
export class Refused extends Error {
  /**
   * @param {number} status
   * @param {string} text
   */
  constructor(status, text) {
    super(text);
    this.status = status;
  }
}

/** The program does not answer. */
export class Unreachable extends Error {}

/**
 * Asks for JSON.
 * @param {string} path
 * @param {{ body?: object, signal?: AbortSignal }} [how] with a body it is a change
 * @returns {Promise<any>}
 */
export async function ask(path, { body, signal } = {}) {
  const response = await reach(path, body === undefined
    ? { signal }
    : { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body), signal });
  return response.json();
}

/**
 * Asks for a picture.
 * @param {string} path
 * @param {AbortSignal} [signal]
 * @returns {Promise<ImageBitmap>}
 */
export async function askPicture(path, signal) {
  return createImageBitmap(await (await reach(path, { signal })).blob());
}

/**
 * @param {string} path
 * @param {RequestInit} init
 */
async function reach(path, init) {
  let response;
  try {
    response = await fetch(path, init);
  } catch (failure) {
    if (init.signal?.aborted) throw failure;
    throw new Unreachable('StreakTrack does not answer.');
  }
  if (!response.ok) throw new Refused(response.status, await problemOf(response));
  return response;
}

/** @param {Response} response */
async function problemOf(response) {
  const text = await response.text();
  try {
    return JSON.parse(text).problem ?? text;
  } catch {
    return text;
  }
}

/**
 * Copies a clip to the work folder.
 * @param {File} file
 * @param {(share: number) => void} progress
 * @param {AbortSignal} signal
 * @returns {Promise<import('./types.js').State>}
 */
export function sendClip(file, progress, signal) {
  return new Promise((resolve, reject) => {
    // Only this older interface tells how much of an upload has gone.
    const request = new XMLHttpRequest();
    request.open('POST', 'api/clip');
    request.setRequestHeader('X-Clip-Name', encodeURIComponent(file.name));
    request.setRequestHeader('Content-Type', 'application/octet-stream');
    request.upload.onprogress = e => progress(e.total > 0 ? e.loaded / e.total : 0);
    request.onload = () => {
      let answer;
      try {
        answer = JSON.parse(request.responseText);
      } catch {
        answer = { problem: request.responseText };
      }
      if (request.status === 200) resolve(answer);
      else reject(new Refused(request.status, answer.problem));
    };
    request.onerror = () => reject(new Unreachable('The copy broke off: StreakTrack does not answer, or the file could not be read.'));
    request.onabort = () => reject(new DOMException('stopped', 'AbortError'));
    signal.addEventListener('abort', () => request.abort());
    request.send(file);
  });
}
