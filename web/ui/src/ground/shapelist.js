// A section of the panel for one list of the site: keep-outs, landmarks, slow and laid-out ground.

import { fill, h } from '../dom.js';
import { sentence } from '../say.js';
import { cornerEditor } from './corners.js';
import { boundsOf, samePlaces } from './frame.js';
import { change, placesFor, replace } from './site.js';

/**
 * @typedef {Object} Listed
 * @property {string} member of the site
 * @property {string} one what one of them is called, "keep-out"
 * @property {string} about what they are for
 * @property {[kind: string, words: string, prompt: string][]} adds ways to draw one
 * @property {(item: Object) => string} detail what the list says of one
 * @property {(item: Object) => {el: Element[], read: () => Object}} fields form for all but the places; read throws a Problem
 * @property {Object} fresh members of a new one
 */

const capital = (text) => text[0].toUpperCase() + text.slice(1);

/** The places of an item, whatever it is. */
const pointsOf = (item) => item.points ?? item.outer;
const kindOf = (item) => item.shape ?? 'area';
const withPoints = (item, points) => (item.points ? { ...item, points } : { ...item, outer: points });

/** One section. */
export class ShapeList {
  /** @param {Listed} of */
  constructor(ground, of) {
    Object.assign(this, { ground, of });
    this.list = h('ul', { class: 'shape-list' });
    this.work = h('div', { class: 'shape-work' });
    this.adds = h('div', { class: 'row' }, of.adds.map(([kind, words, prompt]) => h('button', { type: 'button', onclick: () => this.add(kind, prompt) }, words)));
    this.el = h('div', null, h('p', { class: 'note' }, of.about), this.list, this.work, this.adds);
    this.shown = '';
  }

  /** Shows what the ground has; left alone when it is as before, so that the focus stays. */
  show(ground) {
    const items = ground[this.of.member];
    const text = JSON.stringify(items);
    if (text === this.shown) return;
    this.shown = text;
    fill(this.list, items.map((item) => this.row(item)));
  }

  row(item) {
    const name = item.name || `${capital(this.of.one)} without a name`;
    return h('li', null,
      h('button', { type: 'button', class: 'shape-name', title: 'Show it on the map', onclick: () => this.ground.zoomTo(boundsOf(pointsOf(item))) },
        h('span', null, name), h('small', null, this.of.detail(item))),
      h('button', { type: 'button', class: 'quiet', 'aria-label': `Change ${name}`, onclick: () => this.change(item) }, 'Change'),
      h('button', { type: 'button', class: 'quiet', 'aria-label': `Move corners of ${name}`, onclick: () => this.move(item) }, kindOf(item) === 'point' ? 'Move' : 'Corners'),
      h('button', { type: 'button', class: 'quiet', 'aria-label': `Delete ${name}`, onclick: () => this.remove(item, name) }, 'Delete'));
  }

  async add(kind, prompt) {
    const points = await this.ground.draw(kind, prompt);
    if (!points) return;
    const fresh = this.of.fresh(kind);
    this.form(withPoints(fresh, points), `Add the ${this.of.one}`, (item) => change(`${capital(this.of.one)} added`, (site) => {
      site[this.of.member].push(withPoints(item, placesFor(site, points)));
    }), kind);
  }

  change(item) {
    this.form(item, 'Save', (after) => this.replace(item, after, 'changed'));
  }

  replace(item, after, what) {
    return change(`${capital(this.of.one)} ${what}`, (site) => replace(site, this.of.member, item, after));
  }

  remove(item, name) {
    return change(`${name} deleted`, (site) => replace(site, this.of.member, item, null));
  }

  /** A form for the words and numbers of an item. */
  form(item, action, save) {
    const { el, read } = this.of.fields(item);
    const fault = h('p', { class: 'fault', role: 'alert' });
    const submit = async (e) => {
      e.preventDefault();
      try {
        const after = { ...item, ...read() };
        if (await save(after)) this.leave();
      } catch (err) {
        fault.textContent = sentence(err.message);
      }
    };
    fill(this.work, h('form', { class: 'shape-form', onsubmit: submit }, el, fault, h('div', { class: 'row' },
      h('button', { type: 'submit', class: 'strong' }, action),
      h('button', { type: 'button', onclick: () => this.leave() }, 'Cancel'))));
    this.adds.hidden = true;
    this.work.querySelector('input')?.focus();
  }

  async move(item) {
    const editor = cornerEditor(this.ground, pointsOf(item), kindOf(item));
    fill(this.work, editor.el);
    this.adds.hidden = true;
    const points = await editor.finished;
    this.leave();
    if (points && !samePlaces(points, pointsOf(item))) await this.replace(item, withPoints(item, points), 'moved');
  }

  leave() {
    fill(this.work);
    this.adds.hidden = false;
  }
}

