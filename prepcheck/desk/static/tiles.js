// One part's art from tiles that lie ready: as it would print, its plates mixed live by the model
// that the proof is shown by, and its total ink. All lengths are mm from the piece's centre.
import { fill, inkOf } from "./mixing.js";
const KEPT = { pictures: 700, amounts: 120, made: 160 };
const AGAIN = 3000; // milliseconds after which a picture that was not there is asked for anew

function keep(map, key, value, most) {
  map.set(key, value);
  if (map.size > most) map.delete(map.keys().next().value);
  return value;
}

// Tiles are made beside the page by helpers; each place by the same one, which has its plates at
// hand. A browser without such helpers makes them itself.
const waiting = new Map(); // what this frame went without, by key
const given = new Map(); // what helpers are at, and who is told of it
let helpers = null, alone = false;

function helped() {
  if (helpers || alone) return helpers || [];
  try {
    const count = Math.max(1, Math.min(4, navigator.hardwareConcurrency || 2));
    helpers = Array.from({ length: count }, () => new Worker(new URL("mixer.js", import.meta.url), { type: "module" }));
  } catch { alone = true; return []; }
  for (const helper of helpers) {
    helper.addEventListener("message", ({ data }) => {
      const [, tell] = given.get(data.key) || [];
      given.delete(data.key);
      tell?.(data);
    });
    helper.addEventListener("error", () => {
      alone = true;
      helpers = null;
      const told = [...given.values()];
      given.clear();
      for (const [, tell] of told) tell({});
    });
  }
  return helpers;
}

// Ask for what the frame went without. A new list takes the place of the one before.
export function send() {
  if (alone || (!waiting.size && !given.size)) return;
  const fresh = [...waiting.keys()].some((key) => !given.has(key));
  if (fresh || !waiting.size) {
    const all = helped(), lists = all.map(() => []);
    given.clear();
    for (const [key, asked] of waiting) {
      given.set(key, asked);
      lists[asked[0].turn % all.length]?.push(asked[0]);
    }
    all.forEach((helper, index) => helper.postMessage(lists[index]));
  }
  waiting.clear();
}

export class Art {
  // `changed` is called when a picture has come, `lost` when one is not there any more.
  constructor(facts, changed, lost) {
    this.changed = changed;
    this.lost = lost;
    this.pictures = new Map();
    this.amounts = new Map();
    this.made = new Map();
    this.mixes = new Map();
    this.failed = new Set();
    this.fetched = new Set();
    this.resting = false;
    this.missing = 0; // tiles that a frame went without
    this.take(facts);
  }

  take(facts) {
    this.facts = facts;
    this.pages = facts.pages;
    this.tiles = facts.tiles;
  }

  page(index) { return this.pages[Math.min(index, this.pages.length - 1)]; }

  // What is known of the tiles of a page, which are numbered on their own.
  known(index) {
    if (!this.tiles) return null;
    const own = this.page(index).page, place = this.tiles.findIndex((one) => one.page === own);
    return place < 0 ? null : { ...this.tiles[place], stem: place + 1 };
  }

  picture(name) {
    let found = this.pictures.get(name);
    if (!found) {
      found = { image: new Image(), ready: false };
      found.image.addEventListener("load", () => { found.ready = true; this.changed(); });
      found.image.addEventListener("error", () => setTimeout(() => { this.pictures.delete(name); this.lost(); }, AGAIN));
      found.image.src = this.facts.pictures + name;
      keep(this.pictures, name, found, KEPT.pictures);
    }
    return found.ready ? found.image : null;
  }

  pixels(name) {
    const image = this.picture(name);
    if (!image) return null;
    const own = new OffscreenCanvas(image.width, image.height);
    const brush = own.getContext("2d", { willReadFrequently: true });
    brush.drawImage(image, 0, 0);
    return brush.getImageData(0, 0, image.width, image.height);
  }

  // The ink of one plate's tile, 0 bare to 255 solid; null while it is on its way.
  inked(name) {
    const had = this.amounts.get(name);
    if (had) return had;
    const found = this.pixels(name);
    return found && keep(this.amounts, name, inkOf(found), KEPT.amounts);
  }

  mix(known) {
    const name = `${known.stem}-mix.png`;
    if (!this.mixes.has(name)) {
      const found = this.pixels(name);
      if (!found) return null;
      this.mixes.set(name, found.data);
    }
    return this.mixes.get(name);
  }

  // Have the smallest pictures of all plates at hand, so that switching them shows something at once.
  ready(index) {
    const known = this.known(index);
    if (!known) return;
    known.plates.forEach((_, layer) => this.picture(`${known.stem}-${layer}-${known.levels - 1}-0-0.png`));
    this.picture(`${known.stem}-mix.png`);
  }

  paint(pen, view, index, shown) {
    const facts = this.page(index), known = this.known(index);
    const [left, top] = view.toScreen(facts.left_mm, facts.top_mm), mm = view.scale * facts.pitch_mm;
    pen.fillStyle = "#fff";
    pen.fillRect(left, top, facts.width * mm, facts.height * mm);
    if (shown.kind === "look") {
      const base = this.picture(`page-${this.pages.indexOf(facts) + 1}.jpg`);
      pen.imageSmoothingEnabled = true;
      if (base) pen.drawImage(base, left, top, facts.width * mm, facts.height * mm);
    }
    if (!known) return;
    const finest = level(known, view.scale), coarsest = known.levels - 1;
    if (shown.kind === "look") this.lay(pen, view, known, finest, (place, column, row) => {
      const found = this.picture(`${known.stem}-look-${place}.jpg`);
      if (found && this.resting) this.ahead(known, finest, place, column, row);
      return found;
    });
    else for (const step of finest === coarsest ? [finest] : [coarsest, finest])
      this.lay(pen, view, known, step, (place, column, row) => this.tile(known, shown, step, column, row, place));
  }

