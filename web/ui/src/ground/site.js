// Changes of the site from the map, each one that Undo takes back.

import { Problem } from '../api.js';
import { say, trouble } from '../say.js';
import { changeSite } from '../site.js';
import { shift } from './frame.js';
import { held, preview } from './store.js';

/**
 * Changes the site and says so.
 * @param {string} words such as "Keep-out removed"
 * @param {(site: Object) => void} edit changes the members of PUT /api/site in place
 * @returns {Promise<boolean>} whether it went well
 */
export async function change(words, edit) {
  try {
    let sent;
    await changeSite((site) => {
      edit(site);
      sent = site;
    });
    const { boundary, ...rest } = sent;
    preview(boundary.length ? { ...rest, boundary, own_outline: false } : rest);
    say(`${words}. Undo takes it back.`);
    return true;
  } catch (err) {
    trouble(err);
    return false;
  }
}

/** Puts `after` in the place of an item of the list named member; null takes the item out. */
export function replace(site, member, before, after) {
  const text = JSON.stringify(before);
  const at = site[member].findIndex((item) => JSON.stringify(item) === text);
  if (at < 0) throw new Problem('the ground has changed meanwhile', ['do it once more']);
  site[member].splice(at, 1, ...(after ? [after] : []));
}

/** Places of the map as the site's own. */
export function placesFor(site, points) {
  return points.map((p) => shift(p, held.ground.datum, site.datum));
}
