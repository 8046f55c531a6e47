// A viewer with its frame, caption and controls, put into an element of the page: what both the preview and the app show.

import { controls } from './controls.js';
import { button, h, own } from './dom.js';
import { Viewer } from './viewer.js';

const NARROW = 760; // CSS pixels of the page below which the column stands under the drawing, folded

/**
 * Puts a bench into `place` and shows the scene. Returns { viewer, figure, column }, or null where the browser cannot draw;
 * then a message stands in the drawing's place.
 */
export function bench(place, scene, { theme = 'light', before = [], after = [] } = {}) {
  const caption = h('figcaption', { id: own('seen'), 'aria-live': 'polite' });
  const canvas = h('canvas', { role: 'img', 'aria-label': scene.seen });
  const overlay = document.createElementNS('http://www.w3.org/2000/svg', 'svg');
  overlay.setAttribute('class', 'overlay');
  overlay.setAttribute('aria-hidden', 'true');
  const hand = h('div', { class: 'hand', tabindex: 0, role: 'group', 'aria-describedby': caption.id, 'aria-label': 'View of the plane: arrow keys turn it, plus and minus bring it nearer, A shows all' }, canvas, overlay);
  const figure = h('figure', { class: 'drawing' }, hand, caption);
  place.append(figure);
  const viewer = started(canvas, { overlay, hand, theme });
  if (!viewer) {
    hand.replaceWith(h('p', { class: 'no-drawing', role: 'alert' }, NO_DRAWING));
    caption.textContent = scene.seen;
    return null;
  }
  viewer.show(scene);
  tellWhatIsSeen(viewer, canvas, caption, hand);
  const column = h('div', { class: 'column' }, ...before, controls(viewer, { narrow: window.innerWidth < NARROW }), ...after);
  place.append(column);
  return { viewer, figure, column };
}

const NO_DRAWING =
  'This browser could not draw the plane: it offers no WebGL, or WebGL is switched off. Every number on this page stands without it.';

function started(canvas, options) {
  const still = window.matchMedia('(prefers-reduced-motion: reduce)').matches;
  try {
    return new Viewer(canvas, { ...options, still });
  } catch (error) {
    console.info(`planestock: ${error.message}`);
    return null;
  }
}

function tellWhatIsSeen(viewer, canvas, caption, hand) {
  const seen = h('span', {});
  const pointed = h('span', { class: 'pointed', 'aria-hidden': 'true' });
  const lost = h('p', { class: 'no-drawing lost', role: 'alert', hidden: true }, 'The drawing was lost by the graphics driver; it comes back by itself or when the page is loaded again.');
  caption.append(seen, pointed);
  hand.after(lost);
  const tell = () => {
    seen.textContent = viewer.seen;
    canvas.setAttribute('aria-label', `${viewer.given.seen}. ${viewer.seen}`);
  };
  viewer.addEventListener('change', tell);
  viewer.addEventListener('point', ({ detail }) => {
    pointed.textContent = detail ? `${detail.name}, ${detail.material}` : '';
  });
  viewer.addEventListener('lost', () => { lost.hidden = false; });
  viewer.addEventListener('found', () => { lost.hidden = true; });
  tell();
}

/** A button that saves the drawing as it is. */
export function pictureButton(viewer, name) {
  return button('Save this picture', () => {
    h('a', { href: viewer.picture(), download: `${name}.png` }).click();
  });
}
