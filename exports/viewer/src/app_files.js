// Files to take away: which kinds, how far their making is, where each can be fetched; with the cautions beside them.

import { ask, patiently, Refused } from './app_api.js';
import { button, h } from './dom.js';

export class Files {
  /** kinds: what can be made, by title, and whether it usually is; variant(): the one whose files are wanted. */
  constructor(kinds, cautions, variant) {
    this.variant = variant;
    this.boxes = kinds.map(({ title, usual }) => {
      const box = h('input', { type: 'checkbox', value: title });
      box.checked = usual;
      return { box, title, label: h('label', { class: 'choice' }, box, h('span', {}, title)) };
    });
    this.allow = h('input', { type: 'checkbox' });
    this.allowed = h('label', { class: 'choice' }, this.allow, h('span', {}, 'make them although a check fails; every file then says so'));
    this.make = button('Make the files', () => this.order());
    this.stop = button('Give up', () => this.giveUp());
    this.bar = h('progress', { max: 1, value: 0, 'aria-label': 'Files made' });
    this.told = h('p', { role: 'status', class: 'files-told' });
    this.made = h('div', { class: 'made' });
    const all = (checked) => () => this.boxes.forEach(({ box }) => { box.checked = checked; });
    this.element = h('div', { class: 'files' },
      h('fieldset', { class: 'kinds' }, h('legend', {}, 'What to make'), ...this.boxes.map((one) => one.label),
        h('div', { class: 'buttons' }, button('All', all(true), { class: 'small' }), button('None', all(false), { class: 'small' }))),
      this.allowed,
      h('div', { class: 'buttons' }, this.make, this.stop),
      this.bar, this.told, this.made,
      h('details', { class: 'fold cautions', open: true }, h('summary', {}, 'Before you cut: cautions'), h('ul', {}, ...cautions.map((one) => h('li', {}, one)))));
    this.bar.hidden = true;
    this.stop.hidden = true;
  }

  show(state) {
    const rows = [...(state.numbers?.rows ?? []), ...(state.solid_rows ?? [])];
    this.allowed.hidden = !rows.some((row) => row.verdict === 'fail');
    this.make.disabled = !state.numbers_now || Boolean(this.job);
  }

  async order() {
    const titles = this.boxes.filter(({ box }) => box.checked).map(({ title }) => title);
    if (!titles.length) {
      this.told.textContent = 'Choose at least one kind of file.';
      return;
    }
    const variant = this.variant();
    await variant.sent();
    this.made.replaceChildren();
    this.begin(true);
    try {
      this.job = await ask(`${variant.path}/files`, { method: 'POST', content: { titles, allow_failing: this.allow.checked && !this.allowed.hidden } });
      await this.follow(variant.name);
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      this.told.textContent = error.message;
    } finally {
      this.begin(false);
    }
  }

  begin(going) {
    this.going = going;
    this.make.disabled = going;
    this.stop.hidden = !going;
    this.bar.hidden = !going;
    if (!going) this.job = null;
  }

  async follow(name) {
    while (this.job?.status === 'making') {
      this.bar.max = this.job.steps + 1;
      this.bar.value = this.job.begun;
      this.told.textContent = `Being made: ${this.job.doing} (${this.job.begun} of ${this.job.steps}).`;
      const { id, news } = this.job;
      const found = await patiently(() => ask(`/api/orders/${id}?after=${news}`), (error) => { this.told.textContent = error.message; });
      if (this.job) this.job = found;
    }
    if (!this.job) return;
    this.told.textContent = this.job.status === 'done' ? `${this.job.files.length} files of ${name}.` : this.job.said;
    if (this.job.status === 'done') this.made.replaceChildren(...this.listed(this.job));
  }

  listed(job) {
    const kinds = [...new Set(job.files.map((file) => file.title))];
    const all = h('a', { class: 'take all', href: `/api/orders/${job.id}/all`, download: '' }, 'Take all of them (one ZIP archive)');
    return [all, ...kinds.map((kind) => h('div', { class: 'kind' }, h('h3', {}, kind), h('ul', {}, ...job.files.filter((file) => file.title === kind).map((file) => h('li', {},
      h('a', { class: 'take', href: `/api/orders/${job.id}/file?name=${encodeURIComponent(file.name)}`, download: '' }, file.name), h('span', { class: 'size' }, ` ${size(file.bytes)}`))))))];
  }

  giveUp() {
    const job = this.job;
    this.job = null;
    if (job) ask(`/api/orders/${job.id}`, { method: 'DELETE' }).catch(() => {});
    this.told.textContent = 'Given up; nothing was kept.';
  }
}

function size(bytes) {
  if (bytes < 1000) return `${bytes} bytes`;
  return bytes < 1e6 ? `${Math.round(bytes / 1000)} kB` : `${(bytes / 1e6).toFixed(1)} MB`;
}
