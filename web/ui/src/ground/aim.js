// The map by keys: arrows move it under a cross in its middle, Enter means the spot there.

import { h, svg } from '../dom.js';
import { panBy, zoomBy } from './sheet.js';

const STEP = 48;
const FINE = 4;
const WAYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

/** What the keys do, for those who cannot see it tried. */
export const KEYS = 'Arrow keys move the map under the cross in its middle, with Shift by little. Plus and minus zoom, 0 shows everything. Enter means the spot under the cross.';

/** The cross in the middle, shown while the map is used by keys. */
export function cross() {
  const lines = ['M0 -16V-5', 'M0 5V16', 'M-16 0H-5', 'M5 0H16'];
  const draw = (cls) => lines.map((d) => svg('path', { d, class: cls }));
  return h('div', { class: 'map-cross', 'aria-hidden': 'true' },
    svg('svg', { viewBox: '-18 -18 36 36', width: 36, height: 36 }, draw('rim'), draw('ink'), svg('circle', { r: 1.4, class: 'ink-dot' })));
}

/**
 * Listens to the keys of the map.
 * @param {{enter: Function, fit: Function, moved: Function}} does
 */
export function listenToKeys(target, sheet, modes, does) {
  target.addEventListener('keydown', (e) => {
    if (e.target !== target || e.ctrlKey || e.metaKey || e.altKey) return;
    if (keyOf(e, sheet, modes, does)) e.preventDefault();
  });
}

function keyOf(e, sheet, modes, does) {
  const mode = modes.active;
  if (mode?.key?.(e)) return true;
  const way = WAYS[e.key];
  if (way) {
    const step = e.shiftKey ? FINE : STEP;
    panBy(sheet.view, way[0] * step, way[1] * step);
    does.moved(sheet.view.getCenter());
    return true;
  }
  const act = acts(sheet, modes, does)[e.key];
  act?.();
  return Boolean(act);
}

function acts(sheet, modes, does) {
  return {
    '+': () => zoomBy(sheet.view, 1),
    '=': () => zoomBy(sheet.view, 1),
    '-': () => zoomBy(sheet.view, -1),
    '_': () => zoomBy(sheet.view, -1),
    0: does.fit,
    Enter: () => does.enter(sheet.view.getCenter()),
    Backspace: () => modes.active?.back?.(),
    Escape: () => (modes.active ? modes.active.cancel() : does.escape()),
  };
}
