// Changes of the site: its outline, keep-outs and landmarks are sent back as a whole.

import { Problem, ask, send, upload } from './api.js';
import { busy, say } from './say.js';
import { current, take } from './state.js';

/**
 * Changes the site as f says.
 * @param {(site: Object) => void} f changes the members of PUT /api/site in place; an outline that was only
 *   drawn round the walked ground is not among them, so that it goes on growing with the visits
 */
export async function changeSite(f) {
  const g = await ask('/api/ground');
  if (!g) throw new Problem('there is no ground to draw on yet', ['add the log of a visit, or take the outline from a file']);
  const site = {
    datum: g.datum,
    name: g.own_outline ? current().book?.name ?? '' : g.name ?? '', // an outline drawn for the user has a name of its own
    boundary: g.own_outline ? [] : g.boundary ?? [],
    keepouts: g.keepouts ?? [],
    landmarks: g.landmarks ?? [],
    slow: g.slow ?? [],
    laid_out: g.laid_out ?? [],
  };
  f(site);
  take(await send('PUT', '/api/site', site));
}

/**
 * Takes a file with the outline of the site.
 * @param {File[]} files the first one is taken
 */
export async function takeOutline(files) {
  take(await busy(upload('/api/site/file', files.slice(0, 1)), 'Reading the outline'));
  say('The outline was taken.');
}
