// The landmark that is looked at, with its rings, on the map.

import { ground } from '../ground.js';
import { held } from '../ground/store.js';

const set = 'rings';

/** Shows a landmark and the rings round it. */
export function ringLandmark(name, rings) {
  const l = (held.ground?.landmarks ?? []).find((x) => x.name === name);
  if (!l || l.points.length === 0) return;
  const item = l.shape === 'point' ? { at: l.points[0] } : l.shape === 'line' ? { line: l.points } : { area: l.points };
  ground.setMarks(set, [{ id: 'it', ...item }, ...(l.shape === 'point' ? rings.map((r) => ({ id: `ring-${r}`, kind: 'step', line: circle(l.points[0], r) })) : [])]);
  ground.highlight(set, 'it');
  const far = Math.max(...rings) + 2;
  const xs = l.points.map((p) => p[0]);
  const ys = l.points.map((p) => p[1]);
  ground.zoomTo([Math.min(...xs) - far, Math.min(...ys) - far, Math.max(...xs) + far, Math.max(...ys) + far]);
}

/** Takes it off the map. */
export function unring() {
  ground.setMarks(set, []);
  ground.highlight(set, null);
}

function circle([x, y], r) {
  return Array.from({ length: 49 }, (_, i) => [x + r * Math.cos((i * Math.PI) / 24), y + r * Math.sin((i * Math.PI) / 24)]);
}
