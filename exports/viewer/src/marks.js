// The marks of measuring: an svg over the canvas, drawn anew whenever the view is.

import { between, drawnAt, project } from './measure.js';
import * as words from './words.js';

const CROSS = 9; // pixels of half the cross in the middle, for picking by keys

/** Puts the picked points, the ruler between them, and what the pointer aims at, over the drawing of a viewer. */
export function drawMarks(overlay, viewer) {
  const { width, height } = viewer.stage;
  const { camera } = viewer.eye;
  const at = (point) => project(drawnAt(point), camera, viewer.stage);
  overlay.setAttribute('viewBox', `0 0 ${width} ${height}`);
  const spots = viewer.picked.map(at);
  const marks = spots.map(({ x, y }) => svg('circle', { class: 'mark', cx: x, cy: y, r: 4.5 }));
  if (spots.length === 2) marks.unshift(...ruler(...spots, words.length(between(...viewer.picked).distance, viewer.given.units)));
  if (viewer.aimed) marks.push(aim(viewer.aimed, at(viewer.aimed)));
  const byKeys = viewer.measuring && !viewer.hovering && document.activeElement?.contains(viewer.canvas);
  if (byKeys) marks.push(...cross(width / 2, height / 2));
  overlay.replaceChildren(...marks);
}

function ruler(a, b, text) {
  const label = svg('text', { class: 'ruler-text', x: (a.x + b.x) / 2, y: (a.y + b.y) / 2 - 9, 'text-anchor': 'middle' });
  label.textContent = text;
  return [svg('line', { class: 'ruler', x1: a.x, y1: a.y, x2: b.x, y2: b.y }), label];
}

function aim({ kind }, { x, y }) {
  return svg('circle', { class: `aim aim-${kind}`, cx: x, cy: y, r: kind === 'face' ? 2.5 : 7 });
}

function cross(x, y) {
  return [
    svg('line', { class: 'cross', x1: x - CROSS, y1: y, x2: x + CROSS, y2: y }),
    svg('line', { class: 'cross', x1: x, y1: y - CROSS, x2: x, y2: y + CROSS }),
  ];
}

function svg(name, attributes) {
  const element = document.createElementNS('http://www.w3.org/2000/svg', name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  return element;
}
