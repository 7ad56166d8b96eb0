// The map of the ground. Other panels use `ground`; the map is on the page once it is mounted.

import { h } from './dom.js';
import { lowerPanel, raisePanel } from './tabs.js';
import { current, watch } from './state.js';
import { KEYS, cross, listenToKeys } from './ground/aim.js';
import { boundsOf, sameDatum, shift } from './ground/frame.js';
import { button, drawNorth, drawPlace, drawScale } from './ground/furniture.js';
import { Key } from './ground/key.js';
import { Marks } from './ground/marks.js';
import { measure } from './ground/measure.js';
import { Modes } from './ground/modes.js';
import { makeNet } from './ground/net.js';
import { makeShapes } from './ground/shapes.js';
import { fit, makeSheet, zoomBy } from './ground/sheet.js';
import { Spot } from './ground/spot.js';
import { follow, held, nothing, onHeld } from './ground/store.js';
import { Picture } from './ground/tiles.js';
import { makeTracks } from './ground/tracks.js';
import { Work } from './ground/work.js';

const el = {
  map: h('div', { class: 'map', tabindex: '0', role: 'application', 'aria-label': 'Map of the ground', 'aria-describedby': 'map-keys' }),
  bar: h('div', { class: 'mode-bar', hidden: true }),
  card: h('div', { class: 'spot-card', hidden: true }),
  live: h('div', { class: 'unseen', role: 'status', 'aria-live': 'polite' }),
  scale: h('div', { class: 'map-scale' }),
  north: h('div', { class: 'map-north' }),
  place: h('div', { class: 'map-place' }),
};

const sheet = makeSheet(undefined);
const { map, view } = sheet;
map.setTarget(el.map);

const pictures = { backdrop: new Picture(map, 1), main: new Picture(map, 10) };
const shapes = makeShapes(map);
const tracks = makeTracks(map);
const marks = new Marks(map);
const spot = new Spot(el.card, el.live, toGap);
const modes = new Modes(el.bar, sheet, { begun: makeRoom, ended: raisePanel });
const work = new Work(sheet, modes);
const key = new Key({ choose: show, opacity: (share) => pictures.main.setOpacity(share), turn, turnVisit: (n, on) => tracks.turnVisit(n, on), opened: () => spot.close() });

const shown = { layer: '', wish: '', datum: null, file: '', tracks: false, gaps: true, replay: '', replayed: '' };
const net = makeNet(map);

function makeRoom() {
  spot.close();
  lowerPanel();
}

/** Puts the map on the page. */
export function mountGround(at) {
  at.append(el.map, net, cross(), h('p', { id: 'map-keys', class: 'unseen' }, KEYS), key.el, buttons(), el.north, el.scale,
    el.place, el.card, el.bar, el.live);
  listenToPointer();
  listenToKeys(el.map, sheet, modes, {
    enter: (xy) => press(xy, map.getPixelFromCoordinate(xy), true),
    fit: fitAll,
    moved: (xy) => (modes.active ? modes.active.hover?.(xy) : spot.hover(xy, true, 350)),
    escape: () => spot.close(),
  });
  document.addEventListener('keydown', (e) => {
    if (e.key === 'Escape' && !e.defaultPrevented && !e.target.closest('dialog')) modes.active?.cancel();
  });
  map.on('postrender', drawEdges);
  new ResizeObserver(resized).observe(at);
  onHeld(showHeld);
  follow();
  watch((s, before) => {
    if (before && s.rev !== before.rev) pictures.main.freeze();
    if (before && s.units !== before.units) map.render();
  });
}

let edges = null; // of the map on the screen, at its last size

/** The band above grows while something is worked out: the ground must not move under the hand that draws on it. */
function resized() {
  const { top, bottom } = el.map.getBoundingClientRect();
  if (edges?.bottom === bottom && edges.top < bottom && top < bottom) {
    const [x, y] = view.getCenter();
    view.setCenter([x, y - ((top - edges.top) / 2) * view.getResolution()]);
  }
  edges = { top, bottom };
  map.updateSize();
}

function buttons() {
  return h('div', { class: 'map-buttons', role: 'group', 'aria-label': 'Map' },
    button('plus', 'Zoom in', () => zoomBy(view, 1)), button('minus', 'Zoom out', () => zoomBy(view, -1)),
    button('fit', 'Show everything', fitAll), button('measure', 'Measure a distance', () => measure({ modes, draft: work.draft, declination })));
}

const declination = () => held.ground?.declination_deg;

/** Shows what the store holds, keeping the view's place when the datum is another. */
function showHeld({ ground: g, layers, backdrop }) {
  if (!g) return clear();
  const otherBook = shown.file !== current().book?.file;
  if (!otherBook && shown.datum && !sameDatum(shown.datum, g.datum)) view.setCenter(shift(view.getCenter(), shown.datum, g.datum));
  Object.assign(shown, { datum: g.datum, file: current().book?.file });
  shapes.show(g);
  marks.settle(g.datum);
  showPictures(g.rev, layers, backdrop);
  drawNorth(el.north, g.declination_deg, g.declination_warning);
  if (shown.tracks) showTracks();
  if (otherBook) whenSized(() => fitAll(false));
}

