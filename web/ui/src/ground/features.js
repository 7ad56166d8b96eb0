// Shapes of the documents as features of the map.

import Feature from 'ol/Feature.js';
import Point from 'ol/geom/Point.js';
import LineString from 'ol/geom/LineString.js';
import MultiLineString from 'ol/geom/MultiLineString.js';
import Polygon from 'ol/geom/Polygon.js';
import VectorLayer from 'ol/layer/Vector.js';
import VectorSource from 'ol/source/Vector.js';

const closed = (ring) => (ring.length ? [...ring, ring[0]] : ring);

/** A polygon of an outer ring and holes. */
export function polygon({ outer, holes }) {
  return new Polygon([outer, ...(holes ?? [])].map(closed));
}

/** The geometry of a shape: point, line or area. */
export function geometry(shape, points) {
  if (shape === 'point') return new Point(points[0]);
  if (shape === 'line') return new LineString(points);
  return polygon({ outer: points });
}

/** Many lines as one. */
export function lines(many) {
  return new MultiLineString(many);
}

/** A feature of a geometry with members to style and find it by. */
export function feature(geom, members) {
  return new Feature({ geometry: geom, ...members });
}

/** A layer of features on the map. */
export function vectorLayer(map, zIndex, style, options = {}) {
  const layer = new VectorLayer({ source: new VectorSource(), zIndex, style, ...options });
  map.addLayer(layer);
  return layer;
}

/** Replaces what is on a layer. */
export function refill(layer, features) {
  const source = layer.getSource();
  source.clear(true);
  source.addFeatures(features);
}

/** A place within a polygon with room for words. */
export function inside(geom) {
  if (geom.getType() === 'Polygon') return geom.getInteriorPoint();
  if (geom.getType() === 'LineString') return new Point(geom.getCoordinateAt(0.5));
  return geom;
}
