// Where a set comes from and where it goes: the dialogue to open one, and the one to save it.

import { ask, Refused } from './app_api.js';
import { button, h } from './dom.js';

const LARGEST = 100_000; // characters of a set
const LARGEST_FILE = 4 * LARGEST; // bytes of one: no character takes more than four

export class Opener {
  /** begin: what the app begins with; opened(opening, beside): opens a variant, raises Refused; isOpen(id): on this page. */
  constructor(begin, opened, isOpen) {
    this.begin = begin;
    this.opened = opened;
    this.isOpen = isOpen;
    this.drafts = h('div', { class: 'drafts' });
    this.wrong = h('p', { class: 'wrong', role: 'alert' });
    this.files = h('div', { class: 'choices' });
    this.beside = h('input', { type: 'checkbox', id: 'beside' });
    this.besideText = h('span', {});
    this.besideLabel = h('label', { class: 'choice' }, this.beside, this.besideText);
    this.upload = h('input', { type: 'file', id: 'upload', accept: '.toml', onchange: () => this.read() });
    this.cancel = button('Cancel', () => this.element.close());
    // A browser lets a person leave by a second Escape whatever the page says; then it comes again while it must.
    const stay = () => { if (this.must && !this.element.open) this.element.showModal(); };
    this.element = h('dialog', { class: 'sheet', 'aria-labelledby': 'open-title', oncancel: (event) => { if (this.must) event.preventDefault(); }, onclose: stay },
      h('h2', { id: 'open-title' }, 'Open a set'),
      this.wrong,
      this.besideLabel,
      this.drafts,
      h('h3', {}, 'A new plane'),
      h('p', { class: 'note' }, 'An empty set, with every reading explained; or an invented example to look around in and to put your own readings into.'),
      h('div', { class: 'choices' }, this.choice('An empty set', 'Measured values are left open.', { kind: 'blank' }),
        ...begin.shipped.map(({ name, note }) => this.choice(`Example: ${name}`, note, { kind: 'shipped', name }))),
      h('h3', {}, 'A set in the folder'),
      h('p', { class: 'note' }, begin.folder),
      this.files,
      h('h3', {}, 'A set from elsewhere'),
      h('p', {}, h('label', { for: 'upload' }, 'A parameter set (TOML file)'), ' ', this.upload),
      h('div', { class: 'buttons end' }, this.cancel));
  }

  choice(name, note, opening) {
    return h('button', { type: 'button', class: 'choice-card', onclick: () => this.open(opening) }, h('strong', {}, name), note ? h('span', {}, note) : null);
  }

  /** there: the variant that is open, null where there is nothing behind the dialogue to go back to. */
  async ask(there = null) {
    this.must = there === null;
    this.cancel.hidden = this.must;
    this.besideLabel.hidden = this.must;
    this.besideText.textContent = this.must ? '' : `keep ${there.name} open beside it`;
    this.beside.checked = !this.must && !there.state.saved && !there.state.untouched; // so that nothing is lost unasked
    this.wrong.textContent = '';
    this.upload.value = '';
    if (!this.element.open) this.element.showModal();
    try {
      await this.listDrafts();
      const { sets, count } = await ask('/api/sets');
      const rest = count > sets.length ? [h('p', { class: 'note' }, `These are the first ${sets.length} of ${count} by name.`)] : [];
      this.files.replaceChildren(...rest, ...(sets.length ? sets.map((name) => this.choice(name, '', { kind: 'file', name })) : [h('p', { class: 'note' }, 'There is none yet.')]));
    } catch (error) {
      this.told(error);
    }
  }

  async listDrafts() {
    const { drafts } = await ask('/api/drafts');
    const rows = drafts.filter(({ id }) => !this.isOpen(id)).map((one) => this.draft(one));
    this.drafts.replaceChildren(...(rows.length ? [h('h3', {}, 'Not saved yet'), h('p', { class: 'note' }, 'Changes that were left without saving; they are kept until you save or forget them.'), ...rows] : []));
  }

  draft({ id, name, of, when }) {
    const said = name || 'A set without a name';
    const forget = async () => {
      try {
        await ask(`/api/drafts/${id}`, { method: 'DELETE' });
        await this.listDrafts();
      } catch (error) {
        this.told(error);
      }
    };
    return h('div', { class: 'draft' }, this.choice(said, `${of ? `Begun with ${of}; ` : ''}last changed ${when}.`, { kind: 'draft', name: id }),
      button('Forget it', forget, { class: 'small', 'aria-label': `Forget the changes to ${said}, last changed ${when}` }));
  }

  async open(opening) {
    this.wrong.textContent = '';
    try {
      await this.opened(opening, this.must || this.beside.checked);
      this.must = false;
      this.element.close();
    } catch (error) {
      this.told(error);
    }
  }

  told(error) {
    if (!(error instanceof Refused)) throw error;
    this.wrong.textContent = error.message;
  }

  async read() {
    const [file] = this.upload.files;
    if (!file) return;
    try {
      const text = file.size > LARGEST_FILE ? null : new TextDecoder('utf-8', { fatal: true }).decode(await file.arrayBuffer());
      if (text === null || text.length > LARGEST) {
        this.wrong.textContent = `${file.name} is too large: a set is a small text file, at most ${LARGEST / 1000} kB.`;
        return;
      }
      await this.open({ kind: 'text', name: file.name.slice(0, 300), text });
    } catch (error) {
      if (error instanceof TypeError) this.wrong.textContent = `${file.name} is no text: a set is a TOML file in UTF-8.`;
      else throw error;
    }
  }
}

export class Saver {
  constructor(folder, variant) {
    this.variant = variant;
    this.name = h('input', { type: 'text', id: 'save-name', maxlength: 200, autocomplete: 'off' });
    this.wrong = h('p', { class: 'wrong', role: 'alert' });
    this.unfinished = h('p', { class: 'note' }, 'There are values to mend in it; it is saved as it stands, to be carried on later.');
    this.replace = button('Replace it', () => this.save(this.seen));
    this.element = h('dialog', { class: 'sheet', 'aria-labelledby': 'save-title' },
      h('form', { onsubmit: (event) => { event.preventDefault(); this.save(); } },
        h('h2', { id: 'save-title' }, 'Save the set'),
        h('p', { class: 'note' }, `As a TOML file in ${folder}; comments in it are kept.`),
        this.unfinished,
        h('p', {}, h('label', { for: 'save-name' }, 'Name of the file'), this.name),
        this.wrong,
        h('div', { class: 'buttons end' }, h('button', { type: 'submit' }, 'Save'), this.replace, button('Cancel', () => this.element.close()))));
  }

  /** refused: why saving was refused, null where it was not tried yet. */
  ask(refused = null) {
    const { state } = this.variant();
    this.name.value = state.saved_as.replace(/\.toml$/, '') || this.variant().name;
    this.told(refused);
    this.unfinished.hidden = !state.problems.length;
    if (!this.element.open) this.element.showModal();
    this.name.select();
  }

  /** Saves at once where the set has a file already; asks for a name where not, or where something is in the way. */
  async again() {
    const { state } = this.variant();
    if (!state.saved_as) {
      this.ask();
      return;
    }
    try {
      await this.variant().save(state.saved_as);
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      this.ask(error);
    }
  }

  /** seen: mark of the file that the person agreed to replace, as the refusal named it. */
  async save(seen = '') {
    try {
      await this.variant().save(this.name.value, seen);
      this.element.close();
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      this.told(error);
    }
  }

  told(refused) {
    this.wrong.textContent = refused?.message ?? '';
    this.seen = refused?.seen ?? '';
    this.replace.hidden = !this.seen;
  }
}
