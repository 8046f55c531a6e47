// Questions to the app's server, and its refusals in words.

export class Refused extends Error {
  /** status: 0 where the server does not answer at all; seen: mark of the file that is in the way of saving. */
  constructor(said, status, seen = '') {
    super(said);
    this.status = status;
    this.seen = seen;
  }
}

const SILENT = 'The app does not answer. It may have been stopped: start it again with planestock serve. What you typed is kept here.';

export async function ask(path, { method = 'GET', content = null, signal = null } = {}) {
  const answer = await reached(path, method, content, signal);
  if (answer.status === 204) return null;
  if (!answer.ok) throw await refused(answer);
  return answer.json();
}

async function reached(path, method, content, signal) {
  const headers = content === null ? {} : { 'content-type': 'application/json' };
  try {
    return await fetch(path, { method, headers, body: content === null ? null : JSON.stringify(content), signal, keepalive: method === 'POST' && !signal });
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

export const later = (ms) => new Promise((done) => { setTimeout(done, ms); });
