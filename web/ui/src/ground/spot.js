// What is known of one spot: a card on the map.

import { ask } from '../api.js';
import { count, date, visitColour } from '../format.js';
import { fill, h } from '../dom.js';
import { trouble } from '../say.js';
import { current, units } from '../state.js';

const WAIT_MS = 80;

const INKS = { 'surely swept': 'swept', 'in doubt': 'doubt', untrodden: 'call' };

/** The card, and the questions it asks. */
export class Spot {
  /** @param {(gap: number) => void} toGap */
  constructor(card, live, toGap) {
    Object.assign(this, { card, live, toGap, pinned: false, timer: 0, controller: null });
  }

  /** Asks about a spot in a moment, unless another is asked about before. */
  hover(xy, aloud = false, wait = WAIT_MS) {
    if (this.pinned && !aloud) return;
    this.stop();
    this.timer = setTimeout(() => this.ask(xy, { pinned: false, aloud }), wait);
  }

  /** Asks about a spot and keeps the answer on the map until it is put away. */
  pin(xy) {
    this.stop();
    this.ask(xy, { pinned: true, aloud: true });
  }

  stop() {
    clearTimeout(this.timer);
    this.controller?.abort();
  }

  /** The pointer has left the map. */
  leave() {
    this.stop();
    if (!this.pinned) this.card.hidden = true;
  }

  close() {
    this.stop();
    this.pinned = false;
    this.card.hidden = true;
  }

  async ask([x, y], { pinned, aloud }) {
    if (!current().rev) return;
    this.controller = new AbortController();
    try {
      const spot = await ask(`/api/spot?x=${x.toFixed(3)}&y=${y.toFixed(3)}`, { signal: this.controller.signal });
      this.pinned = pinned;
      this.show(spot, [x, y], pinned);
      if (aloud) this.live.textContent = inWords(spot);
    } catch (err) {
      if (err.name !== 'AbortError' && pinned) trouble(err);
    }
  }

  show(spot, xy, pinned) {
    const close = h('button', { type: 'button', class: 'spot-close', 'aria-label': 'Put this away', onclick: () => this.close() }, '×');
    this.card.hidden = false;
    this.card.classList.toggle('pinned', pinned);
    fill(this.card, pinned && close, head(spot), facts(spot), pinned && visits(spot), pinned && this.gap(spot), pinned && place(spot, xy));
  }

  gap(spot) {
    if (!spot.gap) return null;
    return h('p', null, h('button', { type: 'button', class: 'link', onclick: () => this.toGap(spot.gap) }, `Part of gap ${spot.gap}`));
  }
}

function title(spot) {
  if (spot.on === 'outside') return 'Outside the site';
  if (spot.on === 'keepout') return 'Keep-out';
  if (spot.state) return spot.state[0].toUpperCase() + spot.state.slice(1);
  return spot.passes ? `Swept ${times(spot.passes)}` : 'Not swept';
}

function head(spot) {
  return h('p', { class: 'spot-head' }, h('span', { class: `swatch ${INKS[spot.state] ?? 'none'}`, 'aria-hidden': 'true' }), title(spot));
}

function times(n) {
  return n === 1 ? 'once' : n === 2 ? 'twice' : `${n} times`;
}

/** The chance in percent, never rounded to certainty. */
function chanceWords(p) {
  if (p <= 0) return 'no draw of the walks came here';
  if (p < 0.01) return 'under 1 % likely swept';
  if (p > 0.99 && p < 1) return 'over 99 % likely swept';
  return `${Math.round(100 * p)} % likely swept`;
}

function factsOf(spot) {
  if (spot.on === 'outside' && !spot.passes) return [];
  return [
    spot.chance !== null && spot.chance !== undefined && spot.on === 'site' && chanceWords(spot.chance),
    count(spot.passes ?? 0, 'pass as logged', 'passes as logged'),
    spot.seconds_per_m2 > 0 && `${tenths.format(spot.seconds_per_m2)} s per m²`,
  ].filter(Boolean);
}

function facts(spot) {
  const list = factsOf(spot);
  return list.length > 0 && h('p', { class: 'spot-facts' }, list.join(' · '));
}

function visits(spot) {
  const list = spot.visits ?? [];
  if (!list.length) return null;
  return h('ul', { class: 'spot-visits' }, list.map((v) => h('li', null, chip(v.n), h('span', null, `${v.name}, ${date(v.at ?? v.start)}`),
    h('span', { class: 'soft' }, `, ${tenths.format(v.distance_m / unit().each)} ${unit().short} away`))));
}

/** A dot in the colour of a visit. */
export function chip(n) {
  const el = h('span', { class: 'visit-dot', 'aria-hidden': 'true' });
  el.style.background = visitColour(n);
  return el;
}

/** A place as "12.3 m east, 4.0 m south" of the site's centre. */
export function placeWords([x, y]) {
  const { each, short } = unit();
  const side = (v, plus, minus) => `${tenths.format(Math.abs(v / each))} ${short} ${v < 0 ? minus : plus}`;
  return `${side(x, 'east', 'west')}, ${side(y, 'north', 'south')}`;
}

const unit = () => (units() === 'imperial' ? { each: 0.3048, short: 'ft' } : { each: 1, short: 'm' });
const tenths = new Intl.NumberFormat(navigator.language, { minimumFractionDigits: 1, maximumFractionDigits: 1 });

function place(spot, xy) {
  const p = spot.position;
  return h('p', { class: 'spot-place' }, `${placeWords(xy)} of the middle`,
    p && h('span', { class: 'degrees' }, `${p.lat.toFixed(6)}, ${p.lon.toFixed(6)}`));
}

/** The spot for a screen reader. */
function inWords(spot) {
  const names = (spot.visits ?? []).map((v) => v.name);
  return [title(spot), ...factsOf(spot), names.length && `visits: ${names.join(', ')}`, spot.gap && `part of gap ${spot.gap}`]
    .filter(Boolean)
    .join('; ');
}

