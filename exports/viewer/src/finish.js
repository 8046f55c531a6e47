// What wood and metal look like: grain drawn by a formula, not a picture, and a plain bright room mirrored in the metal.

import { Color, DoubleSide, FrontSide, MeshBasicMaterial, MeshStandardMaterial, SRGBColorSpace } from 'three';

const GRAIN = /* glsl */ `
  varying vec3 vBody;
  uniform vec4 grain; // pith across and up, mm; width of a year's ring, mm; strength
  // Three waves whose lengths and slants have no common measure, each pushed out of step by the one before: no repeat is
  // seen on a plane's body. Between -1 and 1.
  float swaying(vec3 p) {
    float a = sin(p.x * 0.618 + p.y * 1.732 - p.z * 1.414 + 0.4);
    float b = sin(p.x * 1.303 - p.y * 0.831 + p.z * 2.236 + 1.3 * a + 2.1);
    float c = sin(p.x * 0.271 + p.y * 2.646 + p.z * 0.943 + 1.7 * b + 4.4);
    return 0.5 * a + 0.3 * b + 0.2 * c;
  }
  vec3 grained(vec3 colour) {
    vec3 p = vBody;
    // The trunk leans and bends a little, and was never quite round.
    vec2 out_of_pith = p.yz - grain.xy + vec2(1.9, 1.3) * swaying(vec3(0.012 * p.x, 0.021 * p.yz));
    float far = length(out_of_pith) + 0.014 * p.x + 0.5 * swaying(vec3(0.031 * p.x + 5.0, 0.17 * p.yz));
    float years = far / grain.z;
    years += 0.31 * sin(0.83 * years) + 0.12 * sin(2.17 * years + 1.0); // lean years and fat ones
    float season = fract(years);
    float late = season * season * (3.0 * season - 2.0 * season * season) * (1.0 - smoothstep(0.92, 1.0, season));
    late *= 1.0 - smoothstep(0.2, 0.7, fwidth(years));
    vec3 strand = vec3(0.11 * p.x, 4.1 * p.yz);
    float fibre = swaying(strand) * swaying(strand.xzy * vec3(0.7, 1.6, 1.9) + 3.0);
    fibre *= 1.0 - smoothstep(0.6, 2.4, fwidth(strand.y) + fwidth(strand.z));
    float shade = grain.w * (0.21 * late + 0.14 * fibre);
    return colour * (vec3(1.0) - shade * vec3(0.8, 1.0, 1.2));
  }
`;

const HATCH = /* glsl */ `
  varying vec3 vBody;
  uniform vec4 grain; // .x: 0 cut across, 1 along; .yz: across the lines
  vec3 grained(vec3 colour) {
    float way = dot(vec2(grain.x > 0.5 ? vBody.x : vBody.y, vBody.z), grain.yz);
    float line = abs(fract(way / 3.0) - 0.5) * 3.0;
    float wide = fwidth(way);
    return mix(colour, colour * 0.55 + 0.02, (1.0 - smoothstep(0.25, 0.25 + wide, line)) * (1.0 - smoothstep(1.0, 2.5, wide)));
  }
`;

const ROOM = /* glsl */ `
  vec3 towards = isOrthographic ? vec3(0.0, 0.0, 1.0) : normalize(vViewPosition);
  vec3 mirrored = inverseTransformDirection(reflect(-towards, normal), viewMatrix);
  float ceiling = smoothstep(-0.3, 1.0, mirrored.z);
  float lamp = smoothstep(0.15, 0.5, mirrored.z) * (1.0 - smoothstep(0.55, 0.95, mirrored.z));
  float glancing = pow(1.0 - abs(dot(towards, normal)), 3.0);
  outgoingLight += gloss * (0.16 * ceiling + 0.3 * lamp + 0.3 * glancing) * (diffuseColor.rgb * 0.75 + 0.12);
`;

// A colour that stands for a number is read off a legend, so light and shade may only hint at the shape.
const EVEN = 'outgoingLight = mix(outgoingLight, diffuseColor.rgb, 0.6);';

const LOOKS = {
  wood: { roughness: 0.82, metalness: 0, gloss: 0, grain: 1 },
  handle: { roughness: 0.45, metalness: 0, gloss: 0.35, grain: 0.9 },
  steel: { roughness: 0.42, metalness: 0.25, gloss: 1.0, grain: 0 },
  iron: { roughness: 0.5, metalness: 0.2, gloss: 0.55, grain: 0 },
  scan: { roughness: 1, metalness: 0, gloss: 0, grain: 0 },
};

