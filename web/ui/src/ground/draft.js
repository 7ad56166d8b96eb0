// Places being picked, drawn or edited.

import PointerInteraction from 'ol/interaction/Pointer.js';
import Style from 'ol/style/Style.js';
import Fill from 'ol/style/Fill.js';
import { feature, geometry, refill, vectorLayer } from './features.js';
import { distance, nearestOn } from './frame.js';
import { CALL, INK, PAPER, dot, pen, rimmed } from './ink.js';

/** How few places a shape may have. */
export const FEWEST = { point: 1, line: 2, area: 3 };

const wash = new Fill({ color: 'rgba(153,21,13,0.08)' });
const corner = new Style({ image: dot(5.5, INK) });
const chosen = new Style({ image: dot(8, CALL) });
const areaStyle = [new Style({ stroke: pen(PAPER, 5), fill: wash }), new Style({ stroke: pen(CALL, 2.2) })];
const lineStyle = rimmed(CALL, 2.2);
const ahead = rimmed(CALL, 1.4, [4, 5]);

function style(f) {
  const part = f.get('part');
  if (part === 'corner') return f.get('chosen') ? chosen : corner;
  if (part === 'ahead') return ahead;
  return part === 'area' ? areaStyle : lineStyle;
}

/** The places under way and their picture. */
export class Draft {
  constructor(map) {
    this.map = map;
    this.layer = vectorLayer(map, 70, style);
    this.clear();
  }

  clear() {
    this.start('point', []);
  }

  start(kind, points) {
    this.kind = kind;
    this.points = points.map((p) => [...p]);
    this.chosen = -1;
    this.cursor = null;
    this.draw();
  }

  draw() {
    const { points, kind, cursor } = this;
    const out = points.map((p, i) => feature(geometry('point', [p]), { part: 'corner', chosen: i === this.chosen }));
    if (kind === 'area' && points.length > 2) out.unshift(feature(geometry('area', points), { part: 'area' }));
    else if (points.length > 1) out.unshift(feature(geometry('line', points), { part: 'line' }));
    if (cursor && points.length && kind !== 'point') out.push(feature(geometry('line', [points.at(-1), cursor]), { part: 'ahead' }));
    refill(this.layer, out);
  }

  /** The corner within so many points of the screen, or -1. */
  cornerAt(xy, within) {
    const reach = within * this.map.getView().getResolution();
    let best = -1;
    let least = reach;
    this.points.forEach((p, i) => {
      const d = distance(p, xy);
      if (d <= least) [best, least] = [i, d];
    });
    return best;
  }

  /** Before which corner a place on an edge would come, or -1. */
  edgeAt(xy, within) {
    if (this.kind === 'point') return -1;
    const reach = within * this.map.getView().getResolution();
    const last = this.kind === 'area' ? this.points.length : this.points.length - 1;
    let best = -1;
    let least = reach;
    for (let i = 0; i < last; i++) {
      const d = distance(xy, nearestOn(xy, this.points[i], this.points[(i + 1) % this.points.length]));
      if (d <= least) [best, least] = [i + 1, d];
    }
    return best;
  }

  insert(i, xy) {
    this.points.splice(i, 0, xy);
    this.chosen = i;
    this.draw();
  }

  move(i, xy) {
    this.points[i] = xy;
    this.chosen = i;
    this.draw();
  }

  /** Removes a corner; false when too few would be left. */
  remove(i) {
    if (i < 0 || i >= this.points.length || this.points.length <= FEWEST[this.kind]) return false;
    this.points.splice(i, 1);
    this.chosen = Math.min(i, this.points.length - 1);
    this.draw();
    return true;
  }

  choose(i) {
    this.chosen = i;
    this.draw();
  }
}

const LONG_PRESS_MS = 600;
const JITTER = 6; // points of the screen that a resting finger may move

/** Dragging of corners. Alt-click and a long press remove one; an edge that is dragged gets a new one. */
export function dragging(draft, changed) {
  let held = -1;
  let moved = false;
  let start = null;
  let timer = 0;
  const reach = (e) => (e.originalEvent.pointerType === 'touch' ? 22 : 11);
  const removeHeld = () => {
    if (!moved && draft.remove(held)) changed();
    held = -1;
  };
  const down = (e) => {
    moved = false;
    start = e.pixel;
    held = draft.cornerAt(e.coordinate, reach(e));
    if (held >= 0 && e.originalEvent.altKey) return removeHeld() ?? true;
    if (held < 0) held = insertOnEdge(draft, e, reach(e));
    if (held < 0) return false;
    draft.choose(held);
    clearTimeout(timer);
    timer = setTimeout(() => e.originalEvent.pointerType === 'touch' && removeHeld(), LONG_PRESS_MS);
    changed();
    return true;
  };
  const drag = (e) => {
    if (held < 0 || (!moved && distance(start, e.pixel) < JITTER)) return;
    moved = true;
    clearTimeout(timer);
    draft.move(held, [...e.coordinate]);
    changed();
  };
  const up = () => {
    clearTimeout(timer);
    held = -1;
    return false;
  };
  return new PointerInteraction({ handleDownEvent: down, handleDragEvent: drag, handleUpEvent: up });
}

function insertOnEdge(draft, e, within) {
  const at = draft.edgeAt(e.coordinate, within * 0.7);
  if (at >= 0) draft.insert(at, [...e.coordinate]);
  return at;
}
