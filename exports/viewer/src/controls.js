// The column of controls beside a viewer, in words; each is a plain element of the page, reached and named like any other.

import { button, fold, h, own, radio } from './dom.js';
import { VIEWS } from './viewer.js';
import * as words from './words.js';

const FINE = 0.01; // mm that one press of an arrow key moves the iron
const STATES = ['shown', 'see-through', 'hidden'];

/** Returns the column for a viewer. narrow: fold away all but what is used most. */
export function controls(viewer, { narrow = false } = {}) {
  const made = [looking(viewer), iron(viewer), cutting(viewer), apart(viewer), parts(viewer), measuring(viewer)];
  const open = narrow ? [true, true, false, false, false, false] : [true, true, true, true, true, true];
  const column = h('div', { class: 'controls' });
  made.forEach(({ title, body }, index) => column.append(fold(title, open[index], ...body)));
  column.append(fold('Mouse, touch and keys', false, keys()));
  const update = () => made.forEach((one) => one.update());
  viewer.addEventListener('change', update);
  viewer.addEventListener('measure', made[5].update);
  update();
  return column;
}

function looking(viewer) {
  const buttons = Object.entries(VIEWS).map(([key, { name }]) => button(name, () => viewer.look(key), { class: 'small' }));
  const flat = h('input', { type: 'checkbox', onchange: () => viewer.setFlat(flat.checked) });
  return {
    title: 'Look from',
    body: [
      h('div', { class: 'buttons', role: 'group', 'aria-label': 'Standard views' }, ...buttons, button('All in view', () => viewer.fit(), { class: 'small' })),
      h('label', { class: 'choice' }, flat, h('span', {}, 'without perspective')),
    ],
    update() {
      flat.checked = viewer.eye.flat;
    },
  };
}

function iron(viewer) {
  const id = own('edge');
  const slider = h('input', { id, type: 'range', step: FINE, oninput: () => viewer.setEdge(nearestStop(viewer, Number(slider.value))) });
  const told = h('output', { class: 'told', for: id });
  const mouth = h('p', { class: 'note' });
  const to = (text, place) => button(text, () => viewer.setEdge(place()), { class: 'small' });
  const level = to('Level', () => 0);
  return {
    title: 'Iron in its travel',
    body: [
      h('label', { for: id }, 'Edge against the sole'),
      h('div', { class: 'ends' }, slider, h('span', {}, 'back'), h('span', {}, 'out')),
      told,
      mouth,
      h('div', { class: 'buttons' }, to('All the way back', () => viewer.given.travel.back), level, to('All the way out', () => viewer.given.travel.out)),
    ],
    update() {
      const { travel, units } = viewer.given;
      slider.min = travel.back.toFixed(2);
      slider.max = travel.out.toFixed(2);
      slider.value = viewer.proud;
      const text = words.edgeInWords(viewer.proud, units);
      slider.setAttribute('aria-valuetext', text);
      told.textContent = text;
      level.disabled = travel.back > 0 || travel.out < 0;
      const ahead = words.mouthAhead(travel, viewer.proud);
      mouth.textContent = ahead > 0.005
        ? `Mouth: ${words.length(ahead, units)} from its front to the edge, along the sole.`
        : 'Mouth: closed; seen from below, no gap is left between the edge and its front.';
    },
  };
}

/** The slider counts in hundredths; its ends are the travel's own ends, which need not be. */
function nearestStop(viewer, value) {
  const { out, back } = viewer.given.travel;
  if (value >= out - FINE / 2) return out;
  return value <= back + FINE / 2 ? back : value;
}

function cutting(viewer) {
  const name = own('cut');
  const whole = radio(name, 'none', 'whole', () => viewer.setCut(null));
  const along = radio(name, 'y', 'along the body', () => viewer.setCut({ axis: 'y', at: 0 }));
  const across = radio(name, 'x', 'across it', () => viewer.setCut({ axis: 'x', at: edgePlace(viewer) }));
  const id = own('cut-at');
  const move = () => viewer.setCut({ ...viewer.cut, at: Number(slider.value) });
  const slider = h('input', { id, type: 'range', step: 0.5, oninput: move });
  const label = h('label', { for: id });
  const told = h('output', { class: 'told', for: id });
  const placeId = own('place');
  const place = h('select', { id: placeId, onchange: () => place.value !== '' && viewer.setCut({ ...viewer.cut, at: Number(place.value) }) });
  const other = button('Take off the other part', () => viewer.setCut({ ...viewer.cut, keep: -viewer.cut.keep }), { class: 'small' });
  const more = h('div', { class: 'more' }, h('label', { for: placeId }, 'Through'), place, label, slider, told, other);
  let filledFor = null;
  return {
    title: 'Cut open',
    body: [h('fieldset', { class: 'row' }, h('legend', { class: 'unseen' }, 'Cut open'), whole.label, along.label, across.label), more],
    update() {
      const { cut, given } = viewer;
      whole.input.checked = !cut;
      along.input.checked = cut?.axis === 'y';
      across.input.checked = cut?.axis === 'x';
      more.hidden = !cut;
      if (!cut) return;
      const [low, high] = viewer.limits(cut.axis);
      Object.assign(slider, { min: low, max: high });
      slider.value = cut.at;
      label.textContent = cut.axis === 'y' ? 'Or from the mid-plane' : 'Or from the toe';
      const text = words.length(cut.at, given.units);
      told.textContent = text;
      slider.setAttribute('aria-valuetext', text);
      const places = given.places.filter((one) => one.axis === cut.axis);
      const wanted = JSON.stringify(places);
      if (filledFor !== wanted) {
        filledFor = wanted;
        place.replaceChildren(h('option', { value: '' }, 'any place'), ...places.map((one) => h('option', { value: one.at }, `${one.name}, ${words.number(one.at, 1)}`)));
      }
      const here = places.find((one) => Math.abs(one.at - cut.at) < 0.005);
      place.value = here ? String(here.at) : '';
    },
  };
}

