// Reads the packed numbers of a scene (exports/pages/scene.py) and makes them ready to draw.

const CREASE = Math.cos((30 * Math.PI) / 180); // facets that meet at less are one curved face, as in exports/files/shading.py

function bytes(text) {
  const raw = atob(text);
  const out = new Uint8Array(raw.length);
  for (let i = 0; i < raw.length; i += 1) out[i] = raw.charCodeAt(i);
  return out.buffer;
}

/** Points in millimetres, as a flat Float32Array, from whole steps of the scene's grid. */
export function points(text, grid) {
  const steps = new Int16Array(bytes(text));
  const out = new Float32Array(steps.length);
  for (let i = 0; i < steps.length; i += 1) out[i] = steps[i] * grid.step + grid.origin[i % 3];
  return out;
}

/** Indices of triangles, three to a triangle. */
export function faces(text, wide) {
  return wide ? new Uint32Array(bytes(text)) : new Uint16Array(bytes(text));
}

/** Colours at the corners of triangles, three numbers to a corner, from a number for each point and the colours they stand for. */
export function colours(text, palette, triangles, linear) {
  const shades = new Uint8Array(bytes(text));
  const known = palette.map(linear);
  const out = new Float32Array(3 * triangles.length);
  for (let c = 0; c < triangles.length; c += 1) out.set(known[shades[triangles[c]]], 3 * c);
  return out;
}

/** Polylines as pairs of points, two points to a segment. */
export function segments(lines, grid) {
  const all = points(lines.points, grid);
  const lengths = new Uint16Array(bytes(lines.lengths));
  const out = [];
  let start = 0;
  for (const length of lengths) {
    for (let i = start; i < start + length - 1; i += 1) {
      for (let k = 0; k < 6; k += 1) out.push(all[3 * i + k]);
    }
    start += length;
  }
  return new Float32Array(out);
}

/** The two ends of each polyline: the corners worth measuring from. */
export function corners(lines, grid) {
  const all = points(lines.points, grid);
  const lengths = new Uint16Array(bytes(lines.lengths));
  const out = [];
  let start = 0;
  for (const length of lengths) {
    for (const i of [start, start + length - 1]) out.push(all[3 * i], all[3 * i + 1], all[3 * i + 2]);
    start += length;
  }
  return new Float32Array(out);
}

/** Positions and normals, three corners to a triangle: curved faces smooth, edges hard. */
export function shaded(vertices, triangles) {
  const count = triangles.length;
  const { flat, weight } = facets(vertices, triangles);
  const around = Array.from({ length: vertices.length / 3 }, () => []);
  for (let c = 0; c < count; c += 1) around[triangles[c]].push(c);
  const position = new Float32Array(3 * count);
  const normal = new Float32Array(3 * count);
  for (let c = 0; c < count; c += 1) {
    const v = 3 * triangles[c];
    position.set([vertices[v], vertices[v + 1], vertices[v + 2]], 3 * c);
    normal.set(cornerNormal(c, around[triangles[c]], flat, weight), 3 * c);
  }
  return { position, normal };
}

function facets(vertices, triangles) {
  const count = triangles.length / 3;
  const flat = new Float32Array(3 * count);
  const weight = new Float32Array(3 * count); // each corner's angle: a face cut differently keeps its normals
  for (let t = 0; t < count; t += 1) {
    const p = [0, 1, 2].map((k) => Array.from(vertices.subarray(3 * triangles[3 * t + k], 3 * triangles[3 * t + k] + 3)));
    const n = cross(minus(p[1], p[0]), minus(p[2], p[0]));
    const size = Math.hypot(...n) || 1;
    flat.set([n[0] / size, n[1] / size, n[2] / size], 3 * t);
    for (let k = 0; k < 3; k += 1) {
      const a = minus(p[(k + 1) % 3], p[k]);
      const b = minus(p[(k + 2) % 3], p[k]);
      weight[3 * t + k] = Math.atan2(Math.hypot(...cross(a, b)), dot(a, b));
    }
  }
  return { flat, weight };
}

function cornerNormal(corner, neighbours, flat, weight) {
  const own = 3 * Math.floor(corner / 3);
  let x = 0;
  let y = 0;
  let z = 0;
  for (const other of neighbours) {
    const n = 3 * Math.floor(other / 3);
    if (flat[own] * flat[n] + flat[own + 1] * flat[n + 1] + flat[own + 2] * flat[n + 2] < CREASE) continue;
    x += weight[other] * flat[n];
    y += weight[other] * flat[n + 1];
    z += weight[other] * flat[n + 2];
  }
  const size = Math.hypot(x, y, z);
  return size > 0 ? [x / size, y / size, z / size] : [flat[own], flat[own + 1], flat[own + 2]];
}

/** Where a mesh meets the plane `axis` = `at`, as segments: two points to each triangle that crosses. */
export function crossing(vertices, triangles, axis, at) {
  const out = [];
  for (let t = 0; t < triangles.length; t += 3) {
    const side = [0, 1, 2].map((k) => vertices[3 * triangles[t + k] + axis] - at);
    if (Math.min(...side) >= 0 || Math.max(...side) < 0) continue;
    for (let k = 0; k < 3; k += 1) {
      const a = side[k];
      const b = side[(k + 1) % 3];
      if (a < 0 === b < 0) continue;
      const share = a / (a - b);
      const i = 3 * triangles[t + k];
      const j = 3 * triangles[t + ((k + 1) % 3)];
      for (let d = 0; d < 3; d += 1) out.push(vertices[i + d] + share * (vertices[j + d] - vertices[i + d]));
    }
  }
  return new Float32Array(out);
}

function minus(a, b) {
  return [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
}

function cross(a, b) {
  return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
}

function dot(a, b) {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}
