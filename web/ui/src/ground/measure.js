// Measuring a distance: click after click; the length of the way and the bearing of its last leg.

import { bearing, length } from '../format.js';
import { bearingOf, lengthOf } from './frame.js';

/** Begins to measure. Escape or the button ends it. */
export function measure({ modes, draft, declination }) {
  const mode = {
    prompt: 'Click from point to point to measure.',
    words: () => said(draft.points, draft.cursor, declination()),
    leave: 'Stop measuring',
    press: (xy) => {
      draft.insert(draft.points.length, [...xy]);
      modes.refresh();
    },
    hover: (xy) => {
      draft.cursor = xy;
      draft.draw();
    },
    back: () => {
      draft.points.pop();
      draft.chosen = draft.points.length - 1;
      draft.draw();
      modes.refresh();
    },
    cancel: () => {
      draft.clear();
      modes.end(mode);
    },
  };
  modes.begin(mode);
  draft.start('line', []);
}

function said(points, cursor, declination) {
  if (points.length < 2) return points.length ? 'Click where to measure to.' : 'Click from point to point to measure.';
  const leg = points.slice(-2);
  const true_ = bearingOf(...leg);
  const last = points.length > 2 ? `; last leg ${length(lengthOf(leg))}` : '';
  const magnetic = Number.isFinite(declination) ? `, ${bearing(true_ - declination)} magnetic` : '';
  return `${length(lengthOf(points))}${last}, bearing ${bearing(true_)} true${magnetic}`;
}
