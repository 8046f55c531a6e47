// The viewer: one canvas, one scene, and everything that can be done with it. It draws only when something changed.
//
//   const viewer = new Viewer(canvas, { overlay, theme: 'light', still: false });
//   viewer.show(scene);                     a later scene replaces the parts that differ and keeps the view
//   viewer.setState('casting', 'see-through');    viewer.setCut({ axis: 'y', at: 0, keep: 1 });    viewer.setEdge(0.5);
//   viewer.addEventListener('change', …)    what is seen, in viewer.seen; 'eye', 'measure', 'point', 'lost' likewise

import { Vector3 } from 'three';

import { Eye, VIEWS } from './eye.js';
import { connect } from './hand.js';
import { drawMarks } from './marks.js';
import { between, drawnAt, pick } from './measure.js';
import { PartView } from './part_view.js';
import { Stage } from './stage.js';
import * as words from './words.js';

const GLIDE = 320; // ms that a change of view takes, unless the reader asked for stillness
const BELOW = 0.2; // mm of air between the lowest edge and the floor

export class Viewer extends EventTarget {
  /** Raises an Error where the browser cannot draw. overlay: an svg over the canvas; hand: what takes mouse and keys. */
  constructor(canvas, { overlay = null, hand = canvas, theme = 'light', still = false } = {}) {
    super();
    this.canvas = canvas;
    this.overlay = overlay;
    this.still = still;
    this.stage = new Stage(canvas);
    this.eye = new Eye();
    this.parts = new Map();
    this.states = new Map();
    this.share = 0;
    this.cut = null;
    this.measuring = false;
    this.picked = [];
    this.frames = 0;
    this.setTheme(theme);
    this.letGo = connect(hand, this);
    this.watch();
  }

  watch() {
    this.sizes = new ResizeObserver(() => this.refit());
    this.sizes.observe(this.canvas);
    this.canvas.addEventListener('webglcontextlost', (event) => {
      event.preventDefault();
      this.lost = true;
      for (const name of [...this.parts.keys()]) this.remove(name); // what they held in graphics memory is gone
      this.stage.forget();
      this.tell('lost');
    });
    this.canvas.addEventListener('webglcontextrestored', () => {
      this.lost = false;
      this.picked = [];
      if (this.given) this.show(this.given);
      this.tell('found');
    });
  }

  tell(name, detail = null) {
    this.dispatchEvent(new CustomEvent(name, { detail }));
  }

  // ---- the scene -------------------------------------------------------------------------------------------------------

  /** Shows a scene; parts whose key is unchanged are kept, and so are view, cut, states and the edge's place. */
  show(scene) {
    const first = !this.given;
    const before = this.given;
    this.given = scene;
    if (this.lost) return; // shown when the drawing comes back
    const wanted = new Map(scene.parts.map((part) => [part.name, part]));
    for (const [name, view] of this.parts) {
      if (wanted.get(name)?.key !== view.part.key) this.remove(name);
    }
    for (const part of scene.parts) if (!this.parts.has(part.name)) this.add(part);
    this.order();
    this.keepEdge(before);
    this.picked = this.picked.filter((point) => this.parts.get(point.view.name) === point.view);
    this.arrange();
    this.refit();
    if (first) this.jump(this.eye.fitted(this.box(), this.stage.aspect));
    this.changed();
  }

  keepEdge(before) {
    const { out, back } = this.given.travel;
    const wasOut = !before || this.proud === before.travel.out;
    this.proud = wasOut ? out : Math.max(back, Math.min(out, this.proud));
  }

  add(part) {
    const view = new PartView(part, this.given.grid);
    view.setState(this.states.get(part.name) ?? 'shown');
    this.parts.set(part.name, view);
    this.stage.scene.add(view.group);
  }

  remove(name) {
    const view = this.parts.get(name);
    this.stage.scene.remove(view.group);
    view.dispose();
    this.parts.delete(name);
  }

  order() {
    const places = new Map(this.given.parts.map((part, index) => [part.name, index]));
    for (const [name, view] of this.parts) view.order = places.get(name);
  }

  /** Puts every part in its place: taken apart, ridden, cut. */
  arrange() {
    const { travel } = this.given;
    const ride = new Vector3(...travel.per_mm).multiplyScalar(this.proud - travel.drawn);
    const nowhere = new Vector3();
    for (const view of this.parts.values()) {
      view.cut = null; // placed first, cut once
      view.place(view.part.rides ? ride : nowhere, this.share);
      view.setCut(this.cut, view.order);
    }
    const { low, high } = this.box(true);
    const sole = Math.min(...[...this.parts.values()].map((view) => view.low.z - view.ride.z + view.group.position.z));
    this.stage.surround(low, high, Math.min(sole, -Math.max(0, travel.out)) - BELOW);
  }

