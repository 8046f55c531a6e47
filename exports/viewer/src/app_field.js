// One field of the form: label, input, how to measure it, and what is wrong with what was typed, beside it and at once.

import { button, h } from './dom.js';

const PAUSE = 180; // ms after the last key until what was typed is sent

let strokes = 0;

export class Field {
  /**
   * declared: the field's entry of the form; path: with list positions filled in; commit(typed, stroke): sends what was typed.
   */
  constructor(declared, path, commit) {
    this.declared = declared;
    this.path = path;
    this.commit = commit;
    this.stroke = '';
    this.timer = null;
    this.sent = null; // what the server has; null until the field was filled, and until then nothing is sent from it
    this.build();
  }

  get id() {
    return `field-${this.path}`;
  }

  build() {
    const { title, how, kind, needed } = this.declared;
    const described = `${this.id}-how ${this.id}-note ${this.id}-wrong`;
    this.input = this.control({ id: this.id, 'aria-describedby': described, autocomplete: 'off', spellcheck: 'false' });
    this.how = h('p', { class: 'how', id: `${this.id}-how` });
    this.note = h('p', { class: 'meant', id: `${this.id}-note` });
    this.wrong = h('p', { class: 'wrong', id: `${this.id}-wrong` });
    this.wrong.hidden = true;
    const wide = (kind === 'text' || kind === 'drawing') && !this.declared.suggestions.length ? ' wide' : '';
    const mark = needed ? h('span', { class: 'needed' }, 'needed') : null;
    const out = kind === 'drawing' ? button('Take out', () => this.commit('', ''), { class: 'small', 'aria-label': `Take out: ${title}` }) : null;
    this.element = h('div', { class: `field${wide}` }, h('label', { for: this.id }, title, mark), this.input, this.wrong, this.note, this.how, out);
    this.searched = `${title} ${how} ${this.path}`.toLowerCase();
    this.input.addEventListener('focus', () => { this.stroke = `${this.path}#${(strokes += 1)}`; });
    this.input.addEventListener('blur', () => this.flush());
    this.input.addEventListener('keydown', (event) => {
      if (event.key === 'Enter' && this.input.tagName !== 'TEXTAREA') this.flush();
      if ((event.key === 'ArrowUp' || event.key === 'ArrowDown') && this.nudge(event.key === 'ArrowUp' ? 1 : -1)) event.preventDefault();
    });
    this.input.addEventListener(kind === 'choice' ? 'change' : 'input', () => {
      clearTimeout(this.timer);
      this.timer = setTimeout(() => this.flush(), kind === 'choice' ? 0 : PAUSE);
    });
  }

  control(attributes) {
    const { kind, choices, suggestions, default: usual, path } = this.declared;
    if (kind === 'choice') {
      const options = choices.map((choice) => h('option', { value: choice }, choice));
      if (usual !== null) options.unshift(h('option', { value: '' }, `${usual} (usual)`));
      return h('select', attributes, ...options);
    }
    if (kind === 'drawing') return h('input', { ...attributes, type: 'text', readonly: '' });
    if (path === 'note') return h('textarea', { ...attributes, rows: 2 });
    const input = h('input', { ...attributes, type: 'text', placeholder: usual || null });
    if (kind === 'text') input.setAttribute('maxlength', this.declared.long ?? 300);
    if (suggestions.length) input.setAttribute('list', `suggested-${path}`);
    return input;
  }

  get value() {
    return this.input.value;
  }

  /** Sends what was typed, if anything new was. */
  flush() {
    clearTimeout(this.timer);
    this.timer = null;
    if (this.declared.kind === 'drawing') return;
    if (this.sent === null || this.sent === this.value) return;
    this.sent = this.value;
    this.commit(this.value, this.stroke);
  }

  get isPending() {
    return this.timer !== null;
  }

  /** Steps a plain number by one in its last place; false for everything else. */
  nudge(by) {
    const found = /^([-−]?)(\d+)(?:\.(\d+))?(.*)$/.exec(this.value.trim());
    const { kind } = this.declared;
    if (!found || /[\d/;]/.test(found[4].split('±')[0]) || !['reading', 'count', 'number'].includes(kind)) return false;
    const places = (found[3] ?? '').length;
    const number = (found[1] ? -1 : 1) * Number(`${found[2]}.${found[3] ?? 0}`) + by * 10 ** -places;
    this.input.value = number.toFixed(places) + found[4];
    this.input.dispatchEvent(new Event('input', { bubbles: true }));
    return true;
  }

  /** Shows a value as the server has it. limit: the tool's ±, where it holds; force: also where the person is typing. */
  show(text, units, limit, force = false) {
    const shown = text ?? '';
    const typing = document.activeElement === this.input || this.isPending;
    if (!typing || force || this.sent === null) {
      if (this.value !== shown) this.input.value = shown;
      this.sent = this.value;
    }
    this.element.classList.toggle('is-empty', !this.value);
    this.element.classList.toggle('is-absent', this.declared.kind === 'drawing' && !this.value);
    this.how.textContent = this.explained(units, limit);
  }

  /** Takes the place of an older field of the same path that the person is in: goes on with what was typed there. */
  carryOn(old) {
    const { selectionStart, selectionEnd } = old.input;
    this.input.value = old.value;
    this.sent = old.sent;
    this.input.focus();
    this.stroke = old.stroke;
    if (typeof selectionStart === 'number') this.input.setSelectionRange(selectionStart, selectionEnd);
  }

  explained(units, limit) {
    const { how, bounds, tool, unit, kind } = this.declared;
    const measured = tool ? `With ${tool}` : '';
    const range = bounds[units] ? `${bounds[units]}` : '';
    const bare = kind === 'reading' && unit === 'mm' ? `a bare number is ${units === 'in' ? 'inches' : 'mm'}` : '';
    const taken = limit ? `no ± is written, so the tool's ${limit} holds` : '';
    const facts = [measured, range, bare, taken].filter(Boolean).join('; ');
    return facts ? `${how} ${facts.charAt(0).toUpperCase()}${facts.slice(1)}.` : how;
  }

  /** problems: what is wrong with this field; note: how what was typed was understood. */
  judge(problems, note) {
    const text = problems.map(({ rule, remedy, value }) => {
      const missing = value === 'nothing' && rule.includes('required');
      return missing ? 'Needed, and not given yet.' : `${rule.charAt(0).toUpperCase()}${rule.slice(1)}${remedy ? `; ${remedy}` : ''}`;
    }).join(' ');
    if (this.wrong.textContent !== text) this.wrong.textContent = text;
    this.wrong.hidden = !text;
    this.element.classList.toggle('is-wrong', Boolean(text));
    if (text) this.input.setAttribute('aria-invalid', 'true');
    else this.input.removeAttribute('aria-invalid');
    this.note.textContent = note ?? '';
  }
}
