// Pictures of the ground in tiles. A new picture replaces the old one when it is loaded, not before.

import TileLayer from 'ol/layer/Tile.js';
import ImageTile from 'ol/source/ImageTile.js';
import { projection, tileGrid } from './sheet.js';

const SWAP_AT_LATEST_MS = 4000;
const fine = () => (window.devicePixelRatio || 1) >= 1.5;

let blank;

/** What stands for a tile with nothing on it. */
function emptyTile() {
  if (!blank) {
    blank = document.createElement('canvas');
    blank.width = 256;
    blank.height = 256;
  }
  return blank;
}

async function load(path, signal) {
  const answer = await fetch(path, { signal });
  if (answer.status === 204) return emptyTile();
  if (!answer.ok) throw new Error(`tile ${answer.status}`);
  return createImageBitmap(await answer.blob());
}

/** A layer of a rev, until `over` is aborted: the program draws no more tiles of a rev that is past. */
function makeLayer(rev, name, { zIndex, over }) {
  const source = new ImageTile({
    projection,
    tileGrid: tileGrid(fine()),
    tileSize: 256,
    wrapX: false,
    transition: 0,
    key: `${rev}/${name}`,
    loader: (z, x, y, { signal }) => load(`/tiles/${rev}/${name}/${z}/${x}/${y}.png`, AbortSignal.any([signal, over])),
  });
  return new TileLayer({ source, zIndex, preload: 0, opacity: 0 });
}

/** One picture on the map: which one it is may change. */
export class Picture {
  /** @param {import('ol/Map.js').default} map */
  constructor(map, zIndex) {
    this.map = map;
    this.zIndex = zIndex;
    this.opacity = 1;
    this.key = '';
    this.layer = null;
    this.next = null;
  }

  /** Shows a layer of a rev; resolves once it is there. An empty name shows nothing. */
  show(rev, name) {
    const key = name && rev ? `${rev}/${name}` : '';
    if (key === this.key) return this.swapped ?? Promise.resolve();
    this.key = key;
    this.dropNext();
    this.over = new AbortController();
    this.swapped = key ? this.load(makeLayer(rev, name, { zIndex: this.zIndex, over: this.over.signal })) : this.swap(null);
    return this.swapped;
  }

  /** Asks for no more tiles of what is shown; what is loaded stays until something else is shown. */
  freeze() {
    this.over?.abort();
  }

  load(layer) {
    this.next = layer;
    if (!this.layer) layer.setOpacity(this.opacity); // nothing to keep until it is whole
    this.map.addLayer(layer);
    return new Promise((resolve) => {
      const done = () => {
        clearTimeout(timer);
        this.map.un('rendercomplete', done);
        if (this.next === layer) this.swap(layer);
        resolve();
      };
      const timer = setTimeout(done, SWAP_AT_LATEST_MS);
      this.map.on('rendercomplete', done);
      this.map.render();
    });
  }

  swap(layer) {
    this.next = null;
    layer?.setOpacity(this.opacity);
    this.remove(this.layer);
    this.layer = layer;
    return Promise.resolve();
  }

  dropNext() {
    this.remove(this.next);
    this.next = null;
  }

  remove(layer) {
    if (!layer) return;
    this.map.removeLayer(layer);
    layer.getSource().clear?.();
    layer.dispose();
  }

  setOpacity(opacity) {
    this.opacity = opacity;
    this.layer?.setOpacity(opacity);
  }
}