  /** The box around what is shown, cut as it is, or around everything whole. */
  box(all = false) {
    const low = new Vector3(Infinity, Infinity, Infinity);
    const high = new Vector3(-Infinity, -Infinity, -Infinity);
    const views = [...this.parts.values()].filter((view) => all || view.state !== 'hidden');
    if (!all && !views.some((view) => view.left())) return this.box(true);
    for (const view of views) {
      const seen = all ? view : view.left();
      if (!seen) continue;
      low.min(seen.low.clone().add(view.group.position));
      high.max(seen.high.clone().add(view.group.position));
    }
    return { low, high };
  }

  // ---- what is seen ----------------------------------------------------------------------------------------------------

  /** state: 'shown', 'see-through' or 'hidden'. */
  setState(name, state) {
    this.states.set(name, state);
    this.parts.get(name)?.setState(state);
    this.arrange();
    this.changed();
  }

  /** Sets the state of all parts at once: a function of the part, or one state for all. */
  setStates(choose) {
    for (const view of this.parts.values()) {
      const state = typeof choose === 'function' ? choose(view.part) : choose;
      this.states.set(view.name, state);
      view.setState(state);
    }
    this.arrange();
    this.changed();
  }

  /** share: 0 together, 1 all apart. */
  setApart(share) {
    this.share = Math.max(0, Math.min(1, share));
    this.arrange();
    this.changed();
  }

  /** cut: { axis: 'x' or 'y', at: mm, keep: +1 or -1 }, or null for whole. */
  setCut(cut) {
    this.cut = cut && { keep: this.farSide(cut.axis), ...cut };
    this.arrange();
    this.changed();
  }

  /** The side of a cut that is away from the eye, so that the cut is seen. */
  farSide(axis) {
    const { back } = this.eye.axes();
    return (axis === 'y' ? back.y : back.x) > 0.05 ? -1 : 1;
  }

  /** How far a cut can go, mm: the box of all parts as they lie in the body. */
  limits(axis) {
    const k = axis === 'y' ? 1 : 0;
    const views = [...this.parts.values()];
    const low = Math.min(...views.map((view) => view.low.getComponent(k)));
    const high = Math.max(...views.map((view) => view.high.getComponent(k)));
    return [Math.ceil(low), Math.floor(high)];
  }

  /** proud: mm of the edge below the sole, negative above; held within the adjuster's travel. */
  setEdge(proud) {
    const { out, back } = this.given.travel;
    this.proud = Math.max(back, Math.min(out, proud));
    this.arrange();
    this.changed();
  }

  setTheme(theme) {
    this.theme = theme;
    this.stage.setTheme(theme);
    this.redraw();
  }

  /** A sentence or two that say what is seen. */
  get seen() {
    const { units, travel, places } = this.given;
    const named = this.cut && places.find((place) => place.axis === this.cut.axis && Math.abs(place.at - this.cut.at) < 0.01);
    const by = (state) => [...this.parts.values()].filter((view) => view.state === state).map((view) => view.name);
    const told = [`Seen ${words.seenFrom(this.eye.azimuth, this.eye.elevation)}.`];
    if (this.cut) told.push(words.cutInWords(this.cut, named?.name, units));
    if (this.share > 0) told.push(this.share === 1 ? 'Taken apart.' : `Taken apart by ${Math.round(this.share * 100)} %.`);
    if (by('see-through').length) told.push(`See-through: ${words.listed(by('see-through'))}.`);
    if (by('hidden').length) told.push(`Hidden: ${words.listed(by('hidden'))}.`);
    told.push(`Edge ${words.edgeInWords(this.proud, units)}, ${words.mouthInWords(travel, this.proud, units)}.`);
    return told.join(' ');
  }

  // ---- the eye ---------------------------------------------------------------------------------------------------------

  turn(right, up) {
    this.gliding = null;
    this.eye.turn(right, up);
    this.moved();
  }

  slide(right, up) {
    this.gliding = null;
    this.eye.slide(right, up);
    this.moved();
  }

  zoom(factor, x = 0, y = 0) {
    this.gliding = null;
    this.eye.zoom(factor, x, y);
    this.moved();
  }

  /** Shows all that is not hidden, from the present direction. */
  fit() {
    this.glide(this.eye.fitted(this.box(), this.stage.aspect));
  }

  /** Looks from a standard view; names are the keys of VIEWS. */
  look(name) {
    const { azimuth, elevation } = VIEWS[name];
    const turned = new Eye();
    turned.state = { ...this.eye.state, azimuth: (azimuth * Math.PI) / 180, elevation: (elevation * Math.PI) / 180 };
    this.glide(turned.fitted(this.box(), this.stage.aspect));
  }

  /** flat: without perspective, so that equal lengths look equal. */
  setFlat(flat) {
    this.eye.flat = flat;
    this.moved();
    this.changed();
  }

  get eyeState() {
    return this.eye.state;
  }

  /** Sets the eye at once and quietly, as when it follows another viewer's. */
  jump(state) {
    this.gliding = null;
    this.eye.state = state;
    this.redraw();
  }