/** A part that came from a scanner: open, turned any way, and coloured point by point. */
export function isScan(part) {
  return part.finish === 'scan';
}

/** A colour of the palette as the drawing reckons with it. */
export function linear(colour) {
  return new Color().setRGB(...colour, SRGBColorSpace).toArray();
}

export function colourOf(part) {
  return new Color().setRGB(...part.colour, SRGBColorSpace);
}

/** Where the pith lies for a part: far below it where rings lie level, far beside it where they stand upright. */
function pithOf(part) {
  const strength = LOOKS[part.finish].grain;
  const turned = [...part.name].reduce((sum, letter) => sum + letter.charCodeAt(0), 0) % 7;
  // The halves come from one piece, so their rings run on from one into the other.
  const own = part.name.endsWith('half') ? 0 : 9 * turned;
  if (part.finish === 'handle') return [40 + own, -60, 2.2, strength];
  return part.cut === 'quarter' ? [230 + own, 20, 2.7, strength] : [14 + own, -190 - own, 2.9, strength];
}

function patched(material, { vertex, declared, colour, late, uniforms }) {
  material.onBeforeCompile = (shader) => {
    Object.assign(shader.uniforms, uniforms);
    shader.vertexShader = shader.vertexShader
      .replace('#include <common>', '#include <common>\nvarying vec3 vBody;')
      .replace('#include <begin_vertex>', '#include <begin_vertex>\nvBody = position;');
    shader.fragmentShader = shader.fragmentShader
      .replace('#include <common>', `#include <common>\n${declared}`)
      .replace('#include <color_fragment>', `#include <color_fragment>\n${colour}`)
      .replace('#include <opaque_fragment>', `${late}\n#include <opaque_fragment>`);
  };
  material.customProgramCacheKey = () => declared + colour + late + vertex;
  return material;
}

/** The material of a part's surface. */
export function surface(part) {
  const look = LOOKS[part.finish];
  const material = new MeshStandardMaterial({
    color: isScan(part) ? new Color(1, 1, 1) : colourOf(part),
    vertexColors: isScan(part),
    side: isScan(part) ? DoubleSide : FrontSide,
    roughness: look.roughness,
    metalness: look.metalness,
    polygonOffset: true,
    polygonOffsetFactor: 1,
    polygonOffsetUnits: 1,
    clipShadows: true,
  });
  return patched(material, {
    vertex: 'surface',
    declared: (look.grain ? GRAIN : 'varying vec3 vBody;') + (look.gloss ? '\nuniform float gloss;' : ''),
    colour: look.grain ? 'diffuseColor.rgb = grained(diffuseColor.rgb);' : '',
    late: look.gloss ? ROOM : isScan(part) ? EVEN : '',
    uniforms: { grain: { value: pithOf(part) }, gloss: { value: look.gloss } },
  });
}

/** The material of a part's filled section: wood shows its rings, metal is hatched as in a workshop drawing. */
export function filling(part, axis) {
  const wooden = LOOKS[part.finish].grain > 0;
  const colour = wooden ? colourOf(part).multiplyScalar(1.12) : colourOf(part).lerp(new Color(1, 1, 1), 0.3);
  const material = new MeshBasicMaterial({
    color: colour,
    side: DoubleSide,
    polygonOffset: true,
    polygonOffsetFactor: 1,
    polygonOffsetUnits: 1,
  });
  return patched(material, {
    vertex: 'filling',
    declared: wooden ? GRAIN : HATCH,
    colour: 'diffuseColor.rgb = grained(diffuseColor.rgb);',
    late: '',
    uniforms: { grain: { value: wooden ? pithOf(part) : [axis === 'y' ? 1 : 0, ...hatching(part), 0] } },
  });
}

/** Across the hatching's lines: neighbours are hatched the other way, and no way lies along a usual bed. */
function hatching(part) {
  const lean = (['iron', 'casting'].includes(part.name) ? 112 : 22) * (Math.PI / 180);
  return [Math.cos(lean), Math.sin(lean)];
}

/** The colour of a part's edges: darker than the part where it is light, lighter where it is dark. */
export function edgeColour(part) {
  const colour = colourOf(part);
  const light = 0.2126 * colour.r + 0.7152 * colour.g + 0.0722 * colour.b;
  return light > 0.12 ? colour.multiplyScalar(0.22) : colour.lerp(new Color(1, 0.96, 0.9), 0.34);
}
