// One find in the list.

import { h } from '../dom.js';
import { icon } from '../drawings.js';
import { lowerPanel } from '../tabs.js';
import { factsOf, nameOf } from './words.js';
import { choose, zoomToFind } from './store.js';

/**
 * @param {Object} f a find
 * @param {Object[]} visits
 * @param {{change: (f: Object) => void, drop: (f: Object) => void}} does
 * @returns {HTMLElement}
 */
export function rowOf(f, visits, does) {
  const [what, how] = factsOf(f, visits);
  return h('li', {
    class: 'find', id: `find-${f.id}`, tabindex: '-1', dataset: { verdict: f.verdict },
    onpointerenter: (e) => e.pointerType !== 'touch' && choose(f.id), onpointerleave: (e) => e.pointerType !== 'touch' && choose(null),
    onfocusin: () => choose(f.id), onfocusout: () => choose(null),
  },
  h('div', { class: 'find-head' },
    h('span', { class: 'find-sign', 'aria-hidden': true }),
    h('h3', null, nameOf(f)),
    h('button', {
      type: 'button', class: 'quiet icon', id: `drop-find-${f.id}`, 'aria-label': `Drop ${nameOf(f)}`, title: 'Drop this find', onclick: () => does.drop(f),
    }, icon('drop'))),
  h('p', null, what),
  how && h('p', { class: 'note' }, how),
  f.note && h('p', { class: 'find-note' }, f.note),
  f.photos.length > 0 && thumbs(f),
  h('div', { class: 'row' },
    h('button', { type: 'button', class: 'link', id: `change-find-${f.id}`, onclick: () => does.change(f) }, 'Change', named(f)),
    f.at && h('button', { type: 'button', class: 'link', onclick: () => { lowerPanel(); zoomToFind(f); } }, 'Show on the map', named(f))));
}

const named = (f) => h('span', { class: 'unseen' }, `: ${nameOf(f)}`);

function thumbs(f) {
  return h('div', { class: 'thumbs' }, f.photos.map((sha, i) => h('a', { href: photo(sha), target: '_blank', rel: 'noopener' },
    h('img', { src: photo(sha), loading: 'lazy', decoding: 'async', width: '72', height: '72', alt: `Photo ${i + 1} of ${nameOf(f)}` }))));
}

/** Where a photo is. */
export const photo = (sha) => `/photos/${sha}.jpg`;