  glide(state) {
    if (this.still) {
      this.jump(state);
      this.moved();
      return;
    }
    const from = this.eye.state;
    const whole = 2 * Math.PI;
    from.azimuth = state.azimuth + ((((from.azimuth - state.azimuth + Math.PI) % whole) + whole) % whole) - Math.PI;
    this.gliding = { from, to: state, began: performance.now() };
    this.redraw();
  }

  step() {
    const { from, to, began } = this.gliding;
    const share = Math.min(1, (performance.now() - began) / GLIDE);
    const eased = share * share * (3 - 2 * share);
    const mix = (a, b) => a + (b - a) * eased;
    this.eye.state = {
      target: from.target.map((value, k) => mix(value, to.target[k])),
      azimuth: mix(from.azimuth, to.azimuth),
      elevation: mix(from.elevation, to.elevation),
      reach: mix(from.reach, to.reach),
      flat: to.flat,
    };
    if (share === 1) this.gliding = null;
    this.tell('eye', this.eye.state);
    if (this.gliding) this.redraw();
    else this.changed();
  }

  moved() {
    this.redraw();
    this.tell('eye', this.eye.state);
    clearTimeout(this.settling);
    this.settling = setTimeout(() => this.changed(), 250); // words follow when the hand rests
  }

  // ---- pointing and measuring --------------------------------------------------------------------------------------------

  setMeasuring(on) {
    this.measuring = on;
    if (!on) this.aimed = null;
    this.redraw();
    this.changed();
  }

  clearMeasure() {
    this.picked = [];
    this.redraw();
    this.tell('measure', this.measured);
  }

  under(x, y) {
    return pick([...this.parts.values()], this.eye.camera, this.stage, x, y);
  }

  /** The pointer hovers at (x, y) in pixels, or has left (null). */
  point(x, y) {
    this.hovering = x === null ? null : [x, y];
    if (this.pointing) return;
    this.pointing = requestAnimationFrame(() => {
      this.pointing = null;
      const found = this.hovering && this.given ? this.under(...this.hovering) : null;
      this.aimed = this.measuring ? found : null;
      this.mark();
      this.tell('point', found && { name: found.view.name, material: found.view.part.material, kind: found.kind });
    });
  }

  tap(x, y) {
    if (!this.measuring) return;
    const found = this.under(x, y);
    if (!found) return;
    this.picked = this.picked.length === 2 ? [found] : [...this.picked, found];
    this.mark();
    this.tell('measure', this.measured);
  }

  tapMiddle() {
    this.tap(this.stage.width / 2, this.stage.height / 2);
  }

  /** Turns about what is at (x, y) from now on. */
  centreOn(x, y) {
    const found = this.under(x, y);
    if (found) this.glide({ ...this.eye.state, target: drawnAt(found).toArray() });
  }

  /** What was picked, in words and numbers; distance only where there are two points. */
  get measured() {
    const spots = this.picked.map((point) => ({ name: point.view.name, kind: point.kind }));
    return this.picked.length === 2 ? { spots, ...between(...this.picked) } : { spots };
  }

  /** Draws the marks of measuring over the canvas. */
  mark() {
    if (this.overlay) drawMarks(this.overlay, this);
  }

  // ---- drawing ---------------------------------------------------------------------------------------------------------

  changed() {
    this.redraw();
    this.tell('change');
  }

  refit() {
    const { clientWidth, clientHeight } = this.canvas;
    if (!clientWidth || !clientHeight || !this.given || this.fixed) return;
    if (this.stage.resize(clientWidth, clientHeight, window.devicePixelRatio)) this.draw();
  }

  redraw() {
    if (this.asked || !this.given) return;
    this.asked = requestAnimationFrame(() => {
      this.asked = null;
      this.draw();
    });
  }

  draw() {
    if (this.lost || !this.given || !this.stage.width) return;
    if (this.gliding) this.step();
    this.stage.draw(this.eye);
    this.frames += 1;
    this.mark();
  }

  /** Draws at a fixed size in the light theme, for paper; `release` goes back to the page's size. */
  fix(width, height) {
    this.fixed = true;
    this.stage.resize(width, height, 1);
    this.stage.setTheme('light');
    this.draw();
  }

  release() {
    this.fixed = false;
    this.stage.setTheme(this.theme);
    this.refit();
    this.draw();
  }

  /** The drawing as a PNG data URL. */
  picture() {
    this.draw();
    return this.canvas.toDataURL('image/png');
  }

  /** Counts for tests: what the graphics memory holds, and how often it drew. */
  get load() {
    const { geometries, textures } = this.stage.renderer.info.memory;
    return { geometries, textures, programs: this.stage.renderer.info.programs.length, frames: this.frames };
  }

  dispose() {
    this.letGo();
    this.sizes.disconnect();
    cancelAnimationFrame(this.asked);
    clearTimeout(this.settling);
    for (const name of [...this.parts.keys()]) this.remove(name);
    this.stage.dispose();
  }
}

export { VIEWS };
