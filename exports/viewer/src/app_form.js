// The form: the groups of a set in the order of the bench, made from the server's description of the declared fields.

import { button, h } from './dom.js';
import { Field } from './app_field.js';

/** Paths in a text become links to their fields: in "raise throat.opening" or "take bed angle (frog.bed_angle) again". */
export function linked(text, form) {
  const made = [];
  let rest = text;
  for (const [path] of text.matchAll(/[a-z_]+(?:\.[a-z_0-9]+)+/g)) {
    if (!form.nearest(path)) continue;
    const [before, after] = cut(rest, path);
    const title = form.titleOf(path);
    const named = `${title.charAt(0).toLowerCase()}${title.slice(1)} (`;
    const isNamed = before.endsWith(named) && after.startsWith(')');
    made.push(isNamed ? before.slice(0, -named.length) : before, link(isNamed ? named.slice(0, -2) : title.toLowerCase(), path, form));
    rest = isNamed ? after.slice(1) : after;
  }
  return [...made, rest];
}

function cut(text, at) {
  const index = text.indexOf(at);
  return [text.slice(0, index), text.slice(index + at.length)];
}

function link(text, path, form) {
  return h('button', { type: 'button', class: 'link', onclick: () => form.go(path) }, text);
}

/** Where a drawing came from that the set on the disk has in a file of its own. */
function readFrom(state, path) {
  const file = state.values[path] && state.source.read?.[path];
  return file ? `Read from ${file} when the set was opened; where the set is saved, the drawing itself is in it.` : '';
}

export class Form {
  /** described: the server's form; change(change): sends one change; kept: { open } that survives a reload. */
  constructor(described, change, kept) {
    this.described = described;
    this.change = change;
    this.kept = kept;
    this.fields = new Map();
    this.heads = new Map();
    this.sometimes = [];
    this.shape = null;
    this.find = h('input', { type: 'search', id: 'find', placeholder: 'for example: bevel', oninput: () => this.narrow() });
    this.everywhere = h('input', { type: 'checkbox', onchange: () => this.body.classList.toggle('explained', this.everywhere.checked) });
    this.body = h('div', { class: 'groups' });
    this.lists = h('div', {}, ...this.suggestions());
    // In a place of its own: a text that came and went with the focus would move what the hand is about to press.
    this.help = h('p', { class: 'help', 'aria-hidden': 'true' }, 'Go into a field, and how to measure it is said here.');
    this.element = h('form', { class: 'form', onsubmit: (event) => event.preventDefault(), 'aria-label': 'Readings and wishes' },
      h('div', { class: 'form-head' },
        h('label', { for: 'find' }, 'Find a field'), this.find,
        h('label', { class: 'choice' }, this.everywhere, h('span', {}, 'always say how to measure'))),
      this.body, this.lists, this.help);
  }

  suggestions() {
    const wanted = new Map();
    const collect = (group) => {
      for (const field of group.fields) if (field.suggestions.length) wanted.set(field.path, field.suggestions);
      group.groups.forEach(collect);
    };
    this.described.forEach(collect);
    return [...wanted].map(([path, all]) => h('datalist', { id: `suggested-${path}` }, ...all.map((one) => h('option', { value: one }))));
  }

  // ---- what is there -------------------------------------------------------------------------------------------------------

  /** Shows a variant's state. force: values of fields that the person is in as well. */
  show(state, force = false) {
    const shape = JSON.stringify([state.groups, state.lists]);
    if (shape !== this.shape) this.build(state, force);
    this.shape = shape;
    const units = state.values.units === 'in' ? 'in' : 'mm';
    const { notes, limits } = state.numbers_now ? state.numbers : { notes: {}, limits: {} };
    const wrong = new Map();
    for (const problem of state.problems) wrong.set(problem.path, [...(wrong.get(problem.path) ?? []), problem]);
    for (const [path, field] of this.fields) {
      field.show(state.values[path], units, limits[path], force);
      field.judge(wrong.get(path) ?? [], notes[path] ?? readFrom(state, path));
    }
    for (const [element, paths] of this.sometimes) element.classList.toggle('is-absent', !paths.some((path) => state.values[path]));
    this.count(state.problems);
    if (this.explained && this.fields.get(this.explained.path) === this.explained) this.explain(this.explained);
  }

  build(state, isOther) {
    const there = document.activeElement?.id;
    const typedIn = isOther ? null : [...this.fields.values()].find((one) => one.id === there);
    this.flush();
    this.fields.clear();
    this.heads.clear();
    this.sometimes = [];
    this.body.replaceChildren(...this.described.map((group) => this.folded(group, state)));
    if (typedIn && this.fields.has(typedIn.path)) this.fields.get(typedIn.path).carryOn(typedIn);
    else if (there && document.getElementById(there)) document.getElementById(there).focus();
    this.narrow();
  }

  folded(group, state) {
    const count = h('span', { class: 'count' });
    const open = (this.kept.open ?? ['', 'iron']).includes(group.path);
    const element = h('details', { class: 'group', open, ontoggle: () => this.remember() },
      h('summary', {}, h('span', {}, group.title), count), h('div', { class: 'group-body' }, ...this.inside(group, state)));
    this.heads.set(group.path, { element, count, group });
    return element;
  }

