// The section of the panel for the user's own picture under everything else.

import { send, upload } from '../api.js';
import { fill, h } from '../dom.js';
import { fileButton } from '../files.js';
import { length } from '../format.js';
import { busy, say, trouble } from '../say.js';
import { distance } from './frame.js';
import { holdBackdrop } from './store.js';

const FEWEST_TIES = 3;

/** The section. */
export class Backdrop {
  constructor(ground) {
    this.ground = ground;
    this.body = h('div');
    this.pane = h('div', { class: 'tie-pane', hidden: true });
    this.el = h('div', null, h('p', { class: 'note' }, 'A picture of your own under the map: an old map, a photo from above, or a terrain grid. It stays in the book, on this computer.'), this.body, this.pane);
    this.doc = undefined;
  }

  show(doc) {
    if (doc === this.doc) return;
    this.doc = doc;
    fill(this.body, doc ? this.about(doc) : null, h('div', { class: 'row' }, this.actions(doc)));
  }

  about(doc) {
    return [
      h('p', null, h('strong', null, doc.name), doc.kind === 'terrain' ? ', terrain shaded from the north-west' : '', doc.placed ? '' : '. It is not placed yet: tie it to the map.'),
      doc.placed && h('p', { class: 'note' }, 'To see it through the colours, lower their strength in the key of the map.'),
      doc.placed && this.fade(),
      doc.ties?.length > 0 && misfits(doc),
    ];
  }

  fade() {
    const input = h('input', { type: 'range', min: 0, max: 100, step: 5, value: 100, oninput: () => this.ground.backdropOpacity(input.value / 100) });
    return h('label', { class: 'key-fade' }, h('span', null, 'Strength'), input);
  }

  actions(doc) {
    const load = fileButton(doc ? 'Another picture' : 'Load a picture', (files) => this.load(files),
      { accept: '.tif,.tiff,.png,.jpg,.jpeg,.asc,.tfw,.pgw,.jgw,.wld,.tifw,.pngw,.jpgw,.prj' });
    const tie = doc?.kind === 'picture' && h('button', { type: 'button', class: doc.placed ? '' : 'strong', onclick: () => this.tie(doc) }, doc.placed ? 'Tie it anew' : 'Tie it to the map');
    return [load, tie, doc && h('button', { type: 'button', class: 'quiet', onclick: () => this.remove() }, 'Remove it')];
  }

  async load(files) {
    try {
      const doc = await busy(upload('/api/backdrop', files), 'Reading the picture');
      holdBackdrop(doc);
      say(doc?.placed ? 'The picture lies under the map.' : 'The picture was taken. Now tie it to the map.');
    } catch (err) {
      trouble(err);
    }
  }

  async remove() {
    try {
      await send('DELETE', '/api/backdrop');
      holdBackdrop(null);
      say('The picture was removed.');
    } catch (err) {
      trouble(err);
    }
  }

  /** Ties points of the picture to spots of the map, in turn. */
  async tie(doc) {
    const pane = new TiePane(doc);
    fill(this.pane, pane.el);
    this.pane.hidden = false;
    const ties = await pane.collect(this.ground);
    this.pane.hidden = true;
    fill(this.pane);
    if (!ties) return;
    try {
      const placed = await busy(send('PUT', '/api/backdrop/ties', { datum: this.ground.datum(), ties }), 'Placing the picture');
      holdBackdrop(placed);
      say('The picture was placed.');
    } catch (err) {
      trouble(err);
    }
  }
}

/** How far each tied point lies from where the picture has it. */
function misfits(doc) {
  const rows = doc.ties.map((t) => distance(t.at, placeOf(doc, t.pixel)));
  return h('p', { class: 'note' }, `Tied points fit to ${rows.map((m) => length(m)).join(', ')}.`);
}

/** Where a pixel lies, from the places of the four corners, clockwise from the top left. */
function placeOf({ corners: [tl, tr, , bl], width, height }, [col, row]) {
  const along = (i) => tl[i] + ((tr[i] - tl[i]) * col) / width + ((bl[i] - tl[i]) * row) / height;
  return [along(0), along(1)];
}

const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

/** The picture in a pane, on which points are clicked, or found by arrow keys and Enter. */
class TiePane {
  constructor(doc) {
    this.doc = doc;
    this.ties = [];
    this.cursor = [0.5, 0.5];
    this.words = h('p', { role: 'status' });
    this.img = h('img', { src: `/api/backdrop/picture.png?rev=${doc.rev}`, alt: 'Your picture', onload: () => this.el.scrollIntoView({ block: 'nearest' }) });
    this.cross = h('span', { class: 'tie-cross', 'aria-hidden': 'true' });
    this.field = h('div', { class: 'tie-field', tabindex: '0', role: 'application', 'aria-label': 'Your picture: arrow keys move the cross, Enter takes the point', onclick: (e) => this.clicked(e), onkeydown: (e) => this.keyed(e) }, this.img, this.cross);
    this.done = h('button', { type: 'button', class: 'strong', disabled: true }, 'Place the picture');
    this.stop = h('button', { type: 'button' }, 'Cancel');
    this.el = h('div', null, this.words, this.field, h('div', { class: 'row' }, this.done, this.stop));
  }

  /** Resolves with the ties, null when it is given up. */
  collect(ground) {
    return new Promise((resolve) => {
      let over = false;
      const end = (value) => {
        over = true;
        resolve(value);
      };
      this.done.onclick = () => end(this.ties);
      this.stop.onclick = () => end(null);
      this.round(ground, () => over);
    });
  }

  async round(ground, over) {
    while (!over()) {
      this.tell();
      const share = await new Promise((found) => { this.found = found; });
      this.found = null;
      if (over()) return;
      this.dot(share);
      const at = await ground.pick(`Where is point ${this.ties.length + 1} of the picture on the map?`);
      if (over()) return;
      if (at) this.ties.push({ pixel: [share[0] * this.doc.width, share[1] * this.doc.height], at });
      else this.field.lastChild.remove();
      this.done.disabled = this.ties.length < FEWEST_TIES;
    }
  }

  tell() {
    const n = this.ties.length;
    this.words.textContent = n < FEWEST_TIES
      ? `Click something on the picture that you know on the map as well. Point ${n + 1} of ${FEWEST_TIES}.`
      : 'Place the picture, or click one more point.';
  }

  clicked(e) {
    const box = this.img.getBoundingClientRect();
    this.take([(e.clientX - box.left) / box.width, (e.clientY - box.top) / box.height]);
  }

  keyed(e) {
    const way = ARROWS[e.key];
    if (way) {
      e.preventDefault();
      const step = e.shiftKey ? 0.002 : 0.02;
      this.cursor = this.cursor.map((v, i) => Math.min(1, Math.max(0, v + way[i] * step)));
      placeAt(this.cross, this.cursor);
      this.cross.classList.add('seen');
    } else if (e.key === 'Enter') {
      e.preventDefault();
      this.take(this.cursor);
    }
  }

  take(share) {
    if (share.every((v) => v >= 0 && v <= 1)) this.found?.(share);
  }

  dot(share) {
    const el = h('span', { class: 'tie-dot' }, String(this.ties.length + 1));
    placeAt(el, share);
    this.field.append(el);
  }
}

function placeAt(el, [x, y]) {
  el.style.left = `${100 * x}%`;
  el.style.top = `${100 * y}%`;
}
