// One variant as the page knows it: its state at the server, the changes on their way there, and the news of its body.

import { ask, later, Refused } from './app_api.js';

const AGAIN = 2000; // ms until a server that did not answer is asked again

export class Variant extends EventTarget {
  /** Events: 'state' (anything but the solids), 'body' (a new scene), 'trouble' (a Refused), 'well' (it answers again). */
  constructor(state) {
    super();
    this.state = state;
    this.scene = null;
    this.waiting = []; // changes that are not sent yet; a newer one to the same field takes an older one's place
    this.busy = null;
    this.closed = new AbortController();
    this.watch();
  }

  static async open(opening) {
    return new Variant(await ask('/api/variants', { method: 'POST', content: opening }));
  }

  /** Takes up a variant that the tab had open; where the server no longer has it, it is opened anew from its text. */
  static async found({ id, text, name }) {
    try {
      return new Variant(await ask(`/api/variants/${id}`));
    } catch (error) {
      if (error.status !== 404) throw error;
      return Variant.open({ kind: 'text', name, text });
    }
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
    this.waiting.push(change);
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
    while (this.waiting.length && !this.closed.signal.aborted) {
      const change = this.waiting.shift();
      await this.post('changes', change, () => this.waiting.unshift(change));
    }
  }

  async post(what, content = null, keep = () => {}) {
    try {
      this.take(await ask(`${this.path}/${what}`, { method: 'POST', content }));
      this.tell('well');
      return true;
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      if (error.status === 0) {
        keep();
        this.tell('trouble', error);
        await later(AGAIN);
        return false;
      }
      if (error.status === 404 && (await this.reopened())) {
        keep();
        return false;
      }
      this.tell('trouble', error);
      return false;
    }
  }

  /** The server was started anew: the set is given to it again. */
  async reopened() {
    try {
      const { text } = this.state;
      this.take(await ask('/api/variants', { method: 'POST', content: { kind: 'text', name: this.name.slice(0, 300), text } }));
      return true;
    } catch {
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
    while (!signal.aborted) {
      try {
        if (owner !== this.state.id) [owner, shown] = [this.state.id, 0];
        if (this.state.body.of && this.state.body.of !== shown) {
          this.scene = await ask(`${this.path}/body`, { signal });
          shown = this.state.body.of;
          if (this.scene) this.tell('body');
        }
        const { id } = this.state;
        const news = await ask(`${this.path}/news?after=${this.state.news}`, { signal });
        if (id !== this.state.id || news.news < this.state.news) continue;
        if (news.revision !== this.state.revision && this.settled) this.take(await ask(this.path, { signal }));
        else this.take({ ...this.state, ...news, revision: this.state.revision });
        this.tell('well');
      } catch (error) {
        if (error.name === 'AbortError') return;
        if (error.status === 404 && (await this.reopened())) continue;
        if (error.status === 0) this.tell('trouble', error);
        await later(AGAIN);
      }
    }
  }

  close() {
    this.closed.abort();
    ask(this.path, { method: 'DELETE' }).catch(() => {});
  }
}
