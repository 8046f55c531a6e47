// One variant as the page knows it: its state at the server, the changes on their way there, and the news of its body.

import { ask, later, Refused } from './app_api.js';

const SHOWN = 80; // letters of what was typed that a message repeats

export class Variant extends EventTarget {
  /**
   * Events: 'state' (anything but the solids), 'waiting' (what is still to be sent), 'body' (a new scene), 'trouble' (a Refused
   * that passes), 'well' (it answers again), 'refused' (words: a change was not taken, and is not sent again).
   * waiting: changes that are still to be sent, from before a reload.
   */
  constructor(state, waiting = []) {
    super();
    this.state = state;
    this.scene = null;
    this.waiting = [...waiting]; // a newer change to the same field takes an older one's place
    this.busy = null;
    this.closed = new AbortController();
  }

  /** Sends what is waiting and listens for news; called once whoever wants to hear of it listens. */
  begin() {
    this.sent();
    this.watch();
  }

  static async open(opening) {
    return new Variant(await ask('/api/variants', { method: 'POST', content: opening }));
  }

  /** Takes up a variant that the tab had open; where the server no longer has it, it is opened anew. */
  static async found(kept) {
    try {
      return new Variant(await ask(`/api/variants/${kept.id}`), kept.waiting);
    } catch (error) {
      if (error.status !== 404) throw error;
      return new Variant(await anew(kept), kept.waiting);
    }
  }

  /** What has to be remembered to take it up again. */
  get kept() {
    const { id, text, source, saved, saved_as, untouched } = this.state;
    return { id, text, source, saved, saved_as, untouched, name: this.name.slice(0, 300), waiting: this.waiting };
  }

  get isUnsaved() {
    return this.waiting.length > 0 || !(this.state.saved || this.state.untouched);
  }

  get path() {
    return `/api/variants/${this.state.id}`;
  }

  get name() {
    return this.state.values.name || this.state.source.name || 'A set without a name';
  }

  tell(name, detail = null) {
    this.dispatchEvent(new CustomEvent(name, { detail }));
  }

  // ---- changes -----------------------------------------------------------------------------------------------------------

  /** change: { do, path, typed, stroke }. Resolves when it, or a newer one to the same field, has been answered. */
  change(change) {
    this.waiting = this.waiting.filter((one) => !(one.do === 'write' && change.do === 'write' && one.path === change.path));
    this.waiting.push({ ...change, once: crypto.randomUUID() }); // sent twice after an answer that was lost, it is done once
    this.tell('waiting');
    return this.sent();
  }

  get settled() {
    return !this.busy;
  }

  sent() {
    this.busy ??= this.send().finally(() => { this.busy = null; });
    return this.busy;
  }

  async send() {
    while (this.waiting.length) {
      const [change] = this.waiting;
      if (!(await this.post('changes', change))) continue;
      this.waiting = this.waiting.filter((one) => one !== change);
      this.tell('waiting');
    }
  }

  /** True where it is over with, for good or ill; false where it has to be sent again. */
  async post(what, content = null) {
    try {
      this.take(await ask(`${this.path}/${what}`, { method: 'POST', content }));
      this.tell('well');
      return true;
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      if (error.status === 404 && (await this.reopened())) return false;
      if (error.status === 404 || error.isPassing) {
        this.tell('trouble', error);
        await later();
        return false;
      }
      this.tell('refused', notTaken(error.message, content?.typed ?? ''));
      return true;
    }
  }

  /** The server was started anew: the set is given to it again. */
  reopened() {
    this.reopening ??= this.reopen().finally(() => { this.reopening = null; });
    return this.reopening;
  }

  async reopen() {
    try {
      this.take(await anew(this.kept));
      return true;
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      return false;
    }
  }

  undo() {
    return this.sent().then(() => this.post('undo'));
  }

  redo() {
    return this.sent().then(() => this.post('redo'));
  }

  /** Saves into the folder of sets; raises Refused, for the caller to show. */
  async save(name, over = '') {
    await this.sent();
    this.take(await ask(`${this.path}/save`, { method: 'POST', content: { name, over } }));
  }

  take(state) {
    this.state = state;
    this.tell('state');
  }

  // ---- the body ----------------------------------------------------------------------------------------------------------

  async watch() {
    const { signal } = this.closed;
    let shown = 0;
    let owner = null;
    let last = 0;
    while (!signal.aborted) {
      try {
        // Another variant, or the same one at a server that was started anew and counts from the beginning.
        if (owner !== this.state.id || this.state.news < last) [owner, shown] = [this.state.id, 0];
        last = this.state.news;
        if (this.state.body.of && this.state.body.of !== shown) {
          this.scene = await ask(`${this.path}/body`, { signal });
          shown = this.state.body.of;
          if (this.scene) this.tell('body');
        }
        const { id, revision } = this.state;
        const news = await ask(`${this.path}/news?after=${this.state.news}`, { signal });
        if (id !== this.state.id) continue;
        const isAnew = news.news < this.state.news && revision === this.state.revision;
        if (isAnew || (news.revision !== this.state.revision && this.settled)) {
          const found = await ask(this.path, { signal });
          if (isAnew || (found.id === this.state.id && found.revision >= this.state.revision)) this.take(found);
        } else if (news.news >= this.state.news) {
          this.take({ ...this.state, ...news, revision: this.state.revision });
        }
        this.tell('well');
      } catch (error) {
        if (error.name === 'AbortError') return;
        if (error.status === 404 && (await this.reopened())) continue;
        if (error.isPassing) this.tell('trouble', error);
        await later();
      }
    }
  }

  /** Lets go of it as soon as all that was typed has been sent; a draft of what is not saved stays at the server. */
  async close() {
    this.closed.abort();
    await this.sent();
    await ask(this.path, { method: 'DELETE' }).catch(() => {});
  }
}

/** Why a change was not taken, with what was typed, unless the reason repeats it. */
function notTaken(reason, typed) {
  if (!typed || reason.includes(typed.slice(0, 20))) return `Not taken: ${reason}.`;
  return `${reason} Not taken: “${typed.slice(0, SHOWN)}${typed.length > SHOWN ? '…' : ''}”.`;
}

/** Opens a set again from where it came, if it is still the same there, else from its text. */
async function anew({ text, name, source, saved, saved_as: file, untouched }) {
  const opening = saved ? { kind: 'file', name: file } : { kind: source?.kind, name: source?.name };
  if (['shipped', 'file'].includes(opening.kind) && (saved || untouched)) {
    try {
      const made = await ask('/api/variants', { method: 'POST', content: opening });
      if (made.text === text) return made;
      await ask(`/api/variants/${made.id}`, { method: 'DELETE' });
    } catch (error) {
      if (!(error instanceof Refused) || error.isPassing) throw error;
    }
  }
  return ask('/api/variants', { method: 'POST', content: { kind: untouched ? 'text' : 'kept', name, text } });
}
