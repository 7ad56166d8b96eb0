// What other panels put on the map: finds, the next visit, the ring of what is chosen.

import Style from 'ol/style/Style.js';
import Fill from 'ol/style/Fill.js';
import { feature, geometry, inside, refill, vectorLayer } from './features.js';
import { shift } from './frame.js';
import { CALL, INK, PAPER, SANS, diamond, dot, pen, rimmed, ring, words } from './ink.js';

/** Sets of marks by name. */
export class Marks {
  constructor(map) {
    this.map = map;
    this.sets = new Map();
    this.pickers = new Map();
    this.chosen = vectorLayer(map, 60, chosenStyle);
    this.datum = null;
  }

  /** Replaces the items of a set; places count from datum, the ground's own when none is given. */
  set(name, items, datum) {
    const set = this.named(name);
    set.items = items ?? [];
    set.datum = datum;
    this.draw(set);
  }

  named(name) {
    if (!this.sets.has(name)) {
      const layer = vectorLayer(this.map, 50 + this.sets.size, markStyle, { declutter: false });
      this.sets.set(name, { name, layer, items: [], chosen: null });
    }
    return this.sets.get(name);
  }

  draw(set) {
    const moved = (p) => shift(p, set.datum ?? this.datum, this.datum);
    const items = this.datum ? set.items : [];
    refill(set.layer, items.map((i) => markFeature(set.name, i, moved)).filter(Boolean));
    this.drawChosen();
  }

  /** Moves everything to another datum. */
  settle(datum) {
    this.datum = datum;
    for (const set of this.sets.values()) this.draw(set);
  }

  /** Rings one item of a set, none when the id is null. */
  highlight(name, id) {
    this.named(name).chosen = id ?? null;
    this.drawChosen();
  }

  drawChosen() {
    const rings = [];
    for (const set of this.sets.values()) {
      if (set.chosen === null) continue;
      rings.push(...set.layer.getSource().getFeatures().filter((f) => f.get('id') === set.chosen).map((f) => f.clone()));
    }
    refill(this.chosen, rings);
  }

  onPick(name, fn) {
    this.named(name);
    this.pickers.set(name, fn);
  }

  /** The item at a pixel that somebody wants to know of. */
  at(pixel, tolerance = 8) {
    const layers = [...this.pickers.keys()].map((name) => this.sets.get(name)).filter((s) => s.items.length).map((s) => s.layer);
    if (!layers.length) return null;
    const hit = (f) => ({ set: f.get('set'), id: f.get('id') });
    return this.map.forEachFeatureAtPixel(pixel, hit, { hitTolerance: tolerance, layerFilter: (l) => layers.includes(l) }) ?? null;
  }

  pick(hit) {
    this.pickers.get(hit.set)?.(hit.id);
  }
}

function shapeOf(item) {
  if (item.at) return ['point', [item.at]];
  if (item.line?.length > 1) return ['line', item.line];
  if (item.area?.length > 2) return ['area', item.area];
  return null;
}

function markFeature(set, item, moved) {
  const shape = shapeOf(item);
  if (!shape) return null;
  const geom = geometry(shape[0], shape[1].map(moved));
  return feature(geom, { set, id: item.id, kind: item.kind ?? '', shape: shape[0], label: item.label ?? '' });
}

const wash = new Fill({ color: 'rgba(31,42,44,0.07)' });

/** Pictures of points by kind; what is not here is a dot. */
const points = {
  keep: () => [new Style({ image: dot(5.5, CALL) })],
  find: () => [new Style({ image: ring(5, INK) })],
  stop: (label) => [new Style({ image: dot(11), text: words(label, { font: `bold 12px ${SANS}`, ink: PAPER, rim: INK }) })],
  start: () => [new Style({ image: diamond() })],
  end: () => [new Style({ image: diamond(CALL) })],
};

const lineKinds = { way: rimmed(INK, 1.6, [7, 5]), lane: rimmed(INK, 1.6), step: rimmed(INK, 1.4, [1, 5]) };

function markStyle(f) {
  if (f.get('shape') === 'line') return lineKinds[f.get('kind')] ?? lineKinds.lane;
  if (f.get('shape') === 'area') return [new Style({ stroke: pen(INK, 1.6), fill: wash }), ...named(f)];
  const kind = points[f.get('kind')];
  if (f.get('kind') === 'stop') return kind(f.get('label'));
  return [...(kind ? kind() : [new Style({ image: dot(4.5) })]), ...named(f)];
}

function named(f) {
  const label = f.get('label');
  if (!label) return [];
  const beside = f.get('shape') === 'point';
  return [new Style({ geometry: inside(f.getGeometry()), text: words(label, beside ? { dx: 10, align: 'left' } : {}) })];
}

const chosenPoint = [new Style({ image: ring(13, PAPER, 5, 'rgba(0,0,0,0)') }), new Style({ image: ring(13, CALL, 2.6, 'rgba(0,0,0,0)') })];
const chosenLine = rimmed(CALL, 3);
const chosenStyle = (f) => (f.get('shape') === 'point' ? chosenPoint : chosenLine);
