// Numbers and views in words; lengths in millimetres, or in thousandths of an inch where the set is written in inches.

const MINUS = '\u2212';

/** A number as the page's own text has it: one that lies just halfway goes to the even digit, not always up. */
export function number(value, places = 2) {
  const exact = value.toFixed(20);
  const halfway = /^50*$/.test(exact.slice(exact.indexOf('.') + 1 + places));
  const even = Math.sign(value) * 2 * Math.floor((Math.floor(Math.abs(value) * 10 ** places) + 1) / 2) / 10 ** places;
  const text = (halfway ? even : value).toFixed(places);
  const plain = Number(text) === 0 ? text.replace('-', '') : text;
  return plain.replace('-', MINUS);
}

export function length(mm, units = 'mm') {
  return `${bare(mm, units)} ${units === 'in' ? 'in' : 'mm'}`;
}

/** A length without its unit, for a span or a list whose end has it. */
export function bare(mm, units = 'mm') {
  return units === 'in' ? number(mm / 25.4, 3) : number(mm);
}

/** Where the edge is: `proud` is mm below the sole, negative above it. */
export function edgeInWords(proud, units) {
  if (Math.abs(proud) < 0.005) return 'level with the sole';
  return proud > 0 ? `${length(proud, units)} below the sole` : `${length(-proud, units)} above the sole`;
}

/** How far the mouth's front is from the edge, along the sole: it closes while the edge comes out. */
export function mouthAhead(travel, proud) {
  const back = Math.min(Math.max(-proud, 0), travel.wear_height);
  return travel.opening - proud * travel.closing + back * travel.wear_lean;
}

export function mouthInWords(travel, proud, units) {
  const ahead = mouthAhead(travel, proud);
  return ahead > 0.005 ? `mouth ${length(ahead, units)} ahead of it` : 'mouth closed';
}

/** From where the eye looks, azimuth and elevation in radians. */
export function seenFrom(azimuth, elevation) {
  const up = Math.sin(elevation);
  if (up > 0.985) return 'from above';
  if (up < -0.985) return 'from below';
  const ends = Math.cos(azimuth) > 0.2 ? 'heel' : Math.cos(azimuth) < -0.2 ? 'toe' : '';
  const sides = Math.sin(azimuth) > 0.2 ? 'right' : Math.sin(azimuth) < -0.2 ? 'left' : '';
  const level = up > 0.15 ? 'above' : up < -0.15 ? 'below' : '';
  const sideways = sides && ends ? `the ${sides} of the ${ends}` : `the ${sides || ends}`;
  return `from ${sideways}${level ? ` and ${level}` : ''}`;
}

/** What is cut away, in words; null cut is nothing. */
export function cutInWords(cut, place, units) {
  if (!cut) return '';
  const where = place ? ` at ${place}` : '';
  const away = cut.axis === 'y' ? (cut.keep > 0 ? 'left' : 'right') : cut.keep > 0 ? 'toe' : 'heel';
  const spot = cut.axis === 'y' ? `${length(cut.at, units)} from the mid-plane` : `${length(cut.at, units)} from the toe`;
  const which = where || `, ${spot}`;
  return `Cut open ${cut.axis === 'y' ? 'along' : 'across'} the body${which}; the ${away} part is taken off.`;
}

export function listed(names) {
  if (names.length < 2) return names.join('');
  return `${names.slice(0, -1).join(', ')} and ${names[names.length - 1]}`;
}
