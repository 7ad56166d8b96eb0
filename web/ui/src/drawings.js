// Little drawings, all lines in the colour of the words round them. They only repeat what words
// beside them say, so screen readers are kept off them.

import { svg } from './dom.js';

// Icons on a field of 24 x 24, as paths.
const icons = {
  ground: ['M3 6l6-2 6 2 6-2v14l-6 2-6-2-6 2z', 'M7 15c2-1 1-4 4-5s3-2 6-2'],
  visits: ['M5 19h6c6 0 6-5 1-6H9c-5-1-5-7 1-7h7', 'M15 3.5L18 6l-3 2.5'],
  landmarks: ['M12 21s6-6 6-11a6 6 0 0 0-12 0c0 5 6 11 6 11z', 'M12 8v4', 'M10 10h4'],
  finds: ['M12 3a6 6 0 1 0 0 12a6 6 0 1 0 0-12', 'M9 9h6', 'M12 6v6', 'M4 20h16'],
  next: ['M5 20V5h4.5v14H14V5h4.5v14', 'M16 16.5l2.5 2.8 2.5-2.8'],
  papers: ['M6 3h8l4 4v14H6z', 'M14 3v4h4', 'M9 12h6', 'M9 16h6'],
  settings: ['M4 7h9', 'M17 7h3', 'M15 5v4', 'M4 12h3', 'M11 12h9', 'M9 10v4', 'M4 17h11', 'M19 17h1', 'M17 15v4'],
  cautions: ['M12 4l9 16H3z', 'M12 10v4', 'M12 17v.5'],
  undo: ['M9 6L4 10l5 4', 'M4 10h9a6 6 0 0 1 0 9h-2'],
  sun: ['M12 8a4 4 0 1 0 0 8a4 4 0 1 0 0-8', 'M12 2v2M12 20v2M2 12h2M20 12h2M5 5l1.5 1.5M17.5 17.5L19 19M5 19l1.5-1.5M17.5 6.5L19 5'],
  moon: ['M19 14A8 8 0 0 1 10 5a8 8 0 1 0 9 9z'],
  drop: ['M5 7h14', 'M9 7V4h6v3', 'M7 7l1 13h8l1-13'],
  add: ['M12 5v14', 'M5 12h14'],
  file: ['M6 3h8l4 4v14H6z', 'M14 3v4h4'],
};

/**
 * A small picture beside words, as large as they are.
 * @param {string} name one of the panels, or undo, sun, moon, add, file
 */
export function icon(name) {
  return svg('svg', { class: 'icon-drawing', viewBox: '0 0 24 24', 'aria-hidden': true },
    (icons[name] ?? []).map((d) => svg('path', { d })));
}

function drawing(kind, width, height, ...parts) {
  return svg('svg', { class: `drawing ${kind}`, viewBox: `0 0 ${width} ${height}`, 'aria-hidden': true }, parts);
}

const path = (d, kind) => svg('path', { d, class: kind });

/**
 * A coil on its shaft, drawn to scale with others.
 * @param {number} sizeM its longer side in metres
 */
export function coilDrawing(sizeM) {
  const r = sizeM * 58;
  return drawing('coil', 64, 48,
    path('M32 30L50 3', 'faint'),
    svg('ellipse', { cx: 32, cy: 32, rx: r, ry: r * 0.55, class: 'wash' }),
    svg('ellipse', { cx: 32, cy: 32, rx: r * 0.62, ry: r * 0.3 }));
}

/**
 * Somebody seen from above, and how far the coil goes from side to side.
 * @param {number} widthM
 */
export function swingDrawing(widthM) {
  const half = widthM * 18;
  const y = 16 + half * 0.28;
  return drawing('swing', 80, 48,
    path(`M${40 - half} ${y}Q40 ${y - half * 0.62} ${40 + half} ${y}`, 'broad'),
    path(`M${40 - half} ${y - 4}v8M${40 + half} ${y - 4}v8`),
    path('M40 38V20', 'faint'),
    svg('ellipse', { cx: 40, cy: 40, rx: 9, ry: 4.5 }),
    svg('circle', { cx: 40, cy: 39, r: 3, class: 'ink' }));
}

/**
 * The sky over somebody.
 * @param {'open'|'light'|'dense'} kind
 */
export function canopyDrawing(kind) {
  const crowns = { open: [], light: [[14, 15, 9], [66, 18, 8]], dense: [[12, 16, 11], [30, 11, 12], [50, 12, 12], [68, 16, 11], [40, 20, 10]] }[kind];
  return drawing('canopy', 80, 48,
    crowns.map(([x, y, r]) => [path(`M${x} ${y + r}V44`, 'faint'), svg('circle', { cx: x, cy: y, r, class: 'wash' })]),
    kind === 'open' && [path('M62 10m-5 0a5 5 0 1 0 10 0a5 5 0 1 0 -10 0'), path('M10 14q4-5 8 0q5-3 7 2h-17z', 'faint')],
    path('M4 44h72', 'faint'),
    path('M40 44v-9M37 44l3-5 3 5'),
    svg('circle', { cx: 40, cy: 32, r: 2.6, class: 'ink' }));
}

/** A sheet with walked lines and a gap, for pages that have nothing to show yet. */
export function groundDrawing() {
  return drawing('ground', 240, 150,
    path('M18 20L96 10l74 14 52 2 4 92-70 22-84-10-60 6z', 'sheet'),
    path('M34 34c40-10 76-6 100 2M32 52c30-8 60-8 84-2M34 70c22-6 44-6 62-2M34 88c26-5 50-4 72 0M36 106c40-4 90-2 152 4M150 40c22 4 42 3 58 2M168 62c14 2 28 2 40 0M172 84c12 1 24 1 36-1', 'swept'),
    path('M112 62c12-8 38-4 44 6s4 24-10 28-30-4-36-14-6-14 2-20z', 'gap'),
    path('M34 34c40-10 76-6 100 2M32 52c30-8 60-8 84-2M34 70c22-6 44-6 62-2M34 88c26-5 50-4 72 0M36 106c40-4 90-2 152 4M150 40c22 4 42 3 58 2M168 62c14 2 28 2 40 0M172 84c12 1 24 1 36-1', 'faint'));
}