  // A tile as it is asked for. The smallest, which shows all, is made here and now; others are
  // made by helpers, and null until then.
  tile(known, shown, step, column, row, place) {
    const key = `${this.facts.pictures}${known.stem}-${shown.key}:${place}`;
    const had = this.made.get(key);
    if (had) return had;
    const want = wantOf(known, shown, step, column, row, place, this.facts.pictures, key);
    if (!alone && step < known.levels - 1) {
      if (!this.failed.has(key)) waiting.set(key, [want, (told) => this.got(key, told)]);
      return null;
    }
    const amounts = want.layers.map((layer) => this.inked(`${known.stem}-${layer}-${place}.png`));
    const seen = want.seen ? this.pixels(`${known.stem}-seen-${place}.jpg`) : null, mix = this.mix(known);
    if (!mix || amounts.includes(null) || (want.seen && !seen)) return null;
    const own = new OffscreenCanvas(want.width, want.height), brush = own.getContext("2d");
    const image = brush.createImageData(want.width, want.height);
    fill(image, want, amounts, mix, seen);
    brush.putImageData(image, 0, 0);
    return keep(this.made, key, own, KEPT.made);
  }

  got(key, told) {
    if (told.made) keep(this.made, key, told.made, KEPT.made);
    else if (told.lost) {
      this.failed.add(key);
      setTimeout(() => { this.failed.delete(key); this.lost(); }, AGAIN);
    }
    this.changed();
  }

  // While nobody moves the art, have its plates in sight fetched, so that switching them need not wait.
  ahead(known, step, place, column, row) {
    const key = `${this.facts.pictures}${known.stem}:${place}`;
    if (step === known.levels - 1 || this.fetched.has(key)) return;
    const want = wantOf(known, { kind: "fetch", key: "" }, step, column, row, place, this.facts.pictures, key);
    waiting.set(key, [want, () => this.fetched.add(key)]);
  }

  lay(pen, view, known, step, image) {
    const pitch = known.pitch_mm * 2 ** step, side = known.tile * pitch, size = pitch * view.scale;
    const [x0, y0] = view.toPlace(view.left, 0), [x1, y1] = view.toPlace(view.left + view.width, view.height);
    const columns = Math.ceil(Math.ceil(known.width / 2 ** step) / known.tile), rows = Math.ceil(Math.ceil(known.height / 2 ** step) / known.tile);
    const first = Math.max(0, Math.floor((x0 - known.left_mm) / side)), last = Math.min(columns - 1, Math.floor((x1 - known.left_mm) / side));
    const upper = Math.max(0, Math.floor((known.top_mm - y0) / side)), lower = Math.min(rows - 1, Math.floor((known.top_mm - y1) / side));
    pen.imageSmoothingEnabled = size < 3;
    for (let row = upper; row <= lower; row += 1) for (let column = first; column <= last; column += 1) {
      const found = image(`${step}-${column}-${row}`, column, row);
      if (!found) { this.missing += 1; continue; }
      const [x, y] = view.toScreen(known.left_mm + column * side, known.top_mm - row * side);
      pen.drawImage(found, x, y, found.width * size, found.height * size);
    }
  }

  // Ink in percent of each plate at a place, and its mean over a square of 3 mm; null while a tile
  // is on its way or where there is none.
  read(index, x, y) {
    const known = this.known(index);
    if (!known) return null;
    const column = Math.floor((x - known.left_mm) / known.pitch_mm), row = Math.floor((known.top_mm - y) / known.pitch_mm);
    if (column < 0 || row < 0 || column >= known.width || row >= known.height) return "outside";
    const reach = Math.round(1.5 / known.pitch_mm), tile = known.tile;
    const amount = (layer, c, r) => {
      const found = this.inked(`${known.stem}-${layer}-0-${Math.floor(c / tile)}-${Math.floor(r / tile)}.png`);
      return found && found.data[(r % tile) * found.width + (c % tile)];
    };
    const rows = [];
    for (const layer of known.plates.keys()) {
      const own = amount(layer, column, row);
      let sum = 0, count = 0, whole = own !== null;
      for (let r = Math.max(0, row - reach); whole && r <= Math.min(known.height - 1, row + reach); r += 1)
        for (let c = Math.max(0, column - reach); whole && c <= Math.min(known.width - 1, column + reach); c += 1) {
          const one = amount(layer, c, r);
          if (one === null) whole = false;
          sum += one;
          count += 1;
        }
      if (!whole) return null;
      rows.push([known.plates[layer].name, own / 2.55, sum / count / 2.55]);
    }
    return rows;
  }
}

export function level(known, scale) {
  const wanted = Math.log2(1 / (known.pitch_mm * scale * (devicePixelRatio || 1)));
  return Math.max(0, Math.min(known.levels - 1, Math.floor(wanted + 0.01)));
}

// What a helper must know to make a tile.
function wantOf(known, shown, step, column, row, place, base, key) {
  const layers = [...known.plates.keys()].filter((layer) => shown.kind !== "mix" || shown.plates.has(layer));
  const side = (all, index) => Math.min(known.tile, Math.ceil(all / 2 ** step) - index * known.tile);
  return {
    key, base, place, layers, kind: shown.kind, black: shown.black, stem: known.stem, turn: column + row,
    width: side(known.width, column), height: side(known.height, row), left: column * known.tile, top: row * known.tile,
    tints: layers.map((layer) => known.plates[layer].tints), steps: known.ink.steps,
    seen: known.not_in_inks && (shown.kind !== "mix" || shown.seen),
  };
}
