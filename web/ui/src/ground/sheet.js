// The sheet: the map itself, in metres of the site's frame.

import OlMap from 'ol/Map.js';
import View from 'ol/View.js';
import Projection from 'ol/proj/Projection.js';
import TileGrid from 'ol/tilegrid/TileGrid.js';
import DragPan from 'ol/interaction/DragPan.js';
import DragZoom from 'ol/interaction/DragZoom.js';
import DoubleClickZoom from 'ol/interaction/DoubleClickZoom.js';
import MouseWheelZoom from 'ol/interaction/MouseWheelZoom.js';
import PinchZoom from 'ol/interaction/PinchZoom.js';
import Kinetic from 'ol/Kinetic.js';
import { primaryAction, shiftKeyOnly } from 'ol/events/condition.js';

const HALF = 32768;
const EXTENT = [-HALF, -HALF, HALF, HALF];
const ZOOMS = 15;

/** Metres east and north of the datum: no transforms from or to anything else. */
export const projection = new Projection({ code: 'local', units: 'm', extent: EXTENT });

/** Whether things should not move by themselves. */
export function still() {
  return window.matchMedia('(prefers-reduced-motion: reduce)').matches;
}

/** Milliseconds of a move of the view. */
function moveTime() {
  return still() ? 0 : 220;
}

/** The tiles' grid. On a fine screen a tile of 256 pixels is drawn 128 wide. */
export function tileGrid(fine) {
  const factor = fine ? 2 : 1;
  const resolutions = Array.from({ length: ZOOMS }, (_, z) => (factor * 128) / 2 ** z);
  return new TileGrid({ extent: EXTENT, origin: [-HALF, HALF], resolutions, tileSize: 256 / factor });
}

/** The map on an element. */
export function makeSheet(target) {
  const pan = new DragPan({ kinetic: still() ? undefined : new Kinetic(-0.005, 0.05, 100), condition: primaryAction });
  const doubled = new DoubleClickZoom({ duration: moveTime() });
  const map = new OlMap({
    target,
    controls: [],
    interactions: [doubled, pan, new PinchZoom(), new MouseWheelZoom(), new DragZoom({ condition: shiftKeyOnly })],
    view: new View({
      projection,
      center: [0, 0],
      resolution: 0.5,
      minResolution: 0.005,
      maxResolution: 64,
      extent: EXTENT,
      constrainOnlyCenter: true,
      enableRotation: false,
    }),
  });
  return { map, view: map.getView(), doubled };
}

/** Shows west, south, east, north with room around for what lies on the map. */
export function fit(map, bounds, { animate = true, padding = roomAround(map) } = {}) {
  const grown = atLeast(bounds, 8);
  map.getView().fit(grown, { size: map.getSize(), padding, duration: animate ? moveTime() : 0 });
}

function roomAround(map) {
  const [w = 0, h = 0] = map.getSize() ?? [];
  const narrow = w < 560;
  const side = narrow ? 26 : 52;
  return [Math.min(56, h / 8), side, Math.min(72, h / 6), side];
}

function atLeast([w, s, e, n], m) {
  const x = Math.max(0, m - (e - w)) / 2;
  const y = Math.max(0, m - (n - s)) / 2;
  return [w - x, s - y, e + x, n + y];
}

/** Zooms in by steps, out when they are negative. */
export function zoomBy(view, steps) {
  if (view.getAnimating()) view.cancelAnimations();
  view.animate({ resolution: view.getConstrainedResolution(view.getResolution() / 2 ** steps), duration: moveTime() });
}

/** Moves the view by points of the screen. */
export function panBy(view, right, down) {
  const r = view.getResolution();
  const [x, y] = view.getCenter();
  view.setCenter([x + right * r, y - down * r]);
}
