// The next visit on the map.

import { ground } from '../ground.js';

/** Puts a plan on the map. */
export function drawPlan(doc) {
  const ways = doc.ways.filter((w) => w.length > 1);
  const start = ways[0]?.[0];
  const end = ways.at(-1)?.at(-1);
  const apart = start && end && Math.hypot(start[0] - end[0], start[1] - end[1]) > 1;
  ground.setMarks('next', [
    ...ways.map((line, i) => ({ id: `way-${i}`, line, kind: 'way' })),
    ...doc.lanes.map((l) => ({ id: `lane-${l.stop}`, line: l.line, kind: 'lane' })),
    start && { id: 'start', at: start, kind: 'start', label: apart ? 'start' : 'start and end' },
    apart && { id: 'end', at: end, kind: 'end', label: 'end' },
    ...doc.stops.map((s) => ({ id: s.n, at: s.at, kind: 'stop', label: String(s.n) })),
  ].filter(Boolean), doc.datum);
}

/** Takes it off the map. */
export function clearPlan() {
  ground.setMarks('next', []);
  ground.highlight('next', null);
}

/** Rings a stop, none when n is null. */
export const ringStop = (n) => ground.highlight('next', n);

/** Shows a stop with its lanes. */
export function zoomToStop(doc, n) {
  const points = doc.lanes.filter((l) => l.stop === n).flatMap((l) => l.line);
  const xs = points.map((p) => p[0]);
  const ys = points.map((p) => p[1]);
  ground.zoomTo([Math.min(...xs) - 3, Math.min(...ys) - 3, Math.max(...xs) + 3, Math.max(...ys) + 3]);
}
