// The body of one variant on the page: a heading, how its making stands, and the viewer.

import { bench } from './bench.js';
import { button, h } from './dom.js';

export class View {
  /** chosen(), close(): what the heading's buttons do; theme(): light or dark. */
  constructor(variant, { chosen, close, theme, arrived }) {
    this.variant = variant;
    this.theme = theme;
    this.arrived = arrived;
    this.made = null;
    this.tried = false;
    this.title = h('button', { type: 'button', class: 'view-name', onclick: chosen });
    this.close = button('Close', close, { class: 'small' });
    this.told = h('p', { class: 'view-told', role: 'status' });
    this.failed = h('p', { class: 'view-failed', role: 'alert', hidden: true });
    this.place = h('div', { class: 'view-place' });
    this.empty = h('p', { class: 'view-empty' });
    this.place.append(this.empty);
    this.element = h('section', { class: 'view' }, h('div', { class: 'view-head' }, h('h2', {}, this.title), this.told, this.close), this.failed, this.place);
    variant.addEventListener('body', () => this.draw());
    variant.addEventListener('state', () => this.tell());
    this.tell();
  }

  get viewer() {
    return this.made?.viewer ?? null;
  }

  draw() {
    const { scene } = this.variant;
    if (this.made) this.made.viewer.show(scene);
    else if (!this.tried) this.start(scene);
    this.tell();
  }

  start(scene) {
    this.tried = true;
    this.empty.remove();
    this.made = bench(this.place, scene, { theme: this.theme() });
    if (!this.made) return;
    this.column = this.made.column;
    this.column.remove();
    this.arrived(this);
  }

  tell() {
    const { state } = this.variant;
    const text = standing(state, Boolean(this.variant.scene));
    if (this.told.textContent !== text) this.told.textContent = text;
    const { status, said } = state.body;
    const failed = status === 'failed' ? `${said}${this.variant.scene ? ' The last good body is still shown.' : ''}` : '';
    if (this.failed.textContent !== failed) this.failed.textContent = failed;
    this.failed.hidden = !failed;
    this.empty.textContent = state.numbers_now ? 'The body is being built for the first time; the solid kernel takes a moment to load.' : 'No body yet: it follows when the readings are complete.';
  }

  mark(letter, isActive, isAlone) {
    this.title.replaceChildren(h('span', { class: 'letter' }, letter), ` ${this.variant.name}`);
    this.title.setAttribute('aria-pressed', String(isActive));
    this.title.disabled = isAlone;
    this.close.setAttribute('aria-label', `Close ${letter}, ${this.variant.name}`);
    this.element.classList.toggle('active', isActive);
  }

  dispose() {
    this.made?.viewer.dispose();
    this.element.remove();
    this.column?.remove();
  }
}

function standing(state, there) {
  const { status } = state.body;
  if (status === 'building') return there ? 'new body on its way' : 'being built';
  if (status === 'failed') return 'not built';
  if (!state.numbers_now) return there ? 'the last one without mistakes' : '';
  return there ? 'up to date' : '';
}
