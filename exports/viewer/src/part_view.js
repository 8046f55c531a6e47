// One part as it is drawn: its surface, its edges, its filled section, and how it is shown.

import {
  AlwaysStencilFunc,
  BackSide,
  BufferAttribute,
  BufferGeometry,
  DecrementWrapStencilOp,
  FrontSide,
  Group,
  IncrementWrapStencilOp,
  LineBasicMaterial,
  LineSegments,
  Mesh,
  MeshBasicMaterial,
  NotEqualStencilFunc,
  Plane,
  ReplaceStencilOp,
  Vector3,
} from 'three';

import * as decode from './decode.js';
import { colourOf, edgeColour, filling, isScan, linear, surface } from './finish.js';

export const AXES = { x: 0, y: 1, z: 2 };
const NUDGE = 0.02; // mm: a cut just on a mating face is moved into what stays, so that face and filling do not fight

export class PartView {
  constructor(part, grid) {
    this.part = part;
    this.name = part.name;
    this.state = 'shown';
    this.vertices = decode.points(part.points, grid);
    this.triangles = decode.faces(part.faces, part.wide);
    this.edges = decode.segments(part.sharp, grid);
    this.corners = decode.corners(part.sharp, grid);
    this.centres = decode.points(part.centres, grid);
    this.sectionEdges = new Float32Array(0);
    this.low = new Vector3(Infinity, Infinity, Infinity);
    this.high = new Vector3(-Infinity, -Infinity, -Infinity);
    for (let i = 0; i < this.vertices.length; i += 3) {
      const point = new Vector3(...this.vertices.subarray(i, i + 3));
      this.low.min(point);
      this.high.max(point);
    }
    this.apart = new Vector3(...part.apart);
    this.ride = new Vector3();
    this.plane = new Plane(new Vector3(0, 1, 0), 0);
    this.cut = null;
    this.group = new Group();
    this.group.name = part.name;
    this.draw(grid);
  }

  draw(grid) {
    const { position, normal } = decode.shaded(this.vertices, this.triangles);
    this.geometry = new BufferGeometry();
    this.geometry.setAttribute('position', new BufferAttribute(position, 3));
    this.geometry.setAttribute('normal', new BufferAttribute(normal, 3));
    if (isScan(this.part)) {
      const { shades, palette } = this.part;
      this.geometry.setAttribute('color', new BufferAttribute(decode.colours(shades, palette, this.triangles, linear), 3));
    }
    this.body = new Mesh(this.geometry, surface(this.part));
    this.body.castShadow = true;
    this.body.receiveShadow = true;
    this.sharp = lines(this.edges, edgeColour(this.part), 0.9);
    this.smooth = lines(decode.segments(this.part.smooth, grid), edgeColour(this.part), 0.22);
    this.outline = lines(this.sectionEdges, edgeColour(this.part).multiplyScalar(0.6), 1);
    this.group.add(this.body, this.sharp, this.smooth, this.outline);
  }

  /** Shows the part: 'shown', 'see-through' or 'hidden'. */
  setState(state) {
    this.state = state;
    const seeThrough = state === 'see-through';
    this.group.visible = state !== 'hidden';
    const { material } = this.body;
    material.transparent = seeThrough;
    material.opacity = seeThrough ? 0.16 : 1;
    material.depthWrite = !seeThrough;
    material.needsUpdate = true;
    this.body.castShadow = !seeThrough;
    this.body.receiveShadow = !seeThrough;
    this.sharp.material.opacity = seeThrough ? 0.6 : 0.9;
    this.smooth.material.opacity = seeThrough ? 0.15 : 0.22;
    const edge = seeThrough ? colourOf(this.part).multiplyScalar(0.7) : edgeColour(this.part);
    this.sharp.material.color.copy(edge);
    this.smooth.material.color.copy(edge);
    if (this.filler) this.filler.visible = !seeThrough;
  }

  /** Puts the part where it belongs: ridden by the adjuster, and taken apart by a share of the way. */
  place(ride, share) {
    this.ride.copy(ride);
    this.group.position.copy(this.apart).multiplyScalar(share).add(ride);
    if (this.cut) this.setCut(this.cut);
  }

