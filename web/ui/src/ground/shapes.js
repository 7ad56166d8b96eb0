// The site on the map: its edge, keep-outs, landmarks, gaps, slow and laid-out ground.

import Style from 'ol/style/Style.js';
import { feature, geometry, inside, polygon, refill, vectorLayer } from './features.js';
import { CALL, GAP_EDGE, INK, PAPER, SANS, SERIF, dot, keepoutStyle, laidOutStyle, pen, rimmed, slowStyle, triangle, words } from './ink.js';

/** Makes the layers of the site; show(ground) fills them, turn(name, on) shows or hides some. */
export function makeShapes(map) {
  const layers = {
    slow: vectorLayer(map, 20, slowStyle()),
    laidOut: vectorLayer(map, 21, laidOutStyle()),
    keepouts: vectorLayer(map, 22, keepoutStyle()),
    edge: vectorLayer(map, 24, edgeStyle),
    gaps: vectorLayer(map, 23, gapStyle),
    landmarks: vectorLayer(map, 30, landmarkStyle),
    names: vectorLayer(map, 40, (f) => f.get('style'), { declutter: true }),
    numbers: vectorLayer(map, 41, (f) => f.get('style'), { declutter: true }), // above names, which give way to them
  };
  return {
    show: (ground) => fillAll(layers, ground, nameFont(map)),
    turn: (name, on) => turn(layers, name, on),
  };
}

const groups = { gaps: ['gaps', 'numbers'], names: ['names'], shapes: ['slow', 'laidOut', 'keepouts', 'landmarks'] };

function turn(layers, name, on) {
  for (const layer of groups[name]) layers[layer].setVisible(on);
}

/** Names give a small map more room. */
function nameFont(map) {
  return `italic ${(map.getSize()?.[0] ?? 999) < 520 ? 12.5 : 14}px ${SERIF}`;
}

function fillAll(layers, g, font) {
  const areas = (list) => list.map((a) => feature(polygon(a), { name: a.name }));
  refill(layers.slow, areas(g.slow));
  refill(layers.laidOut, areas(g.laid_out));
  refill(layers.keepouts, areas(g.keepouts));
  refill(layers.edge, g.boundary.map((a) => feature(polygon(a), { own: g.own_outline })));
  refill(layers.gaps, worthAWalk(g.gaps).flatMap((gap) => gap.outlines.map((o) => feature(polygon(o)))));
  refill(layers.landmarks, g.landmarks.filter((l) => l.points.length).map(landmark));
  refill(layers.names, names(g, font));
  refill(layers.numbers, gapNumbers(worthAWalk(g.gaps)));
}

function landmark(l) {
  return feature(geometry(l.shape, l.points), { shape: l.shape, mark: l.mark });
}

const drawnEdge = new Style({ stroke: pen(INK, 2.2) });
const ownEdge = new Style({ stroke: pen(INK, 1.6, [7, 6]) });
const edgeStyle = (f) => (f.get('own') ? ownEdge : drawnEdge);

const gapStyle = new Style({ stroke: pen(GAP_EDGE, 1.6) });
const worthAWalk = (gaps) => gaps.filter((gap) => !gap.in_doubt);

const pointStyle = new Style({ image: dot(5.2) });
const markStyle = triangle();
const lineStyle = rimmed(INK, 1.8);

function landmarkStyle(f) {
  if (f.get('shape') !== 'point') return lineStyle;
  return f.get('mark') ? markStyle : pointStyle;
}

function gapNumbers(gaps) {
  return gaps.map((gap) => {
    const text = words(String(gap.id), { font: `bold 17px ${SANS}`, ink: PAPER, rim: CALL });
    return feature(geometry('point', [gap.centre]), { style: new Style({ text }) });
  });
}

function names(g, font) {
  const named = [
    ...g.landmarks.filter((l) => l.points.length).map((l) => [l.name, geometry(l.shape, l.points), l.shape === 'point']),
    ...[...g.keepouts, ...g.slow, ...g.laid_out].map((a) => [a.name, polygon(a), false]),
  ];
  return named
    .filter(([name]) => name)
    .map(([name, geom, beside]) => {
      const text = words(name, beside ? { font, dx: 10, align: 'left' } : { font });
      return feature(inside(geom), { style: new Style({ text }) });
    });
}
