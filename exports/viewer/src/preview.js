// The page that can be mailed: reads the scene out of the page itself and puts the bench in its place.

import './preview.css';
import { bench, pictureButton } from './bench.js';
import { h } from './dom.js';
import { lightChoice } from './light.js';

const ON_PAPER = 1500; // pixels of the drawing's width on paper

function start() {
  const scene = JSON.parse(document.getElementById('scene').textContent);
  const place = document.getElementById('bench');
  document.getElementById('no-script').remove();
  let made = null;
  const light = lightChoice((theme) => made?.viewer.setTheme(theme));
  made = bench(place, scene, { theme: light.theme });
  document.getElementById('switches').append(light.element);
  if (!made) return;
  begin(made.viewer, scene);
  made.column.append(pictureButton(made.viewer, 'preview'));
  forPaper(made);
  window.planestock = { viewer: made.viewer };
}

/** What a scene asks to be seen at first: the states of its parts, and a turn (to the right and up, radians) of the usual view. */
function begin(viewer, { states, turn }) {
  if (states) viewer.setStates((part) => states[part.name] ?? 'shown');
  if (!turn) return;
  viewer.turn(...turn);
  viewer.fit();
}

// A drawing by the graphics hardware is not always printed; a copy on a plain canvas is.
function forPaper({ viewer, figure }) {
  const copy = h('canvas', { class: 'on-paper', 'aria-hidden': 'true' });
  figure.prepend(copy);
  window.addEventListener('beforeprint', () => {
    const high = Math.round(ON_PAPER / Math.max(1.3, Math.min(2.2, viewer.stage.aspect)));
    Object.assign(copy, { width: ON_PAPER, height: high });
    viewer.fix(ON_PAPER, high);
    copy.getContext('2d').drawImage(viewer.canvas, 0, 0);
    viewer.release();
    // What is folded on the screen cannot be opened on paper: it stands open there, behind everything else.
    const folded = [...document.querySelectorAll('main details.fold:not([open])')];
    const places = folded.map((one) => [one, one.parentNode, one.nextSibling]);
    for (const one of folded) {
      one.open = true;
      document.querySelector('main').append(one);
    }
    window.addEventListener('afterprint', () => {
      for (const [one, parent, next] of places.reverse()) {
        one.open = false;
        parent.insertBefore(one, next);
      }
    }, { once: true });
  });
}

start();
