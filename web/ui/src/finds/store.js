// The finds of the open book: asked for anew whenever they may have changed, and on the map from the start.

import { ask } from '../api.js';
import { ground } from '../ground.js';
import { trouble } from '../say.js';
import { whenNew } from '../state.js';

/** The latest finds, the datum of their places, and the visits they may belong to. */
export const held = { datum: null, finds: [], visits: [] };

const watchers = new Set();
let asking = 0;
let chosen = null;

/**
 * Calls fn(held) at once and whenever there are others.
 * @param {(held: Object) => void} fn
 */
export function onFinds(fn) {
  watchers.add(fn);
  fn(held);
}

/** Follows the state of the page. */
export function followFinds() {
  whenNew(refresh);
}

async function refresh(s) {
  const mine = ++asking;
  try {
    const [doc, visits] = s.book
      ? await Promise.all([ask('/api/finds'), ask('/api/visits').catch(() => [])])
      : [{ datum: null, finds: [] }, []];
    if (mine !== asking) return;
    Object.assign(held, { datum: doc.datum, finds: doc.finds, visits });
    drawMarks();
    for (const fn of watchers) fn(held);
  } catch (err) {
    if (mine === asking && err.status !== 409) trouble(err);
  }
}

/** Rings a find on the map and names it there, none when id is null. */
export function choose(id) {
  if (id === chosen) return;
  chosen = id;
  drawMarks();
  ground.highlight('finds', id);
}

const kinds = { keeper: 'keep', unknown: 'find' };

// Names of all would cover the ground, so only the chosen one has its name.
function drawMarks() {
  ground.setMarks('finds', held.finds.filter((f) => f.at).map((f) => ({
    id: f.id, at: f.at, kind: kinds[f.verdict] ?? 'scrap', label: f.id === chosen ? f.name : '',
  })), held.datum ?? undefined);
}

/** Shows a find in the middle of the map. */
export function zoomToFind(f) {
  const [x, y] = f.at;
  ground.zoomTo([x - 8, y - 8, x + 8, y + 8]);
}
