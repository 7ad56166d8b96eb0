// The section of the panel for the outline of the site.

import { ask } from '../api.js';
import { fill, h } from '../dom.js';
import { fileButton } from '../files.js';
import { area } from '../format.js';
import { trouble } from '../say.js';
import { takeOutline } from '../site.js';
import { cornerEditor } from './corners.js';
import { areaOf, opened, samePlaces } from './frame.js';
import { change, placesFor } from './site.js';
import { held } from './store.js';

/** The section. */
export class Outline {
  constructor(ground) {
    this.ground = ground;
    this.words = h('p', { class: 'note' });
    this.rings = h('ul', { class: 'shape-list' });
    this.work = h('div', { class: 'shape-work' });
    this.ways = h('div', { class: 'row' },
      h('button', { type: 'button', onclick: () => this.draw() }, 'Draw it'),
      h('button', { type: 'button', onclick: () => this.propose() }, 'Round the walked ground'),
      fileButton('From a file', (files) => takeOutline(files).catch(trouble), { one: true, accept: '.geojson,.json,.kml,.gpx,.csv' }));
    this.el = h('div', null, this.words, this.rings, this.work, this.ways);
  }

  show(g) {
    this.words.textContent = g.own_outline
      ? 'No outline was drawn: it goes round the ground that was walked, and grows with each visit. Draw the true edge, so that what was never walked counts as well.'
      : 'The edge of the ground that can be searched.';
    const rings = g.own_outline ? [] : g.boundary.flatMap((a, part) => [[part, -1, a.outer], ...(a.holes ?? []).map((hole, i) => [part, i, hole])]);
    fill(this.rings, rings.map(([part, hole, points]) => this.row(part, hole, points)));
  }

  row(part, hole, points) {
    const name = hole < 0 ? `Edge${part ? ` ${part + 1}` : ''}` : `Hole ${hole + 1}`;
    return h('li', null, h('span', { class: 'shape-name' }, h('span', null, name), h('small', null, `${points.length} corners, ${area(areaOf(points))}`)),
      h('button', { type: 'button', class: 'quiet', 'aria-label': `Corners of ${name}`, onclick: () => this.edit(part, hole, points) }, 'Corners'),
      h('button', { type: 'button', class: 'quiet', 'aria-label': `Delete ${name}`, onclick: () => this.remove(part, hole, name) }, 'Delete'));
  }

  async edit(part, hole, before) {
    const points = await this.corners(before);
    if (!points || samePlaces(points, before)) return;
    await change('Outline changed', (site) => {
      const a = site.boundary[part];
      if (hole < 0) a.outer = placesFor(site, points);
      else a.holes[hole] = placesFor(site, points);
    });
  }

  async corners(points) {
    const editor = cornerEditor(this.ground, points, 'area');
    fill(this.work, editor.el);
    this.ways.hidden = true;
    const after = await editor.finished;
    this.ways.hidden = false;
    fill(this.work);
    return after;
  }

  remove(part, hole, name) {
    return change(`${name} deleted`, (site) => {
      if (hole < 0) site.boundary.splice(part, 1);
      else site.boundary[part].holes.splice(hole, 1);
    });
  }

  async draw() {
    const points = await this.ground.draw('area', 'Click the corners of the site, one after the other.');
    if (points) await this.take(points);
  }

  async propose() {
    try {
      const doc = await ask('/api/outline?corners=16');
      const points = await this.corners(opened(doc.outer));
      if (points) await this.take(points);
    } catch (err) {
      trouble(err);
    }
  }

  /** Puts a new outline in the place of the one there is. */
  take(points) {
    return change('Outline kept', (site) => {
      const name = held.ground.own_outline ? '' : site.boundary[0]?.name ?? '';
      site.boundary = [{ name, outer: placesFor(site, points), holes: [] }];
    });
  }
}
