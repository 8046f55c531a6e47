// The app's page: readings, body, window, checks and files of one or several variants of a plane.

import './app.css';
import { ask, patiently, Refused } from './app_api.js';
import { Files } from './app_files.js';
import { Form, linked } from './app_form.js';
import { Gauge } from './app_gauge.js';
import { Checks, differencesTable, KeyNumbers, Mending } from './app_results.js';
import { Opener, Saver } from './app_sets.js';
import { Tab } from './app_tab.js';
import { Variant } from './app_variant.js';
import { View } from './app_view.js';
import { button, h } from './dom.js';
import { lightChoice } from './light.js';

const MOST = 4; // variants side by side; more drawings than a screen can show and a browser likes to keep
const LETTERS = 'ABCDEFGH';
const REST = 150; // ms of rest after which the table of differences is asked for

class Page {
  constructor(begin, tab) {
    this.begin = begin;
    this.tab = tab;
    this.variants = [];
    this.leaving = new Set(); // closed here, but what was typed is not all sent yet
    this.views = new Map();
    this.build();
  }

  get active() {
    return this.variants[this.tab.active] ?? this.variants[0];
  }

  // ---- the page's parts ----------------------------------------------------------------------------------------------------

  build() {
    const change = (one) => (this.shown ?? this.active).change(one);
    this.form = new Form(this.begin.form, change, this.tab);
    this.mending = new Mending(this.form, change);
    this.gauge = new Gauge();
    this.numbers = new KeyNumbers();
    this.oldNote = h('p', { class: 'old-note', hidden: true }, 'Of the last set without mistakes.');
    this.sentences = h('ul', { class: 'sentences' });
    this.checks = new Checks(this.form);
    this.files = new Files(this.begin.kinds, this.begin.cautions, () => this.active);
    this.saver = new Saver(this.begin.folder, () => this.active);
    this.opener = new Opener(this.begin, (opening, beside) => this.open(opening, beside), (id) => this.variants.some((one) => one.state.id === id));
    this.light = lightChoice((theme) => { for (const view of this.views.values()) view.viewer?.setTheme(theme); this.theme = theme; });
    this.theme = this.light.theme;
    this.trouble = h('p', { class: 'trouble', role: 'alert', hidden: true });
    this.refusalWords = h('span', { role: 'alert' });
    this.refusal = h('p', { class: 'refusal', hidden: true }, this.refusalWords, ' ', button('Understood', () => { this.refusal.hidden = true; }, { class: 'small' }));
    this.commands = h('div', { class: 'commands' });
    this.differences = h('div', {});
    this.drawings = h('div', { class: 'drawings' });
    this.showing = h('aside', { class: 'showing', 'aria-label': 'How it is shown' });
    const seen = h('div', { class: 'seen', id: 'part-body', tabindex: -1 }, this.seeing(), this.drawings);
    const readings = h('section', { class: 'readings', 'aria-labelledby': 'part-readings' }, h('h2', { id: 'part-readings', tabindex: -1 }, 'Readings and wishes'), this.mending.element, this.form.element);
    const results = h('div', { class: 'results' },
      part('checks', 'What to cut, and checks', this.oldNote, this.checks.element),
      part('window', 'Window of thicknesses', this.gauge.element, this.sentences, this.numbers.element),
      this.differencesPart(),
      part('files', 'Files to take away', this.files.element),
      part('command', 'The same by command', h('p', { class: 'note' }, 'What is on the screen, for a terminal or a note in the margin.'), this.commands));
    this.main = h('main', { class: 'work' }, readings, h('div', { class: 'middle' }, seen, results), this.showing);
    document.getElementById('app').replaceChildren(this.header(), this.trouble, this.refusal, this.main, this.opener.element, this.saver.element);
    this.keys();
  }