  remember() {
    if (this.find.value) return;
    this.kept.open = [...this.heads].filter(([, head]) => head.element.open).map(([path]) => path);
    this.kept.keep();
  }

  inside(group, state) {
    const there = group.path === '' || state.groups.includes(group.path);
    const made = [h('p', { class: 'group-how' }, group.how)];
    if (group.optional) made.push(this.presence(group, there));
    if (!group.optional || there) {
      made.push(...group.fields.map((field) => this.field(field, field.path)));
      for (const one of group.groups) made.push(one.most === null ? this.nested(one, state) : this.list(one, state));
    }
    return made;
  }

  presence(group, there) {
    const box = h('input', { type: 'checkbox', id: `there-${group.path}`, onchange: () => this.change({ do: box.checked ? 'add' : 'take_out', path: group.path }) });
    box.checked = there;
    return h('label', { class: 'choice' }, box, h('span', {}, `there is one: ${group.title.toLowerCase()}`));
  }

  nested(group, state) {
    const made = h('fieldset', { class: 'nested' }, h('legend', {}, group.title), ...this.inside(group, state));
    if (group.only_with.length) this.sometimes.push([made, group.only_with]);
    return made;
  }

  list(group, state) {
    const length = state.lists[group.path] ?? 0;
    const items = Array.from({ length }, (_, index) => this.item(group, index));
    const add = button(`Add to the ${group.title.toLowerCase()}`, () => this.change({ do: 'add', path: group.path }), { class: 'small', id: `add-${group.path}` });
    add.disabled = length >= group.most;
    return h('fieldset', { class: 'nested' }, h('legend', {}, group.title), h('p', { class: 'group-how' }, group.how), ...items, add);
  }

  item(group, index) {
    const path = `${group.path}.${index}`;
    const name = `${group.title}, ${index + 1}`;
    const out = button('Take out', () => this.change({ do: 'take_out', path }), { class: 'small', 'aria-label': `Take out: ${name}` });
    return h('fieldset', { class: 'item' }, h('legend', {}, name), ...group.fields.map((field) => this.field(field, field.path.replace('[]', index))), out);
  }

  field(declared, path) {
    const made = new Field(declared, path, (typed, stroke) => this.change({ do: 'write', path, typed, stroke }));
    this.fields.set(path, made);
    made.input.addEventListener('focus', () => this.explain(made));
    return made.element;
  }

  explain(field) {
    this.explained = field;
    this.help.replaceChildren(h('strong', {}, field.declared.title), ` ${field.how.textContent}`);
  }

  /** Sends whatever was typed and is not sent yet. */
  flush() {
    for (const field of this.fields.values()) if (field.isPending) field.flush();
  }

  // ---- finding one's way ---------------------------------------------------------------------------------------------------

  count(problems) {
    for (const [path, { count, group }] of this.heads) {
      const inside = problems.filter((one) => (path === '' ? group.fields.some((field) => field.path === one.path) : one.path === path || one.path.startsWith(`${path}.`)));
      count.textContent = inside.length ? `${inside.length} to mend` : '';
    }
  }

  narrow() {
    const wanted = this.find.value.trim().toLowerCase();
    for (const [path, { element, group }] of this.heads) {
      const own = [...this.fields].filter(([each]) => (path === '' ? !each.includes('.') : each.startsWith(`${path}.`)));
      let any = wanted !== '' && group.title.toLowerCase().includes(wanted);
      for (const [, field] of own) {
        const fits = !wanted || any || field.searched.includes(wanted);
        field.element.hidden = !fits;
      }
      any ||= own.some(([, field]) => !field.element.hidden);
      element.hidden = wanted !== '' && !any;
      if (wanted && any) element.open = true;
    }
    if (!wanted) for (const [path, { element }] of this.heads) element.open = (this.kept.open ?? ['', 'iron']).includes(path);
  }

  titleOf(path) {
    return this.fields.get(path)?.declared.title ?? this.heads.get(path)?.group.title ?? path;
  }

  /** The path of a field or group of the form that a path in a text means, null where it means none. */
  nearest(path) {
    if (this.fields.has(path) || (path && this.heads.has(path))) return path;
    return null;
  }

  /** Brings a field or group before the eye and goes into it. */
  go(path) {
    if (this.find.value) {
      this.find.value = '';
      this.narrow();
    }
    const field = this.fields.get(path) ?? this.fields.get([...this.fields.keys()].find((each) => each.startsWith(`${path}.`)));
    const element = field?.element ?? this.heads.get(path)?.element;
    const group = element?.closest('details');
    if (group) group.open = true;
    const still = window.matchMedia('(prefers-reduced-motion: reduce)').matches;
    element?.scrollIntoView({ block: 'center', behavior: still ? 'auto' : 'smooth' });
    (field?.input ?? element?.querySelector('summary, input'))?.focus({ preventScroll: true });
  }
}
