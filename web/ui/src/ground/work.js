// Picking, drawing and editing, by pointer, touch and keys alike.

import { Draft, FEWEST, dragging } from './draft.js';
import { distance, opened } from './frame.js';

/** The three, on one map. */
export class Work {
  constructor(sheet, modes) {
    this.map = sheet.map;
    this.modes = modes;
    this.draft = new Draft(sheet.map);
  }

  /** One place, null when it was given up. */
  pick(prompt) {
    return new Promise((resolve) => {
      const mode = { prompt };
      const finish = (value) => {
        this.modes.end(mode);
        resolve(value);
      };
      mode.press = (xy) => finish([...xy]);
      mode.cancel = () => finish(null);
      this.modes.begin(mode);
    });
  }

  /** Places of a point, line or area, null when they were given up. */
  draw(kind, prompt) {
    if (kind === 'point') return this.pick(prompt).then((p) => p && [p]);
    return new Promise((resolve) => {
      this.modes.begin(this.drawing(kind, prompt, resolve));
      this.draft.start(kind, []);
    });
  }

  drawing(kind, prompt, resolve) {
    const { draft, modes, map } = this;
    const mode = { prompt, ready: () => draft.points.length >= FEWEST[kind] };
    const finish = (value) => {
      draft.clear();
      modes.end(mode);
      resolve(value);
    };
    const near = (a, b) => b && distance(a, b) < 10 * map.getView().getResolution();
    mode.press = (xy) => {
      const closes = mode.ready() && (near(xy, draft.points.at(-1)) || (kind === 'area' && near(xy, draft.points[0])));
      if (closes) return mode.done();
      if (near(xy, draft.points.at(-1))) return undefined;
      draft.insert(draft.points.length, [...xy]);
      return modes.refresh();
    };
    mode.hover = (xy) => {
      draft.cursor = xy;
      draft.draw();
    };
    mode.back = () => {
      draft.points.pop();
      draft.chosen = draft.points.length - 1;
      draft.draw();
      modes.refresh();
    };
    mode.done = () => mode.ready() && finish(draft.points);
    mode.cancel = () => finish(null);
    mode.words = () => `${prompt} ${drawnSoFar(draft.points.length, kind)}`;
    return mode;
  }

  /**
   * Lets corners be moved. onChange is told the places and the chosen corner whenever either changes.
   * @returns {{move, remove, choose, points, finished: Promise<number[][]|null>}}
   */
  edit(points, kind, onChange) {
    const { draft, modes, map } = this;
    let settle;
    const finished = new Promise((resolve) => { settle = resolve; });
    const tell = () => onChange?.(draft.points.map((p) => [...p]), draft.chosen);
    const drag = dragging(draft, tell);
    const mode = this.editing(kind, (value) => {
      map.removeInteraction(drag);
      draft.clear();
      modes.end(mode);
      settle(value);
    }, tell);
    modes.begin(mode, { focus: false });
    draft.start(kind, opened(points));
    map.addInteraction(drag);
    tell();
    return {
      finished,
      points: () => draft.points,
      move: (i, xy) => { draft.move(i, xy); tell(); },
      remove: (i) => { draft.remove(i); tell(); },
      choose: (i) => { draft.choose(i); },
      insert: (i, xy) => { draft.insert(i, xy); tell(); },
      done: () => mode.done(),
      cancel: () => mode.cancel(),
    };
  }

  editing(kind, finish, tell) {
    const { draft } = this;
    const carry = carrying(draft, tell);
    return {
      prompt: EDIT_WORDS[kind],
      press: (xy, byKey) => {
        if (kind === 'point') {
          draft.move(0, [...xy]);
          tell();
        } else if (byKey) carry(xy);
      },
      key: (e) => {
        if (e.key !== 'Delete') return false;
        if (draft.remove(draft.chosen)) tell();
        return true;
      },
      done: () => finish(draft.points.map((p) => [...p])),
      cancel: () => finish(null),
    };
  }
}

const corners = window.matchMedia('(pointer: coarse)').matches
  ? 'Drag corners. Drag an edge to add one; hold one to take it away.'
  : 'Drag corners. Drag an edge to add one; Alt-click one to take it away. By keys: Enter takes up the corner under the cross, and sets it down.';
const EDIT_WORDS = { point: 'Drag the point, or click where it is.', line: corners, area: corners };

/** By keys: Enter takes up the corner nearest to the cross, Enter again sets it down. */
function carrying(draft, tell) {
  let taken = -1;
  return (xy) => {
    if (taken >= 0) {
      draft.move(taken, [...xy]);
      taken = -1;
    } else {
      taken = draft.cornerAt(xy, 40);
      draft.choose(taken);
    }
    tell();
  };
}

function drawnSoFar(n, kind) {
  if (n === 0) return '';
  const least = FEWEST[kind];
  if (n < least) return `${n} of at least ${least} corners.`;
  return `${n} corners. Done, or click the last one again, ends it.`;
}