  header() {
    this.saving = button('Save', () => this.save(), { id: 'save' });
    this.undo = button('Undo', () => this.step('undo'), { id: 'undo' });
    this.redo = button('Redo', () => this.step('redo'), { id: 'redo' });
    this.kept = h('span', { class: 'kept', role: 'status' });
    const deeds = h('div', { class: 'deeds', role: 'group', 'aria-label': 'The set' },
      button('Open', () => this.opener.ask(this.active), { id: 'open' }), this.saving, button('Save as', () => this.saver.ask(), { id: 'save-as' }), this.undo, this.redo, this.kept);
    const ways = [['part-readings', 'Readings'], ['part-body', 'Body'], ['part-checks', 'Checks'], ['part-window', 'Window'], ['part-files', 'Files']];
    const way = h('nav', { class: 'ways', 'aria-label': 'On this page' }, ...ways.map(([id, text]) => h('a', { href: `#${id}` }, text)));
    return h('header', { class: 'top' }, h('h1', {}, 'planestock'), deeds, way, this.light.element);
  }

  seeing() {
    this.another = button('Another variant', () => this.copy(), { class: 'small', id: 'another' });
    this.link = h('input', { type: 'checkbox', onchange: () => { this.tab.linked = this.link.checked; this.tab.keep(); this.follow(this.views.get(this.active)); } });
    this.link.checked = this.tab.linked;
    this.linkLabel = h('label', { class: 'choice' }, this.link, h('span', {}, 'look at all alike'));
    return h('div', { class: 'seeing' }, this.another, this.linkLabel);
  }

  differencesPart() {
    this.differencesSection = part('differences', 'Differences', this.differences);
    return this.differencesSection;
  }

  keys() {
    document.addEventListener('keydown', (event) => {
      if (!(event.ctrlKey || event.metaKey) || event.altKey || document.querySelector('dialog[open]')) return;
      const key = event.key.toLowerCase();
      const typing = event.target.matches?.('input[type=text], input[type=search], textarea');
      if (key === 's') this.save();
      else if (key === 'z' && !typing) this.step(event.shiftKey ? 'redo' : 'undo');
      else if (key === 'y' && !typing) this.step('redo');
      else return;
      event.preventDefault();
    });
    window.addEventListener('pagehide', () => this.form.flush());
    window.addEventListener('beforeunload', (event) => {
      this.form.flush();
      if (this.variants.some((one) => one.isUnsaved) || this.unsent.length) event.preventDefault();
    });
  }

  save() {
    this.form.flush(); // by keys it is saved while the hand is still in a field
    this.saver.again();
  }

  // ---- variants ------------------------------------------------------------------------------------------------------------

  async begun() {
    const kept = this.tab.variants;
    const wanted = kept.length ? kept : this.begin.given.map((_, index) => ({ given: String(index) }));
    const found = [];
    for (const one of wanted) {
      try {
        found.push(await patiently(() => this.takenUp(one), (error) => this.say(error.message)));
      } catch (error) {
        if (!(error instanceof Refused)) throw error;
        this.refuse(`${one.name ?? this.begin.given[Number(one.given)]} could not be opened again: ${error.message}`);
      }
    }
    this.say('');
    for (const variant of found) this.add(variant, false); // what the tab remembers is only written anew when all are there
    this.tab.active = Math.min(this.tab.active, Math.max(0, this.variants.length - 1));
    if (this.variants.length) this.show();
    else this.opener.ask();
  }

  takenUp(one) {
    if (one.given) return Variant.open({ kind: 'given', name: one.given });
    return this.tab.isCopy ? copied(one) : Variant.found(one);
  }

  /** beside: the active variant stays open; else the new one takes its place. */
  async open(opening, beside = true) {
    if (beside && this.variants.length >= MOST) throw new Refused(`${MOST} variants are open, as many as can be seen side by side; close one first.`, 409);
    const made = await Variant.open(opening);
    if (!beside && this.variants.length) this.close(this.active, true);
    this.add(made, true);
  }

  async copy() {
    this.form.flush();
    try {
      await this.active.sent();
      await this.open({ kind: 'copy', name: this.active.state.id });
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      this.say(error.message);
    }
  }

  add(variant, isChosen) {
    this.form.flush(); // before another one is shown
    this.variants.push(variant);
    const view = new View(variant, {
      chosen: () => this.choose(variant),
      close: () => this.close(variant),
      theme: () => this.theme,
      arrived: (made) => this.arrived(made),
    });
    this.views.set(variant, view);
    this.drawings.append(view.element);
    variant.addEventListener('state', () => this.heard(variant));
    variant.addEventListener('trouble', ({ detail }) => this.say(detail.message));
    variant.addEventListener('well', () => this.say(''));
    variant.addEventListener('waiting', () => this.remember());
    variant.addEventListener('refused', ({ detail }) => this.refuse(detail));
    if (isChosen) this.tab.active = this.variants.length - 1;
    if (isChosen) this.show(true);
    this.remember();
    variant.begin();
  }

