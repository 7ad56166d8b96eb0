// The walked lines, a colour each visit. They are asked for when they are first to be seen.

import VectorImageLayer from 'ol/layer/VectorImage.js';
import VectorSource from 'ol/source/Vector.js';
import Style from 'ol/style/Style.js';
import { ask } from '../api.js';
import { trouble } from '../say.js';
import { visitColour } from '../format.js';
import { feature, lines, refill } from './features.js';
import { shift } from './frame.js';
import { pen } from './ink.js';

const WIDTHS = { searching: 1.4, walking: 1.1, lost: 1.1 };
const RIM = 'rgba(252, 250, 243, 0.7)';
const DASHES = { walking: [5, 5], lost: [1, 5] };

/** Makes the layer of tracks. */
export function makeTracks(map) {
  const layer = new VectorImageLayer({ source: new VectorSource(), zIndex: 28, style, visible: false, imageRatio: 1.3 });
  map.addLayer(layer);
  return new Tracks(layer);
}

class Tracks {
  constructor(layer) {
    this.layer = layer;
    this.rev = 0;
    this.visits = [];
    this.hidden = new Set();
    this.only = null;
  }

  /** Shows or hides them all; resolves with the visits once they are there. */
  async turn(on, rev, datum) {
    this.layer.setVisible(on);
    if (on && rev && rev !== this.rev) await this.load(rev, datum);
    return this.visits;
  }

  /** Forgets what is shown, for another book. */
  clear() {
    Object.assign(this, { rev: 0, visits: [], doc: null });
    this.hidden.clear();
    refill(this.layer, []);
  }

  async load(rev, datum) {
    this.rev = rev;
    try {
      const doc = await ask('/api/tracks');
      if (this.rev !== rev) return;
      this.visits = doc.visits ?? [];
      this.doc = doc;
      this.draw(datum);
    } catch (err) {
      this.rev = 0;
      trouble(err);
    }
  }

  /** Shows or hides the walk of one visit. */
  turnVisit(n, on) {
    if (on) this.hidden.delete(n);
    else this.hidden.add(n);
    if (this.doc) this.draw(this.datum);
  }

  /** Shows only visits of these numbers; null shows all. */
  limit(numbers) {
    if (String(numbers) === String(this.only)) return;
    this.only = numbers;
    if (this.doc) this.draw(this.datum);
  }

  draw(datum) {
    this.datum = datum;
    const seen = this.visits.filter((v) => !this.hidden.has(v.n) && (!this.only || this.only.includes(v.n)));
    refill(this.layer, seen.flatMap((v) => features(v, (p) => shift(p, this.doc.datum, datum))));
  }
}

/** Legs of one kind are one feature, so that a hundred visits are a few hundred features. */
function features(visit, moved) {
  const byKind = new Map();
  for (const leg of visit.legs ?? []) {
    if (!WIDTHS[leg.kind] || leg.line.length < 2) continue;
    if (!byKind.has(leg.kind)) byKind.set(leg.kind, []);
    byKind.get(leg.kind).push(leg.line.map(moved));
  }
  return [...byKind].map(([kind, legs]) => feature(lines(legs), { n: visit.n, kind }));
}

const styles = new Map();

function style(f) {
  const key = `${f.get('kind')} ${visitColour(f.get('n'))}`;
  if (!styles.has(key)) styles.set(key, makeStyle(f.get('kind'), visitColour(f.get('n'))));
  return styles.get(key);
}

function makeStyle(kind, colour) {
  const line = new Style({ stroke: pen(colour, WIDTHS[kind], DASHES[kind]) });
  return kind === 'searching' ? [new Style({ stroke: pen(RIM, 3) }), line] : [line];
}
