// Picking points on what is seen, and measuring between two of them. A point near a corner, a hole's centre or an edge is
// taken to lie on it.

import { Vector3 } from 'three';

import { AXES } from './part_view.js';

const NEAR_CORNER = 11; // pixels
const NEAR_EDGE = 7;
const HIDDEN = 1.5; // mm: how far behind the seen surface a corner may lie and still be the one that is meant

/** What is under a spot of the canvas, or null: { view, local, kind }. `local` are the part's own coordinates. */
export function pick(views, camera, size, x, y) {
  const ray = rayThrough(camera, size, x, y);
  const seen = views.filter((view) => view.state === 'shown');
  let hit = null;
  for (const view of seen) {
    const found = meets(view, ray);
    if (found !== null && (hit === null || found < hit.far)) hit = { view, far: found };
  }
  const depth = hit ? hit.far : Infinity;
  const snapped = nearestMark(seen, camera, size, x, y, ray, depth) ?? nearestEdge(seen, camera, size, x, y, ray, depth);
  if (snapped) return snapped;
  if (!hit) return null;
  const local = ray.origin.clone().addScaledVector(ray.way, hit.far).sub(hit.view.group.position);
  return { view: hit.view, local, kind: 'face' };
}

/** Where a point of a part lies in the assembled body. */
export function inBody({ view, local }) {
  return local.clone().add(view.ride);
}

/** Where a point of a part is drawn. */
export function drawnAt({ view, local }) {
  return local.clone().add(view.group.position);
}

/** A drawn point on the canvas, in pixels, with its depth. */
export function project(point, camera, size) {
  const seen = point.clone().project(camera);
  return { x: ((seen.x + 1) / 2) * size.width, y: ((1 - seen.y) / 2) * size.height, depth: seen.z };
}

/** Distance and its parts along, across and up, in mm, as in the assembled body. */
export function between(one, other) {
  const gap = inBody(other).sub(inBody(one));
  return { distance: gap.length(), along: gap.x, across: gap.y, up: gap.z };
}

function rayThrough(camera, size, x, y) {
  const near = new Vector3((2 * x) / size.width - 1, 1 - (2 * y) / size.height, -1).unproject(camera);
  const far = new Vector3((2 * x) / size.width - 1, 1 - (2 * y) / size.height, 1).unproject(camera);
  return { origin: near, way: far.sub(near).normalize() };
}

/** How far along the ray a part is met, or null. A cut part is met on its filled section too. */
function meets(view, ray) {
  const origin = ray.origin.clone().sub(view.group.position);
  const hits = [];
  if (!passesBox(view, origin, ray.way)) return null;
  for (let t = 0; t < view.triangles.length; t += 3) {
    const found = triangleHit(view, t, origin, ray.way);
    if (found) hits.push(found);
  }
  hits.sort((a, b) => a.far - b.far);
  return view.cut ? firstKept(view, origin, ray.way, hits) : (hits.find((hit) => hit.far > 0)?.far ?? null);
}

function firstKept(view, origin, way, hits) {
  const k = AXES[view.cut.axis];
  const side = (far) => view.cut.keep * (origin.getComponent(k) + far * way.getComponent(k) - localCut(view, k));
  const step = way.getComponent(k);
  const entry = Math.abs(step) > 1e-9 ? (localCut(view, k) - origin.getComponent(k)) / step : -1;
  const entersKept = entry > 0 && view.cut.keep * step > 0;
  const depth = hits.filter((hit) => hit.far < entry).reduce((sum, hit) => sum + (hit.front ? 1 : -1), 0);
  if (entersKept && depth > 0) return entry;
  return hits.find((hit) => hit.far > 0 && side(hit.far) >= -1e-6)?.far ?? null;
}

function localCut(view, k) {
  return view.cut.at - view.ride.getComponent(k);
}

function passesBox(view, origin, way) {
  let near = -Infinity;
  let far = Infinity;
  for (let k = 0; k < 3; k += 1) {
    const inverse = 1 / way.getComponent(k);
    const a = (view.low.getComponent(k) - origin.getComponent(k)) * inverse;
    const b = (view.high.getComponent(k) - origin.getComponent(k)) * inverse;
    near = Math.max(near, Math.min(a, b));
    far = Math.min(far, Math.max(a, b));
  }
  return far >= Math.max(near, 0);
}

