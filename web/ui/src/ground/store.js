// What the map shows, asked for anew whenever the program has something new to show.

import { ask } from '../api.js';
import { watch, current } from '../state.js';
import { trouble } from '../say.js';

/** The latest ground, layers and backdrop. */
export const held = { ground: null, layers: [], backdrop: null };

const watchers = new Set();
let asking = 0;

/** Calls fn with what is held now, and again whenever it is new; returns how to stop that. */
export function onHeld(fn) {
  watchers.add(fn);
  if (held.ground) fn(held);
  return () => watchers.delete(fn);
}

function publish() {
  for (const fn of watchers) fn(held);
}

/** Asks for the ground, its layers and the backdrop anew. */
export async function refresh() {
  const mine = ++asking;
  if (!current()?.book) {
    Object.assign(held, { ground: null, layers: [], backdrop: null });
    return publish();
  }
  try {
    const [ground, layers, backdrop] = await Promise.all([ask('/api/ground'), layersIfAny(), backdropIfAny()]);
    if (mine !== asking) return;
    Object.assign(held, { ground: ground && filled(ground), layers, backdrop });
    publish();
  } catch (err) {
    if (mine === asking && err.status !== 409) trouble(err);
  }
}

function layersIfAny() {
  return current().rev ? ask('/api/layers') : Promise.resolve([]);
}

/** The map does without a backdrop that cannot be had. */
function backdropIfAny() {
  return ask('/api/backdrop').catch(() => null);
}

const lists = ['boundary', 'keepouts', 'landmarks', 'slow', 'laid_out', 'gaps'];

function filled(ground) {
  const full = { ...ground };
  for (const name of lists) full[name] = ground[name] ?? [];
  return full;
}

/** A ground with nothing on it. */
export const nothing = filled({});

/** Shows members of the ground at once, before the program has worked them out. */
export function preview(members) {
  if (!held.ground) return;
  held.ground = filled({ ...held.ground, ...members });
  publish();
}

/** Puts another backdrop in the place of the one that is held. */
export function holdBackdrop(doc) {
  held.backdrop = doc;
  publish();
}

/** Follows the state of the page. */
export function follow() {
  watch((state, before) => {
    const same = before && before.rev === state.rev && before.changes === state.changes && before.book?.file === state.book?.file;
    if (!same) refresh();
  });
}
