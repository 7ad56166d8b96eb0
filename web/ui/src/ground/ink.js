// The inks of the map. docs/look.md says why these.

import Fill from 'ol/style/Fill.js';
import Stroke from 'ol/style/Stroke.js';
import Style from 'ol/style/Style.js';
import Text from 'ol/style/Text.js';
import Circle from 'ol/style/Circle.js';
import RegularShape from 'ol/style/RegularShape.js';

export const PAPER = '#FCFAF3';
export const INK = '#1F2A2C';
export const SOFT = '#5A6365';
export const CALL = '#99150D';
export const GAP_EDGE = '#4A0A05';
const KEEPOUT = '#E4DFD3';
const KEEPOUT_INK = '#8A8375';

export const SERIF = 'Georgia, "Liberation Serif", "Times New Roman", serif';
export const SANS = 'system-ui, "Liberation Sans", Arial, sans-serif';

/** A line of a colour and width, perhaps dashed. */
export function pen(color, width, lineDash) {
  return new Stroke({ color, width, lineDash, lineJoin: 'round' });
}

/** A line on a rim of paper, to be seen on every wash. */
export function rimmed(color, width, lineDash) {
  return [new Style({ stroke: pen(PAPER, width + 2.6) }), new Style({ stroke: pen(color, width, lineDash) })];
}

/** A wash hatched at 45 degrees. */
function hatch(ground, line, step) {
  const ratio = window.devicePixelRatio || 1;
  const size = Math.round(step * ratio);
  const canvas = document.createElement('canvas');
  canvas.width = size;
  canvas.height = size;
  const c = canvas.getContext('2d');
  if (ground) {
    c.fillStyle = ground;
    c.fillRect(0, 0, size, size);
  }
  c.strokeStyle = line;
  c.lineWidth = ratio;
  for (const at of [-size, 0, size]) {
    c.moveTo(at, size);
    c.lineTo(at + size, 0);
  }
  c.stroke();
  return c.createPattern(canvas, 'repeat');
}

export const keepoutStyle = () =>
  new Style({ fill: new Fill({ color: hatch(KEEPOUT, KEEPOUT_INK, 8) }), stroke: pen(KEEPOUT_INK, 1.2) });

export const slowStyle = () =>
  new Style({ fill: new Fill({ color: hatch('', 'rgba(31,42,44,0.45)', 22) }), stroke: pen(SOFT, 1.2, [2, 4]) });

export const laidOutStyle = () => new Style({ stroke: pen(INK, 1.4, [9, 5]), fill: new Fill({ color: 'rgba(31,42,44,0.04)' }) });

/** Words on a rim of paper. */
export function words(text, { font = `italic 14px ${SERIF}`, ink = INK, rim = PAPER, dx = 0, dy = 0, align = 'center' } = {}) {
  return new Text({
    text,
    font,
    fill: new Fill({ color: ink }),
    stroke: new Stroke({ color: rim, width: 3.5 }),
    offsetX: dx,
    offsetY: dy,
    textAlign: align,
    overflow: true,
  });
}

/** A dot on a rim of paper. */
export function dot(radius, ink = INK, rim = PAPER) {
  return new Circle({ radius, fill: new Fill({ color: ink }), stroke: pen(rim, 1.8) });
}

/** A ring with a rim of paper. */
export function ring(radius, ink, width = 2, fill = 'rgba(252,250,243,0.85)') {
  return new Circle({ radius, fill: new Fill({ color: fill }), stroke: pen(ink, width) });
}

/** The triangle of a surveyed point. */
export function triangle() {
  const shape = (radius, stroke) => new RegularShape({ points: 3, radius, fill: new Fill({ color: PAPER }), stroke });
  return [
    new Style({ image: shape(10.5, pen(PAPER, 4)) }),
    new Style({ image: shape(10, pen(INK, 2)) }),
    new Style({ image: new Circle({ radius: 1.8, fill: new Fill({ color: INK }) }) }),
  ];
}

/** A diamond on a rim of paper. */
export function diamond(ink = INK) {
  return new RegularShape({ points: 4, radius: 9, fill: new Fill({ color: ink }), stroke: pen(PAPER, 2) });
}
