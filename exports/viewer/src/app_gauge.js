// The window gauge: a rule in the set's unit on which lie the thicknesses that work, what is sure all year, the body's thickness,
// and where the seasons take it.

import { h } from './dom.js';
import * as words from './words.js';

const NAMESPACE = 'http://www.w3.org/2000/svg';
const SIDE = 14; // pixels beside the rule
const STEPS = [0.1, 0.2, 0.5, 1, 2, 5, 10]; // mm between numbered ticks
const INCH_STEPS = [0.01, 0.02, 0.05, 0.1, 0.2, 0.5]; // inches between them on a rule in inches
const APART = 46; // pixels that numbered ticks need
const BAND = { top: 64, high: 24 };
const RULE = 120;
const HIGH = 152;

export class Gauge {
  constructor() {
    this.place = h('div', { class: 'gauge-place' });
    this.legend = h('ul', { class: 'gauge-words' });
    this.element = h('div', { class: 'window-gauge' }, this.place, this.legend);
    this.sizes = new ResizeObserver(() => this.draw());
    this.sizes.observe(this.place);
  }

  show(gauge, units) {
    this.given = gauge;
    this.units = units;
    this.legend.replaceChildren(...(gauge ? told(gauge, units) : []));
    this.draw();
  }

  draw() {
    const width = this.place.clientWidth;
    if (!this.given || !width) {
      this.place.replaceChildren();
      return;
    }
    this.place.replaceChildren(drawing(this.given, this.units, width));
  }
}

function told(gauge, units) {
  const { min, max, u_min: under, u_max: over, safe_low: low, safe_high: high, thickness, dry, wet, chosen, contradicted } = gauge;
  const span = (a, b) => `${words.bare(a, units)} to ${words.length(b, units)}`;
  const sure = contradicted ? 'By the bench method alone sure to work all year' : 'Sure to work all year';
  const safe = low <= high ? `${sure}: ${span(low, high)}.` : 'No thickness is sure to work all year.';
  return [
    ['thickness', `Thickness ${words.length(thickness, units)}, ${chosen ? `chosen: the largest that is sure${contradicted ? ' by the bench method alone' : ''}` : 'as you gave it'}.`],
    ['window', `Window: T_min ${words.bare(min, units)} ± ${words.bare(under, units)}, T_max ${words.bare(max, units)} ± ${words.length(over, units)}.`],
    ['safe', safe],
    ['seasons', `Through the year the body is ${span(Math.min(dry, wet), Math.max(dry, wet))} thick.`],
  ].map(([name, text]) => h('li', { class: `key-${name}` }, text));
}

function drawing(gauge, units, width) {
  const at = scale(gauge, width);
  const element = node('svg', { class: 'rule-gauge', viewBox: `0 0 ${width} ${HIGH}`, width, height: HIGH, role: 'img', 'aria-label': spoken(gauge, units) });
  element.append(
    ...band(gauge, at),
    ...whisker(at, gauge.min, gauge.u_min, 'T_min', 'end'),
    ...whisker(at, gauge.max, gauge.u_max, 'T_max', 'start'),
    ...seasons(gauge, at),
    ...rule(at, width, units),
    ...chosen(gauge, units, at, width),
  );
  return element;
}

function spoken(gauge, units) {
  const dry = `Driest season ${words.length(gauge.dry, units)}, dampest ${words.length(gauge.wet, units)}.`;
  return `Window of thicknesses. ${gauge.words} ${dry}`;
}

function scale(gauge, width) {
  const all = [gauge.min - gauge.u_min, gauge.max + gauge.u_max, gauge.thickness, gauge.dry, gauge.wet];
  const [low, high] = [Math.min(...all), Math.max(...all)];
  const air = Math.max(0.25, 0.14 * (high - low));
  const [from, to] = [low - air, high + air];
  const at = (mm) => SIDE + ((mm - from) / (to - from)) * (width - 2 * SIDE);
  return Object.assign(at, { from, to, perMm: (width - 2 * SIDE) / (to - from) });
}