  /** Cuts the part open at axis = at in the body, keeping the side of `keep` (+1 or -1); null makes it whole. */
  setCut(cut, order = this.order) {
    const axisChanged = cut?.axis !== this.cut?.axis;
    this.cut = cut;
    this.order = order;
    const planes = cut ? [this.plane] : null;
    for (const drawn of [this.body, this.sharp, this.smooth]) {
      if ((drawn.material.clippingPlanes === null) !== (planes === null)) drawn.material.needsUpdate = true;
      drawn.material.clippingPlanes = planes;
    }
    if (axisChanged) this.removeFiller();
    if (!cut) {
      this.setOutline(new Float32Array(0));
      return;
    }
    const k = AXES[cut.axis];
    const local = cut.at + cut.keep * NUDGE - this.ride.getComponent(k);
    this.plane.normal.set(0, 0, 0).setComponent(k, cut.keep);
    this.plane.constant = -cut.keep * (local + this.group.position.getComponent(k));
    if (!isScan(this.part)) { // an open surface has no inside to fill
      if (!this.filler) this.makeFiller(cut.axis);
      this.fillAt(k, local);
    }
    this.setOutline(decode.crossing(this.vertices, this.triangles, k, local));
  }

  /** The box of what a cut leaves, in the part's own coordinates; null where it leaves nothing. */
  left() {
    const box = { low: this.low.clone(), high: this.high.clone() };
    if (!this.cut) return box;
    const k = AXES[this.cut.axis];
    const at = this.cut.at - this.ride.getComponent(k);
    if (this.cut.keep > 0) box.low.setComponent(k, Math.max(at, box.low.getComponent(k)));
    else box.high.setComponent(k, Math.min(at, box.high.getComponent(k)));
    return box.low.getComponent(k) < box.high.getComponent(k) ? box : null;
  }

  makeFiller(axis) {
    const counting = (side, operation) => {
      const material = new MeshBasicMaterial({ side, colorWrite: false, depthWrite: false, depthTest: false });
      material.stencilWrite = true;
      material.stencilFunc = AlwaysStencilFunc;
      material.stencilFail = material.stencilZFail = material.stencilZPass = operation;
      material.clippingPlanes = [this.plane];
      const mesh = new Mesh(this.geometry, material);
      mesh.renderOrder = 10 + 2 * this.order;
      return mesh;
    };
    const material = filling(this.part, axis);
    material.stencilWrite = true;
    material.stencilRef = 0;
    material.stencilFunc = NotEqualStencilFunc;
    material.stencilFail = material.stencilZFail = material.stencilZPass = ReplaceStencilOp;
    const cap = new Mesh(new BufferGeometry(), material);
    cap.geometry.setAttribute('position', new BufferAttribute(new Float32Array(18), 3));
    cap.frustumCulled = false;
    cap.renderOrder = 11 + 2 * this.order;
    cap.onAfterRender = (renderer) => renderer.clearStencil();
    this.filler = new Group();
    this.filler.add(counting(BackSide, IncrementWrapStencilOp), counting(FrontSide, DecrementWrapStencilOp), cap);
    this.filler.visible = this.state !== 'see-through';
    this.cap = cap;
    this.group.add(this.filler);
  }

  fillAt(k, local) {
    const inside = local > this.low.getComponent(k) && local < this.high.getComponent(k);
    this.filler.visible = inside && this.state !== 'see-through';
    const [i, j] = [0, 1, 2].filter((d) => d !== k);
    const place = this.cap.geometry.getAttribute('position');
    const spot = new Vector3();
    [[0, 0], [1, 0], [1, 1], [0, 0], [1, 1], [0, 1]].forEach(([u, v], index) => {
      spot.setComponent(k, local);
      spot.setComponent(i, u ? this.high.getComponent(i) + 1 : this.low.getComponent(i) - 1);
      spot.setComponent(j, v ? this.high.getComponent(j) + 1 : this.low.getComponent(j) - 1);
      place.setXYZ(index, spot.x, spot.y, spot.z);
    });
    place.needsUpdate = true;
  }

  setOutline(segments) {
    this.sectionEdges = segments;
    this.outline.geometry.dispose();
    this.outline.geometry = new BufferGeometry();
    this.outline.geometry.setAttribute('position', new BufferAttribute(segments, 3));
    this.outline.visible = segments.length > 0;
  }

  removeFiller() {
    if (!this.filler) return;
    this.group.remove(this.filler);
    this.cap.geometry.dispose();
    for (const mesh of this.filler.children) mesh.material.dispose();
    this.filler = null;
  }

  dispose() {
    this.removeFiller();
    for (const drawn of [this.body, this.sharp, this.smooth, this.outline]) {
      drawn.geometry.dispose();
      drawn.material.dispose();
    }
  }
}

function lines(segments, color, opacity) {
  const geometry = new BufferGeometry();
  geometry.setAttribute('position', new BufferAttribute(segments, 3));
  const drawn = new LineSegments(geometry, new LineBasicMaterial({ color, transparent: true, opacity, depthWrite: false }));
  drawn.visible = segments.length > 0;
  drawn.renderOrder = 60; // after every filling, so that the filling's smooth edge does not eat the line
  return drawn;
}
