// Small crosses at whole metres on the map, and their numbers along its edges, as on the printed map.

import { units } from '../state.js';
import { PAPER, SANS, SOFT } from './ink.js';

const APART = 90; // points of the screen, at least
const ARM = 3.5;
const narrow = window.matchMedia('(max-width: 56em)'); // the panel's leaf lies over the foot of the map

/** Keeps a canvas over the map; returns it. */
export function makeNet(map) {
  const canvas = document.createElement('canvas');
  canvas.className = 'map-net';
  map.on('postrender', (e) => e.frameState && draw(canvas, e.frameState));
  return canvas;
}

function niceAbove(v) {
  const ten = 10 ** Math.floor(Math.log10(v));
  return ten * [1, 2, 5, 10].find((k) => k * ten >= v * 0.999999);
}

function draw(canvas, { size: [w, h], pixelRatio, viewState: { center, resolution } }) {
  if (canvas.width !== Math.round(w * pixelRatio) || canvas.height !== Math.round(h * pixelRatio)) {
    canvas.width = Math.round(w * pixelRatio);
    canvas.height = Math.round(h * pixelRatio);
  }
  const c = canvas.getContext('2d');
  c.setTransform(pixelRatio, 0, 0, pixelRatio, 0, 0);
  c.clearRect(0, 0, w, h);
  const unit = units() === 'imperial' ? 0.3048 : 1;
  const step = niceAbove((resolution * APART) / unit);
  const xs = ticks(center[0] - (w / 2) * resolution, w, resolution, step * unit, 1);
  const ys = ticks(center[1] + (h / 2) * resolution, h, resolution, step * unit, -1);
  crosses(c, xs, ys);
  numbers(c, { xs, ys, h, digits: Math.max(0, -Math.floor(Math.log10(step))) });
}

/** Points of the screen and values of whole steps along one edge that begins at `from` metres. */
function ticks(from, length, resolution, stepM, sign) {
  const out = [];
  const first = sign > 0 ? Math.ceil(from / stepM) : Math.floor(from / stepM);
  for (let i = first; out.length < 200; i += sign) {
    const at = (sign * (i * stepM - from)) / resolution;
    if (at > length) break;
    out.push({ at, value: i, stepM });
  }
  return out;
}

function crosses(c, xs, ys) {
  c.strokeStyle = 'rgba(90, 99, 101, 0.75)';
  c.lineWidth = 1;
  c.beginPath();
  for (const { at: x } of xs) {
    for (const { at: y } of ys) {
      c.moveTo(x - ARM, y);
      c.lineTo(x + ARM, y);
      c.moveTo(x, y - ARM);
      c.lineTo(x, y + ARM);
    }
  }
  c.stroke();
}

function numbers(c, { xs, ys, h, digits }) {
  const unit = units() === 'imperial' ? 0.3048 : 1;
  const words = ({ value, stepM }) => ((value * stepM) / unit).toFixed(digits).replace('-', '−');
  c.font = `11px ${SANS}`;
  c.fillStyle = SOFT;
  c.strokeStyle = PAPER;
  c.lineWidth = 3;
  c.lineJoin = 'round';
  const put = (text, x, y) => {
    c.strokeText(text, x, y);
    c.fillText(text, x, y);
  };
  c.textAlign = 'center';
  c.textBaseline = 'bottom';
  const foot = narrow.matches ? 13 : 3;
  for (const t of xs) put(words(t), t.at, h - foot);
  c.textAlign = 'left';
  c.textBaseline = 'middle';
  for (const t of ys) if (t.at < h - 24) put(words(t), 5, t.at);
}