function band(gauge, at) {
  const bar = (from, to, name) => node('rect', { class: name, x: at(from), y: BAND.top, width: Math.max(0, at(to) - at(from)), height: BAND.high });
  const made = [];
  if (gauge.min < gauge.max) made.push(bar(gauge.min, gauge.max, 'window'));
  if (gauge.safe_low < gauge.safe_high) made.push(bar(gauge.safe_low, gauge.safe_high, 'safe'));
  return made;
}

function whisker(at, value, expanded, name, side) {
  const y = BAND.top + BAND.high / 2;
  const out = side === 'end' ? at(value - expanded) - 5 : at(value + expanded) + 5;
  const tick = (mm, half) => node('line', { class: 'unsure', x1: at(mm), x2: at(mm), y1: y - half, y2: y + half });
  const label = node('text', { class: 'end-name', x: out, y: y + 4, 'text-anchor': side });
  label.textContent = name;
  return [
    node('line', { class: 'unsure', x1: at(value - expanded), x2: at(value + expanded), y1: y, y2: y }),
    tick(value - expanded, 4), tick(value + expanded, 4), tick(value, BAND.high / 2 + 3), label,
  ];
}

function seasons(gauge, at) {
  const y = BAND.top + BAND.high + 9;
  const [low, high] = [Math.min(gauge.dry, gauge.wet), Math.max(gauge.dry, gauge.wet)];
  const tick = (mm) => node('line', { class: 'year', x1: at(mm), x2: at(mm), y1: y - 4, y2: y + 4 });
  return [node('line', { class: 'year', x1: at(low), x2: at(high), y1: y, y2: y }), tick(low), tick(high)];
}

function rule(at, width, units) {
  const unit = units === 'in' ? 25.4 : 1;
  const steps = units === 'in' ? INCH_STEPS : STEPS;
  const step = (steps.find((one) => one * unit * at.perMm >= APART) ?? (units === 'in' ? 1 : 20)) * unit;
  const made = [node('line', { class: 'rule', x1: 0, x2: width, y1: RULE, y2: RULE })];
  const fine = step / ([0.02, 0.2, 2].some((one) => Math.abs(step / unit - one) < 1e-9) ? 4 : 5);
  for (let count = Math.ceil(at.from / fine); count * fine <= at.to; count += 1) {
    const mm = count * fine;
    const numbered = Math.abs(mm / step - Math.round(mm / step)) < 1e-6;
    made.push(node('line', { class: 'rule', x1: at(mm), x2: at(mm), y1: RULE, y2: RULE + (numbered ? 10 : 5) }));
    if (!numbered) continue;
    const text = node('text', { class: 'rule-number', x: at(mm), y: RULE + 25, 'text-anchor': 'middle' });
    text.textContent = units === 'in' ? words.number(mm / unit, 2) : words.number(mm, step < 1 ? 1 : 0);
    made.push(text);
  }
  return made;
}

function chosen(gauge, units, at, width) {
  const x = at(gauge.thickness);
  const shown = Math.min(Math.max(x, 80), width - 80);
  const text = node('text', { class: 'chosen-name', x: shown, y: 22, 'text-anchor': 'middle' });
  text.textContent = words.length(gauge.thickness, units);
  return [
    text,
    node('line', { class: 'chosen', x1: x, x2: x, y1: 34, y2: RULE }),
    node('path', { class: 'chosen', d: `M ${x} ${BAND.top - 4} l -6 -11 h 12 z` }),
    node('line', { class: 'lead', x1: shown, x2: x, y1: 27, y2: 34 }),
  ];
}

function node(name, attributes) {
  const element = document.createElementNS(NAMESPACE, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, typeof value === 'number' ? Math.round(value * 100) / 100 : value);
  return element;
}
