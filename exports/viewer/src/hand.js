// Mouse, touch and keys: what a hand does to the view.

import { VIEWS } from './eye.js';

const STILL = 5; // pixels a pointer may tremble and still be a tap
const STEP = Math.PI / 18; // one press of an arrow key turns ten degrees
const VIEW_OF_INITIAL = new Map(Object.entries(VIEWS).map(([view, { name }]) => [name[0].toLowerCase(), view]));

/** Connects an element to a viewer; returns a function that lets go of it. */
export function connect(element, viewer) {
  const down = new Map();
  let moved = 0;
  const away = new AbortController();
  const on = (name, heard, options = {}) => element.addEventListener(name, heard, { signal: away.signal, ...options });

  on('pointerdown', (event) => {
    if (down.size === 0) moved = 0;
    down.set(event.pointerId, { x: event.clientX, y: event.clientY });
    element.setPointerCapture(event.pointerId);
    if (down.size > 1) moved = Infinity;
  });
  on('pointermove', (event) => {
    const before = down.get(event.pointerId);
    if (!before) {
      viewer.point(...within(element, event));
      return;
    }
    const after = { x: event.clientX, y: event.clientY };
    moved += Math.hypot(after.x - before.x, after.y - before.y);
    if (down.size === 1) drag(viewer, element, event, after.x - before.x, after.y - before.y);
    else if (down.size === 2) pinch(viewer, element, down, event.pointerId, after);
    down.set(event.pointerId, after);
  });
  const up = (event) => {
    if (!down.delete(event.pointerId)) return;
    if (event.type === 'pointerup' && down.size === 0 && moved <= STILL && event.button === 0) viewer.tap(...within(element, event));
  };
  on('pointerup', up);
  on('pointercancel', up);
  on('pointerleave', () => viewer.point(null, null));
  on('dblclick', (event) => viewer.centreOn(...within(element, event)));
  on('contextmenu', (event) => event.preventDefault());
  on('wheel', (event) => {
    event.preventDefault();
    const lines = event.deltaMode === 0 ? event.deltaY / 100 : event.deltaY / 3;
    const [x, y] = within(element, event);
    const { width, height } = element.getBoundingClientRect();
    viewer.zoom(1.15 ** Math.max(-4, Math.min(4, lines)), (2 * x - width) / height, 1 - (2 * y) / height);
  }, { passive: false });
  on('keydown', (event) => {
    if (press(viewer, event)) event.preventDefault();
  });
  return () => away.abort();
}

function within(element, event) {
  const box = element.getBoundingClientRect();
  return [event.clientX - box.left, event.clientY - box.top];
}

function drag(viewer, element, event, dx, dy) {
  const height = element.clientHeight || 1;
  const slides = event.buttons & 6 || event.shiftKey || event.ctrlKey || event.metaKey;
  if (slides) viewer.slide((2 * dx) / height, (-2 * dy) / height);
  else viewer.turn((dx / height) * Math.PI, (dy / height) * Math.PI);
}

function pinch(viewer, element, down, moving, after) {
  const [still] = [...down].filter(([id]) => id !== moving).map(([, spot]) => spot);
  const before = down.get(moving);
  const height = element.clientHeight || 1;
  const apart = (spot) => Math.max(20, Math.hypot(spot.x - still.x, spot.y - still.y));
  viewer.slide((after.x - before.x) / height, -(after.y - before.y) / height);
  viewer.zoom(apart(before) / apart(after));
}

function press(viewer, event) {
  if (event.altKey || event.ctrlKey || event.metaKey) return false;
  const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
  const way = ways[event.key];
  if (way && event.shiftKey) viewer.slide(way[0] * 0.15, way[1] * 0.15);
  else if (way) viewer.turn(-way[0] * STEP, way[1] * STEP);
  else if (event.key === '+' || event.key === '=') viewer.zoom(1 / 1.2);
  else if (event.key === '-') viewer.zoom(1.2);
  else if (event.key.toLowerCase() === 'a' || event.key === 'Home') viewer.fit();
  else if (VIEW_OF_INITIAL.has(event.key.toLowerCase())) viewer.look(VIEW_OF_INITIAL.get(event.key.toLowerCase()));
  else if (event.key === 'Enter' && viewer.measuring) viewer.tapMiddle();
  else if (event.key === 'Escape' && viewer.measuring) viewer.clearMeasure();
  else return false;
  return true;
}
