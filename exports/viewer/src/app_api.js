// Questions to the app's server, and its refusals in words.

export class Refused extends Error {
  /** status: 0 where the server does not answer at all; seen: mark of the file that is in the way of saving. */
  constructor(said, status, seen = '') {
    super(said);
    this.status = status;
    this.seen = seen;
  }

  /** Whether the same request may be taken another time: the server is away, is too busy, or does not know this browser yet. */
  get isPassing() {
    return PASSING.includes(this.status);
  }
}

const PASSING = [0, 403, 408, 429, 503];
const AGAIN = 2000; // ms until a server that did not answer is asked again
const LAST_LETTERS = 20_000; // letters that a page which is being left may still send; a browser takes 64 kB then
let isLeaving = false;
window.addEventListener('pagehide', () => { isLeaving = true; });
window.addEventListener('pageshow', () => { isLeaving = false; });

const SILENT = 'The app does not answer. It may have been stopped: start it again with planestock serve. What you typed is kept here.';

export async function ask(path, { method = 'GET', content = null, signal = null } = {}) {
  const answer = await reached(path, method, content, signal);
  if (answer.status === 204) return null;
  if (!answer.ok) throw await refused(answer);
  return answer.json();
}

async function reached(path, method, content, signal) {
  const headers = content === null ? {} : { 'content-type': 'application/json' };
  const body = content === null ? null : JSON.stringify(content);
  try {
    return await fetch(path, { method, headers, body, signal, keepalive: isLeaving && (body ?? '').length < LAST_LETTERS });
  } catch (error) {
    if (error.name === 'AbortError') throw error;
    throw new Refused(SILENT, 0);
  }
}

async function refused(answer) {
  try {
    const { said, seen } = await answer.json();
    return new Refused(said, answer.status, seen);
  } catch {
    return new Refused(`The app could not do this (${answer.status}).`, answer.status);
  }
}

export const later = (ms = AGAIN) => new Promise((done) => { setTimeout(done, ms); });

/** Does something again and again until the server has an answer to it; told(error) meanwhile. */
export async function patiently(deed, told) {
  for (;;) {
    try {
      return await deed();
    } catch (error) {
      if (!error.isPassing) throw error;
      told(error);
      await later();
    }
  }
}