  choose(variant) {
    this.form.flush();
    this.tab.active = this.variants.indexOf(variant);
    this.show(true);
    this.remember();
  }

  close(variant, isReplaced = false) {
    this.form.flush();
    const index = this.variants.indexOf(variant);
    this.views.get(variant).dispose();
    this.views.delete(variant);
    this.variants.splice(index, 1);
    this.leaving.add(variant);
    variant.close().finally(() => {
      this.leaving.delete(variant);
      this.remember();
    });
    if (this.tab.active >= index) this.tab.active = Math.max(0, this.tab.active - 1);
    this.remember();
    if (this.variants.length) this.show(true);
    else if (!isReplaced) this.opener.ask();
  }

  /** Closed variants whose changes the server does not have yet; a page that is loaded again takes them up. */
  get unsent() {
    return [...this.leaving].filter((one) => one.waiting.length);
  }

  remember() {
    this.tab.variants = [...this.variants, ...this.unsent].map((one) => one.kept);
    this.tab.keep();
  }

  // ---- what is shown -------------------------------------------------------------------------------------------------------

  heard(variant) {
    this.remember();
    if (variant === this.active) this.show();
    else this.label();
    this.compare();
  }

  show(isOther = false) {
    const { state } = this.active;
    this.form.show(state, isOther);
    this.shown = this.active;
    this.mending.show(state);
    this.gauge.show(state.numbers?.gauge ?? null, state.numbers?.units);
    this.numbers.show(state.numbers);
    const told = JSON.stringify(state.numbers?.sentences ?? []);
    if (told !== this.told) this.sentences.replaceChildren(...(state.numbers?.sentences ?? []).map((one) => h('li', {}, ...linked(one, this.form))));
    this.told = told;
    this.checks.show(state);
    this.files.show(state);
    this.main.classList.toggle('is-old', !state.numbers_now);
    this.oldNote.hidden = state.numbers_now || !state.numbers;
    this.deeds(state);
    this.commandLines(state);
    this.label();
    this.column();
    if (isOther) this.compare();
  }

  deeds(state) {
    const can = (one, what, verb) => {
      one.disabled = what === null;
      one.setAttribute('aria-label', what === null ? verb : `${verb}: ${what}`);
      one.title = what ?? '';
    };
    can(this.undo, state.undoes, 'Undo');
    can(this.redo, state.redoes, 'Redo');
    const where = state.saved_as ? `saved as ${state.saved_as}` : '';
    const text = state.saved ? where : state.untouched ? '' : `changed, not saved${state.saved_as ? ` in ${state.saved_as}` : ''}${state.not_kept ? `; ${state.not_kept}` : ''}`;
    if (this.kept.textContent !== text) this.kept.textContent = text;
  }

  commandLines(state) {
    const told = JSON.stringify(state.commands);
    if (told === this.commanded) return;
    this.commanded = told;
    const line = (text) => h('div', { class: 'command' }, h('code', { tabindex: 0 }, text), button('Copy', () => navigator.clipboard?.writeText(text), { class: 'small', 'aria-label': `Copy: ${text.slice(0, 60)}` }));
    this.commands.replaceChildren(...(state.commands.length ? state.commands.map(line) : [h('p', {}, 'Save the set first: what was changed does not fit into one line.')]));
  }

  label() {
    const isAlone = this.variants.length === 1;
    this.variants.forEach((variant, index) => this.views.get(variant).mark(LETTERS[index], variant === this.active, isAlone));
    this.arrangeDrawings();
    this.linkLabel.hidden = isAlone;
    this.differencesSection.hidden = isAlone;
    document.title = this.active ? `${this.active.name}: planestock` : 'planestock';
  }

  /** With more or fewer drawings side by side each has another shape; all of the plane is to be seen in it. */
  arrangeDrawings() {
    const count = String(this.variants.length);
    if (this.drawings.dataset.count === count) return;
    this.drawings.dataset.count = count;
    this.refit();
  }

