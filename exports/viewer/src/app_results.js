// What follows from a set, in words: what is to be mended, key numbers, checks with what to change, and differences of variants.

import { button, h } from './dom.js';
import { linked } from './app_form.js';

const ORDER = { fail: 0, warn: 1, pass: 2 };
const VERDICTS = { fail: 'fails', warn: 'warns', pass: 'passes' };

/** What is wrong with the set, each with a way to its field; problems of no field can be taken out. */
export class Mending {
  constructor(form, change) {
    this.form = form;
    this.change = change;
    this.told = h('p', { role: 'status', class: 'mend-count' });
    this.list = h('ul', { class: 'mend' });
    this.element = h('div', { class: 'mending' }, this.told, this.list);
  }

  show(state) {
    const { problems } = state;
    const count = problems.length;
    const text = count === 0 ? '' : `${count === 1 ? 'One thing' : `${count} things`} to mend before the numbers follow.`;
    if (this.told.textContent !== text) this.told.textContent = text;
    this.list.replaceChildren(...problems.slice(0, 8).map((problem) => this.row(problem)));
    if (count > 8) this.list.append(h('li', {}, `and ${count - 8} more, marked in the form`));
    this.element.hidden = count === 0;
  }

  row(problem) {
    const path = this.form.nearest(problem.path);
    if (path) return h('li', {}, h('button', { type: 'button', class: 'link', onclick: () => this.form.go(path) }, problem.title), ' ', ...linked(problem.said, this.form));
    const out = button('Take it out of the set', () => this.change({ do: 'take_out', path: problem.path }), { class: 'small' });
    const isExtra = problem.rule.includes('not a field');
    return h('li', {}, h('strong', {}, problem.title), ' ', problem.said, isExtra ? ' ' : null, isExtra ? out : null);
  }
}

export class KeyNumbers {
  constructor() {
    this.element = h('dl', { class: 'numbers' });
    this.cells = new Map();
  }

  show(numbers) {
    const key = numbers?.key ?? [];
    const names = key.map((one) => one.name).join('|');
    if (names !== this.names) {
      this.names = names;
      this.cells = new Map(key.map((one) => [one.name, { value: h('dd', { class: 'value' }), words: h('dd', { class: 'words' }) }]));
      this.element.replaceChildren(...[...this.cells].map(([name, cell]) => h('div', {}, h('dt', {}, name), cell.value, cell.words)));
    }
    for (const one of key) {
      this.cells.get(one.name).value.textContent = one.value;
      this.cells.get(one.name).words.textContent = one.words;
    }
  }
}

/** Checks: those that do not pass in full, with what to change; those that pass folded away. */
export class Checks {
  constructor(form) {
    this.form = form;
    this.act = h('p', { class: 'to-act-on' });
    this.told = h('p', { class: 'verdict', role: 'status' });
    this.open = h('ul', { class: 'open-checks' });
    this.passed = h('tbody', {});
    this.fold = h('details', { class: 'fold' }, h('summary', {}, 'Checks that pass'), h('div', { class: 'table', tabindex: 0, role: 'region', 'aria-label': 'Checks that pass' },
      h('table', { class: 'passed' }, h('thead', {}, h('tr', {}, ...['What was asked', 'Found', 'Limit'].map((name) => h('th', { scope: 'col' }, name)))), this.passed)));
    this.element = h('div', {}, this.act, this.told, this.open, this.fold);
  }

  show(state) {
    const rows = [...(state.numbers?.rows ?? []), ...(state.solid_rows ?? [])].sort((a, b) => ORDER[a.verdict] - ORDER[b.verdict]);
    this.act.textContent = toActOn(state);
    const text = summed(rows, state);
    if (this.told.textContent !== text) this.told.textContent = text;
    this.told.dataset.verdict = rows[0]?.verdict ?? 'none';
    const open = rows.filter((row) => row.verdict !== 'pass');
    const passed = rows.filter((row) => row.verdict === 'pass');
    this.open.replaceChildren(...open.map((row) => this.row(row)));
    this.passed.replaceChildren(...passed.map((row) => h('tr', {}, h('td', {}, row.asked), h('td', { class: 'value-cell' }, row.value), h('td', { class: 'value-cell' }, row.limit))));
    this.fold.querySelector('summary').textContent = passed.length === 1 ? '1 check passes' : `${passed.length} checks pass`;
    this.fold.hidden = passed.length === 0;
  }

  row(row) {
    return h('li', { class: `verdict-${row.verdict}`, 'data-check': row.id },
      h('p', {}, h('strong', {}, VERDICTS[row.verdict]), ` ${row.asked}: ${row.found}.`),
      h('p', { class: 'change' }, ...linked(`${row.change.charAt(0).toUpperCase()}${row.change.slice(1)}.`, this.form)));
  }
}

/** The sentence to act on; what it says of cutting holds only while no check of the solids fails. */
function toActOn(state) {
  const failing = (state.solid_rows ?? []).some((row) => row.verdict === 'fail');
  return (failing ? state.numbers?.act_failing : state.numbers?.act) ?? '';
}

function summed(rows, state) {
  if (!state.numbers) return 'No checks yet: first the readings have to be complete.';
  const failing = rows.filter((row) => row.verdict === 'fail').length;
  const warning = rows.filter((row) => row.verdict === 'warn').length;
  const wait = state.solid_rows ? '' : ' The checks of the solids follow.';
  const old = state.numbers_now ? '' : ' (Of the last set without mistakes.)';
  if (failing) return `${failing} of ${rows.length} checks ${failing === 1 ? 'fails' : 'fail'}: do not cut wood yet.${wait}${old}`;
  if (warning) return `No check fails; ${warning} of ${rows.length} ${warning === 1 ? 'warns' : 'warn'}.${wait}${old}`;
  return `All ${rows.length} checks pass.${wait}${old}`;
}

export function differencesTable(found, letters, form) {
  const { values, numbers } = found;
  if (!values.length && !numbers.length) return h('p', {}, 'The variants are the same.');
  const head = h('thead', {}, h('tr', {}, h('th', { scope: 'col' }, 'What differs'), ...letters.map((letter) => h('th', { scope: 'col' }, letter))));
  const row = (title, texts) => h('tr', {}, h('th', { scope: 'row' }, title), ...texts.map((text) => h('td', { class: 'value-cell' }, text)));
  const part = (title) => h('tr', { class: 'part-head' }, h('th', { scope: 'colgroup', colspan: letters.length + 1 }, title));
  const body = h('tbody', {});
  if (values.length) body.append(part('In the set'), ...values.map((one) => row(form.nearest(one.path) ? h('button', { type: 'button', class: 'link', onclick: () => form.go(one.path) }, one.title) : one.title, one.texts)));
  if (numbers.length) body.append(part('In what follows'), ...numbers.map((one) => row(one.title, one.texts)));
  return h('div', { class: 'table', tabindex: 0, role: 'region', 'aria-label': 'Differences between the variants' }, h('table', { class: 'differences' }, head, body));
}
