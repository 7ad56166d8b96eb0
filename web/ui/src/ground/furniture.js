// What stands on the edges of the map: scale bar, north arrow, place of the pointer, buttons.

import { fill, h, svg } from '../dom.js';
import { units } from '../state.js';
import { placeWords } from './spot.js';

const METRIC = { each: 1, short: 'm', big: 1000, bigShort: 'km' };
const IMPERIAL = { each: 0.3048, short: 'ft', big: 5280, bigShort: 'mi' };

/** The largest of 1, 2, 5, 10, ... that is not more than v. */
function niceBelow(v) {
  const ten = 10 ** Math.floor(Math.log10(v));
  return ten * [5, 2, 1].find((k) => k * ten <= v * 1.000001);
}

function unitFor(metres) {
  const u = units() === 'imperial' ? IMPERIAL : METRIC;
  return metres / u.each < u.big ? { each: u.each, short: u.short } : { each: u.each * u.big, short: u.bigShort };
}

/** A bar of four, dark and light, of at most so many points. */
export function drawScale(el, resolution, widest) {
  const u = unitFor(resolution * widest);
  const total = niceBelow((resolution * widest) / u.each);
  const w = (total * u.each) / resolution;
  const short = `${+total.toPrecision(3)} ${u.short}`;
  const parts = [0, 1, 2, 3].map((i) => svg('rect', { x: 10 + (i * w) / 4, y: 17, width: w / 4, height: 6, class: i % 2 ? 'light' : 'dark' }));
  const tick = (x, text) => svg('text', { x: 10 + x, y: 12, 'text-anchor': 'middle' }, text);
  const half = `${+(total / 2).toPrecision(3)}`;
  fill(el, svg('svg', { width: w + 44, height: 26, role: 'img', 'aria-label': `Scale: the bar is ${short} long` },
    parts, tick(0, '0'), w > 90 && tick(w / 2, half), tick(w, short)));
}

/** The arrow to true north, with a thinner one to magnetic north. */
export function drawNorth(el, declination, warning) {
  const known = Number.isFinite(declination) && Math.abs(declination) >= 0.05;
  const words = known ? `${Math.abs(declination).toFixed(1)}° ${declination > 0 ? 'E' : 'W'}` : '';
  const said = known ? `; a compass points ${words.replace('E', 'east').replace('W', 'west')} of it` : '';
  const needle = known && svg('g', { transform: `rotate(${declination} 0 20)` }, svg('path', { d: 'M0 -19V20', class: 'needle' }), svg('path', { d: 'M-2.6 -13L0 -19.5L2.6 -13', class: 'needle' }));
  fill(el, svg('svg', { viewBox: '-16 -38 32 62', width: 34, height: 66, role: 'img', 'aria-label': `Up is true north${said}` },
    svg('text', { x: 0, y: -25, 'text-anchor': 'middle', class: 'north-letter' }, 'N'),
    svg('path', { d: 'M0 -20L-8 20L0 13Z', class: 'dark' }), svg('path', { d: 'M0 -20L8 20L0 13Z', class: 'light' }), needle),
  words && h('span', { class: 'north-words', title: warning || 'how far a compass points from true north here' }, words));
}

/** Where the pointer is. */
export function drawPlace(el, xy) {
  el.textContent = xy ? placeWords(xy) : '';
}

const ICONS = {
  plus: ['M10 4V16', 'M4 10H16'],
  minus: ['M4 10H16'],
  fit: ['M3 7V3H7', 'M13 3H17V7', 'M17 13V17H13', 'M7 17H3V13'],
  measure: ['M2 13L13 2L18 7L7 18Z', 'M5.5 9.5L7.5 11.5', 'M8.5 6.5L11.5 9.5', 'M11.5 3.5L13.5 5.5'],
};

/** A button of the map. */
export function button(icon, words, onclick) {
  return h('button', { type: 'button', class: 'map-button', 'aria-label': words, title: words, onclick },
    svg('svg', { viewBox: '0 0 20 20', width: 20, height: 20, 'aria-hidden': 'true' }, ICONS[icon].map((d) => svg('path', { d }))));
}
