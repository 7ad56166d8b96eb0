// Places are metres east and north of a datum. A new datum moves every place.

const A = 6378137;
const E2 = 6.69437999014e-3;

/** Metres of a degree of latitude and of longitude at a latitude on WGS 84. */
function metresOfDegree(lat) {
  const phi = (lat * Math.PI) / 180;
  const w = 1 - E2 * Math.sin(phi) ** 2;
  const degree = Math.PI / 180;
  return {
    north: ((A * (1 - E2)) / w ** 1.5) * degree,
    east: (A / Math.sqrt(w)) * Math.cos(phi) * degree,
  };
}

/** Whether two datums are the same place. */
export function sameDatum(a, b) {
  return Boolean(a && b) && a.lon === b.lon && a.lat === b.lat;
}

/**
 * The place that is at p from one datum, from another; good to centimetres on a site. For pictures of
 * a place only: what is worked out goes to the program with its own datum.
 * @param {number[]} p
 */
export function shift(p, from, to) {
  if (!from || !to || sameDatum(from, to)) return p;
  const m = metresOfDegree((from.lat + to.lat) / 2);
  const lon = ((from.lon - to.lon + 540) % 360) - 180;
  return [p[0] + lon * m.east, p[1] + (from.lat - to.lat) * m.north];
}

/** Distance in metres of two places. */
export function distance(a, b) {
  return Math.hypot(a[0] - b[0], a[1] - b[1]);
}

/** Length in metres along places. */
export function lengthOf(points) {
  let sum = 0;
  for (let i = 1; i < points.length; i++) sum += distance(points[i - 1], points[i]);
  return sum;
}

/** Area in square metres within a ring. */
export function areaOf(ring) {
  let twice = 0;
  ring.forEach(([x, y], i) => {
    const [u, v] = ring[(i + 1) % ring.length];
    twice += x * v - u * y;
  });
  return Math.abs(twice) / 2;
}

/** Degrees clockwise from north of the way from a to b, 0 to 360. */
export function bearingOf(a, b) {
  return ((Math.atan2(b[0] - a[0], b[1] - a[1]) * 180) / Math.PI + 360) % 360;
}

/** The place of segment a b nearest to p. */
export function nearestOn(p, a, b) {
  const dx = b[0] - a[0];
  const dy = b[1] - a[1];
  const t = ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / (dx * dx + dy * dy || 1);
  const u = Math.min(1, Math.max(0, t));
  return [a[0] + u * dx, a[1] + u * dy];
}

/** A ring whose last place is not its first again. */
export function opened(ring) {
  const last = ring.length - 1;
  return last > 0 && distance(ring[0], ring[last]) === 0 ? ring.slice(0, last) : ring;
}

/** West, south, east and north of places; null of none. */
export function boundsOf(points) {
  if (!points.length) return null;
  const b = [Infinity, Infinity, -Infinity, -Infinity];
  for (const [x, y] of points) {
    b[0] = Math.min(b[0], x);
    b[1] = Math.min(b[1], y);
    b[2] = Math.max(b[2], x);
    b[3] = Math.max(b[3], y);
  }
  return b;
}

/** Whether two lists are the same places. */
export function samePlaces(a, b) {
  return a.length === b.length && a.every((p, i) => p[0] === b[i][0] && p[1] === b[i][1]);
}