const [A, B, C, AB, AC, P, Q] = Array.from({ length: 7 }, () => new Vector3());

function triangleHit(view, t, origin, way) {
  A.fromArray(view.vertices, 3 * view.triangles[t]);
  B.fromArray(view.vertices, 3 * view.triangles[t + 1]);
  C.fromArray(view.vertices, 3 * view.triangles[t + 2]);
  AB.subVectors(B, A);
  AC.subVectors(C, A);
  P.crossVectors(way, AC);
  const turn = AB.dot(P);
  if (Math.abs(turn) < 1e-12) return null;
  Q.subVectors(origin, A);
  const u = Q.dot(P) / turn;
  if (u < 0 || u > 1) return null;
  Q.cross(AB);
  const v = way.dot(Q) / turn;
  if (v < 0 || u + v > 1) return null;
  return { far: AC.dot(Q) / turn, front: turn > 0 };
}

function kept(view, local) {
  if (!view.cut) return true;
  const k = AXES[view.cut.axis];
  return view.cut.keep * (local.getComponent(k) - localCut(view, k)) > -0.05;
}

function nearestMark(views, camera, size, x, y, ray, depth) {
  let best = null;
  for (const view of views) {
    for (const [kind, marks] of [['corner', view.corners], ['centre', view.centres], ['corner', view.sectionEdges]]) {
      for (let i = 0; i < marks.length; i += 3) {
        const local = new Vector3(marks[i], marks[i + 1], marks[i + 2]);
        const drawn = local.clone().add(view.group.position);
        const spot = project(drawn, camera, size);
        const off = Math.hypot(spot.x - x, spot.y - y);
        if (off > NEAR_CORNER || (best && off >= best.off) || !kept(view, local)) continue;
        if (drawn.sub(ray.origin).dot(ray.way) > depth + HIDDEN) continue;
        if (marks === view.sectionEdges && !isCorner(view, i)) continue;
        best = { view, local, kind, off };
      }
    }
  }
  return best;
}

/** Whether a section's outline turns at this point: facets of a curve are no corners. */
function isCorner(view, i) {
  const marks = view.sectionEdges;
  const start = i - (i % 6);
  const other = start + 3 - (i % 6);
  const way = [0, 1, 2].map((d) => marks[other + d] - marks[i + d]);
  const size = Math.hypot(...way);
  for (let j = 0; j < marks.length; j += 3) {
    if (j - (j % 6) === start) continue;
    if (Math.hypot(marks[j] - marks[i], marks[j + 1] - marks[i + 1], marks[j + 2] - marks[i + 2]) > 1e-3) continue;
    const far = j - (j % 6) + 3 - (j % 6);
    const on = [0, 1, 2].map((d) => marks[far + d] - marks[j + d]);
    const cosine = (way[0] * on[0] + way[1] * on[1] + way[2] * on[2]) / (size * Math.hypot(...on) || 1);
    if (cosine > -0.94) return true;
  }
  return false;
}

function nearestEdge(views, camera, size, x, y, ray, depth) {
  let best = null;
  for (const view of views) {
    for (const edges of [view.sectionEdges, view.edges]) {
      for (let i = 0; i < edges.length; i += 6) {
        const found = onSegment(view, edges, i, camera, size, x, y);
        if (found.off > NEAR_EDGE || (best && found.off >= best.off) || !kept(view, found.local)) continue;
        if (found.local.clone().add(view.group.position).sub(ray.origin).dot(ray.way) > depth + HIDDEN) continue;
        best = { view, kind: 'edge', ...found };
      }
    }
  }
  return best;
}

function onSegment(view, edges, i, camera, size, x, y) {
  const start = new Vector3().fromArray(edges, i);
  const end = new Vector3().fromArray(edges, i + 3);
  const a = project(start.clone().add(view.group.position), camera, size);
  const b = project(end.clone().add(view.group.position), camera, size);
  const long = (b.x - a.x) ** 2 + (b.y - a.y) ** 2 || 1;
  const share = Math.max(0, Math.min(1, ((x - a.x) * (b.x - a.x) + (y - a.y) * (b.y - a.y)) / long));
  const off = Math.hypot(a.x + share * (b.x - a.x) - x, a.y + share * (b.y - a.y) - y);
  return { local: start.lerp(end, share), off };
}