  refit() {
    const fit = () => {
      const seen = [...this.views.values()].filter((one) => one.viewer);
      for (const view of this.tab.linked ? seen.slice(0, 1) : seen) view.viewer.fit();
    };
    requestAnimationFrame(() => requestAnimationFrame(fit)); // the drawings learn of their new size between the two
  }

  column() {
    const wanted = this.views.get(this.active)?.column ?? null;
    if (wanted && this.showing.firstChild !== wanted) this.showing.replaceChildren(wanted);
    if (!wanted) this.showing.replaceChildren();
  }

  compare() {
    clearTimeout(this.comparing);
    if (this.variants.length < 2) return;
    this.comparing = setTimeout(async () => {
      const of = this.variants.map((variant) => `of=${variant.state.id}`).join('&');
      try {
        const found = await ask(`/api/variants/differences?${of}`);
        const letters = this.variants.map((_, index) => LETTERS[index]);
        const text = JSON.stringify(found);
        if (text !== this.compared) this.differences.replaceChildren(differencesTable(found, letters, this.form));
        this.compared = text;
      } catch (error) {
        if (!(error instanceof Refused)) throw error;
      }
    }, REST);
  }

  // ---- looking at all alike ------------------------------------------------------------------------------------------------

  arrived(view) {
    const { viewer } = view;
    viewer.addEventListener('eye', ({ detail }) => this.alike(view, (other) => other.jump(detail)));
    viewer.addEventListener('change', () => this.alike(view, (other) => copyLook(viewer, other)));
    const other = [...this.views.values()].find((one) => one !== view && one.viewer);
    if (other && this.tab.linked) this.follow(other);
    if (other) this.refit();
    this.column();
    window.planestock.viewers = [...this.views.values()].map((one) => one.viewer).filter(Boolean);
  }

  follow(view) {
    if (!view?.viewer) return;
    this.alike(view, (other) => {
      other.jump(view.viewer.eyeState);
      copyLook(view.viewer, other);
    });
  }

  /** Does something to the viewers of all other variants, whose own events then change nothing more. */
  alike(view, deed) {
    if (!this.tab.linked || this.following) return;
    this.following = true;
    for (const other of this.views.values()) if (other !== view && other.viewer) deed(other.viewer);
    this.following = false;
  }

  async step(what) {
    this.form.flush();
    await this.active[what]();
    this.form.show(this.active.state, true);
  }

  /** Says what was not done and will not be tried again; it stays until the person has seen it. */
  refuse(text) {
    this.refusalWords.textContent = text;
    this.refusal.hidden = false;
  }

  say(text) {
    if (this.trouble.textContent !== text) this.trouble.textContent = text;
    this.trouble.hidden = !text;
  }
}

function part(name, title, ...inside) {
  return h('section', { class: `part part-${name}`, 'aria-labelledby': `part-${name}` }, h('h2', { id: `part-${name}`, tabindex: -1 }, title), ...inside);
}

function copyLook(from, to) {
  if (JSON.stringify(from.cut) !== JSON.stringify(to.cut)) to.setCut(from.cut);
  if (from.share !== to.share) to.setApart(from.share);
  for (const [name, state] of from.states) if (to.parts.has(name) && to.states.get(name) !== state) to.setState(name, state);
}

async function copied(kept) {
  try {
    return await Variant.open({ kind: 'copy', name: kept.id });
  } catch (error) {
    if (!(error instanceof Refused) || error.isPassing) throw error;
    return Variant.open({ kind: 'text', name: kept.name, text: kept.text });
  }
}

async function start() {
  window.planestock = { viewers: [] };
  if (location.search) history.replaceState(null, '', location.pathname); // the key was used up
  performance.setResourceTimingBufferSize(0); // an afternoon's thousands of answers need not be remembered
  const told = (error) => document.getElementById('app').replaceChildren(h('p', { class: 'trouble', role: 'alert' }, error.message));
  try {
    const page = new Page(await patiently(() => ask('/api/start'), told), await Tab.claimed());
    window.planestock.page = page;
    await page.begun();
  } catch (error) {
    told(error);
    throw error;
  }
}

start();