function edgePlace(viewer) {
  return viewer.given.places.find((place) => place.axis === 'x' && place.name.includes('edge'))?.at ?? 100;
}

function apart(viewer) {
  const id = own('apart');
  const slider = h('input', { id, type: 'range', min: 0, max: 100, step: 1, oninput: () => viewer.setApart(Number(slider.value) / 100) });
  const refit = () => viewer.fit();
  slider.addEventListener('change', refit);
  const set = (share) => () => {
    viewer.setApart(share);
    refit();
  };
  return {
    title: 'Take apart',
    body: [
      h('label', { for: id }, 'How far'),
      h('div', { class: 'ends' }, slider, h('span', {}, 'together'), h('span', {}, 'apart')),
      h('div', { class: 'buttons' }, button('Together', set(0), { class: 'small' }), button('All apart', set(1), { class: 'small' })),
    ],
    update() {
      slider.value = Math.round(viewer.share * 100);
      slider.setAttribute('aria-valuetext', `${Math.round(viewer.share * 100)} per cent apart`);
    },
  };
}

function parts(viewer) {
  const list = h('div', { class: 'parts' });
  const all = (choose) => () => viewer.setStates(choose);
  let rows = new Map();
  let listedFor = '';
  const build = () => {
    rows = new Map(viewer.given.parts.map((part) => [part.name, row(viewer, part)]));
    list.replaceChildren(...[...rows.values()].map((one) => one.element));
  };
  return {
    title: 'Parts',
    body: [
      h('div', { class: 'buttons', role: 'group', 'aria-label': 'All parts' },
        button('All shown', all('shown'), { class: 'small' }),
        button('Wood only', all((part) => (part.kind === 'wood' ? 'shown' : 'hidden')), { class: 'small' }),
        button('Metal only', all((part) => (part.kind === 'wood' ? 'hidden' : 'shown')), { class: 'small' }),
        button('See through the wood', all((part) => (part.kind === 'wood' ? 'see-through' : 'shown')), { class: 'small' })),
      list,
    ],
    update() {
      const names = JSON.stringify(viewer.given.parts.map((part) => [part.name, part.material]));
      if (names !== listedFor) build();
      listedFor = names;
      for (const [name, { inputs }] of rows) for (const input of inputs) input.checked = viewer.parts.get(name).state === input.value;
    },
  };
}

function row(viewer, part) {
  const name = own('part');
  const choices = STATES.map((state) => radio(name, state, state, () => viewer.setState(part.name, state)));
  const legend = h('legend', {}, part.name, ' ', h('span', { class: 'of' }, part.material));
  const element = h('fieldset', { class: 'part' }, legend, h('div', { class: 'three' }, ...choices.map((one) => one.label)));
  return { element, inputs: choices.map((one) => one.input) };
}

function measuring(viewer) {
  const toggle = button('Pick two points', () => viewer.setMeasuring(!viewer.measuring), { 'aria-pressed': 'false' });
  const clear = button('Clear', () => viewer.clearMeasure(), { class: 'small' });
  const told = h('div', { class: 'told measured', role: 'status' });
  return {
    title: 'Measure',
    body: [
      h('div', { class: 'buttons' }, toggle, clear),
      told,
      h('p', { class: 'note' }, 'A point near a corner, an edge or the centre of a hole is taken to lie on it. Distances are those of the assembled plane, also when it is drawn apart.'),
    ],
    update() {
      toggle.setAttribute('aria-pressed', String(viewer.measuring));
      toggle.textContent = viewer.measuring ? 'Stop picking' : 'Pick two points';
      clear.disabled = viewer.picked.length === 0;
      told.replaceChildren(...measuredLines(viewer).map((line, index) => h(index ? 'p' : 'strong', {}, line)));
    },
  };
}

function measuredLines(viewer) {
  const { spots, distance, along, across, up } = viewer.measured;
  const { units } = viewer.given;
  const spot = ({ kind, name }) => `${{ corner: 'a corner', edge: 'an edge', face: 'a face', centre: 'a centre' }[kind]} of the ${name}`;
  if (spots.length === 1) return [`From ${spot(spots[0])} to …`];
  if (spots.length < 2) return viewer.measuring ? ['Pick the first point.'] : [];
  return [
    words.length(distance, units),
    `${words.bare(along, units)} along, ${words.bare(across, units)} across, ${words.bare(up, units)} up (${units === 'in' ? 'in' : 'mm'})`,
    `from ${spot(spots[0])} to ${spot(spots[1])}`,
  ];
}

function keys() {
  const told = [
    ['Turn', 'drag, one finger, or the arrow keys'],
    ['Move', 'drag with the right button or with Shift, two fingers, or Shift and the arrow keys'],
    ['Nearer, farther', 'wheel, two fingers, or + and −'],
    ['All in view', 'A, or Home'],
    ['Views', `their initials: ${Object.values(VIEWS).map(({ name }) => name[0]).join(', ')}`],
    ['Turn about a spot', 'double click on it'],
    ['Measure by keys', 'Enter picks what lies under the cross in the middle; Escape clears'],
  ];
  return h('dl', { class: 'keys' }, ...told.flatMap(([what, how]) => [h('dt', {}, what), h('dd', {}, how)]));
}