/** A new book has no ground: nothing of the book before may stay. */
function clear() {
  Object.assign(shown, { datum: null, file: '', replay: '', replayed: '' });
  shapes.show(nothing);
  marks.settle(null);
  tracks.clear();
  showPictures(0, [], null);
}

function whenSized(fn) {
  if (map.getSize()?.[0] > 0) fn();
  else map.once('change:size', fn);
}

function showPictures(rev, layers, backdrop) {
  const names = layers.map((l) => l.name);
  shown.layer = names.includes(shown.wish) ? shown.wish : names[0] ?? '';
  key.show(layers, shown.layer, shown.replayed);
  pictures.main.show(rev, shown.replay || shown.layer);
  pictures.backdrop.show(backdrop?.placed ? backdrop.rev : 0, backdrop?.placed ? 'backdrop' : '');
}

function show(name) {
  Object.assign(shown, { wish: name, replay: '', replayed: '' });
  tracks.limit(null);
  shapes.turn('gaps', shown.gaps);
  showPictures(held.ground?.rev, held.layers, held.backdrop);
}

async function turn(name, on) {
  if (name === 'net') net.hidden = !on;
  else if (name === 'tracks') {
    shown.tracks = on;
    await showTracks();
  } else {
    if (name === 'gaps') shown.gaps = on;
    shapes.turn(name, on);
  }
}

async function showTracks() {
  const visits = await tracks.turn(shown.tracks, held.ground?.rev, held.ground?.datum);
  key.showVisits(shown.tracks ? visits : []);
}

function fitAll(animate = true) {
  const g = held.ground;
  if (!g) return;
  const bounds = g.bounds ?? boundsOf(g.boundary.flatMap((a) => a.outer)) ?? [-30, -30, 30, 30];
  fit(map, bounds, { animate: animate !== false });
}

function toGap(id) {
  const gap = held.ground?.gaps.find((g) => g.id === id);
  const bounds = gap && boundsOf(gap.outlines.flatMap((o) => o.outer));
  if (bounds) fit(map, bounds);
}

function drawEdges() {
  const r = view.getResolution();
  if (shown.drawnAt === r && shown.drawnUnits === current().units) return;
  Object.assign(shown, { drawnAt: r, drawnUnits: current().units });
  drawScale(el.scale, r, Math.min(150, (map.getSize()?.[0] ?? 400) / 4));
}

function listenToPointer() {
  map.on('pointermove', (e) => {
    if (e.dragging || e.originalEvent.pointerType === 'touch') return;
    drawPlace(el.place, e.coordinate);
    if (modes.active) modes.active.hover?.(e.coordinate);
    else hover(e);
  });
  map.on('click', (e) => press(e.coordinate, e.pixel, false));
  el.map.addEventListener('pointerleave', (e) => {
    if (e.pointerType === 'touch') return; // a finger leaves with every tap
    drawPlace(el.place, null);
    spot.leave();
  });
}

function hover(e) {
  const hit = marks.at(e.pixel);
  el.map.classList.toggle('on-mark', Boolean(hit));
  spot.hover(e.coordinate);
}

function press(xy, pixel, byKey) {
  if (modes.active) return modes.active.press(xy, byKey);
  const hit = marks.at(pixel, byKey ? 14 : 8);
  return hit ? marks.pick(hit) : spot.pin(xy);
}

/** What the panels may do with the map. Places are metres of datum(). */
export const ground = {
  /** Shows the layer of that name. */
  show,
  /** The name of the layer that is shown. */
  layer: () => shown.layer,
  /** Shows swept-3 or so under a title, with the walks of some visits, until another layer is chosen; '' goes back. Resolves once it is drawn. */
  replay(name, title = '', visits = null) {
    tracks.limit(visits);
    Object.assign(shown, { replay: name, replayed: title });
    shapes.turn('gaps', shown.gaps && !name); // they are today's
    key.show(held.layers, shown.layer, title);
    return pictures.main.show(held.ground?.rev, name || shown.layer);
  },
  /** Shows west, south, east, north. */
  zoomTo: (bounds) => fit(map, bounds),
  /** Resolves with one place, null when it is given up. */
  pick: (prompt) => work.pick(prompt),
  /** Resolves with the places of a point, line or area, null when they are given up. */
  draw: (kind, prompt) => work.draw(kind, prompt),
  /** Lets places be moved; see Work.edit. */
  edit: (points, kind, onChange) => work.edit(points, kind, onChange),
  /** Replaces a set of marks: {id, at, line or area, label, kind}; datum when it is not the ground's. */
  setMarks: (name, items, datum) => marks.set(name, items, datum),
  /** Rings one mark, none when id is null. */
  highlight: (name, id) => marks.highlight(name, id),
  /** Calls fn(id) when a mark of the set is clicked. */
  onPick: (name, fn) => marks.onPick(name, fn),
  /** The datum places count from; null before the first ground. */
  datum: () => held.ground?.datum ?? null,
  /** How strongly the user's own picture is seen, 0 to 1. */
  backdropOpacity: (share) => pictures.backdrop.setOpacity(share),
};
