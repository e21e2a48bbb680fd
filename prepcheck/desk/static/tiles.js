// One part's art from tiles that lie ready: as it would print, its plates mixed live by the model
// that the proof is shown by, and its total ink. All lengths are mm from the piece's centre.
const NODES = 17;
const KEPT = { pictures: 700, amounts: 260, made: 130 };
const AGAIN = 3000; // milliseconds after which a picture that was not there is asked for anew
const SPAN = 60; // milliseconds that making tiles may keep a frame waiting
const at = new Uint8Array(256), share = new Float32Array(256);
for (let value = 0; value < 256; value += 1) {
  const place = value / 255 * (NODES - 1);
  at[value] = Math.min(NODES - 2, Math.floor(place));
  share[value] = place - at[value];
}

function keep(map, key, value, most) {
  map.set(key, value);
  if (map.size > most) map.delete(map.keys().next().value);
  return value;
}

// Time that is left in this frame for making tiles; at least one is made.
export function patience() {
  const end = performance.now() + SPAN;
  let made = 0;
  return () => { made += 1; return made === 1 || performance.now() < end; };
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
    if (!found) return null;
    const data = new Uint8Array(found.width * found.height);
    for (let index = 0; index < data.length; index += 1) data[index] = 255 - found.data[4 * index];
    return keep(this.amounts, name, { width: found.width, height: found.height, data }, KEPT.amounts);
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

  paint(pen, view, index, shown, more) {
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
    const finest = level(known, view.scale);
    if (shown.kind === "look") this.lay(pen, view, known, finest, (name) => this.picture(`${name("look")}.jpg`));
    else for (const step of finest === known.levels - 1 ? [finest] : [known.levels - 1, finest])
      this.lay(pen, view, known, step, (name) => this.tile(name, known, shown, more));
  }

  // A tile as it is asked for: made of its plates, or null where that must wait.
  tile(name, known, shown, more) {
    const key = `${shown.key}:${name("")}`;
    const had = this.made.get(key);
    if (had) return had;
    const layers = [...known.plates.keys()].filter((layer) => shown.kind === "ink" || shown.plates.has(layer));
    const amounts = layers.map((layer) => this.inked(`${name(layer)}.png`));
    const seen = known.not_in_inks && (shown.kind === "ink" || shown.seen) ? this.pixels(`${name("seen")}.jpg`) : null;
    const mix = this.mix(known);
    if (!mix || amounts.includes(null) || (known.not_in_inks && shown.seen && !seen)) return null;
    if (!more()) { this.changed(); return null; }
    const first = amounts[0] || this.inked(`${name(0)}.png`);
    if (!first) return null;
    const own = new OffscreenCanvas(first.width, first.height), brush = own.getContext("2d");
    const out = brush.createImageData(first.width, first.height);
    if (shown.kind === "ink") inkMap(out, amounts, known.ink, seen);
    else if (layers.length === 1 && shown.black && !shown.seen) grey(out.data, amounts[0].data);
    else mixed(out.data, layers.map((layer, place) => ({ ...known.plates[layer], layer, data: amounts[place].data })), mix, seen);
    brush.putImageData(out, 0, 0);
    return keep(this.made, key, own, KEPT.made);
  }

  lay(pen, view, known, step, image) {
    const pitch = known.pitch_mm * 2 ** step, side = known.tile * pitch, size = pitch * view.scale;
    const [x0, y0] = view.toPlace(view.left, 0), [x1, y1] = view.toPlace(view.left + view.width, view.height);
    const columns = Math.ceil(Math.ceil(known.width / 2 ** step) / known.tile), rows = Math.ceil(Math.ceil(known.height / 2 ** step) / known.tile);
    const first = Math.max(0, Math.floor((x0 - known.left_mm) / side)), last = Math.min(columns - 1, Math.floor((x1 - known.left_mm) / side));
    const upper = Math.max(0, Math.floor((known.top_mm - y0) / side)), lower = Math.min(rows - 1, Math.floor((known.top_mm - y1) / side));
    pen.imageSmoothingEnabled = size < 3;
    for (let row = upper; row <= lower; row += 1) for (let column = first; column <= last; column += 1) {
      const found = image((layer) => `${known.stem}-${layer}-${step}-${column}-${row}`);
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

function grey(out, data) {
  for (let index = 0; index < data.length; index += 1) {
    out[4 * index] = out[4 * index + 1] = out[4 * index + 2] = 255 - data[index];
    out[4 * index + 3] = 255;
  }
}

// Process inks between the nodes of the mix, spots and other paint as filters over them. Colours
// that were reckoned of late are kept by their amounts.
function mixed(out, plates, mix, seen) {
  const process = plates.filter((one) => !one.tints), spots = plates.filter((one) => one.tints);
  for (const one of spots) one.lets = Uint8Array.from(one.tints.match(/../g), (digits) => parseInt(digits, 16));
  const strides = process.map((one) => 4 * NODES ** (3 - one.layer)), count = process.length;
  const keys = new Int32Array(8192).fill(-1), had = new Uint8Array(8192 * 3);
  const starts = new Int32Array(16), weights = new Float32Array(16);
  const length = out.length / 4;
  for (let index = 0; index < length; index += 1) {
    let code = 0;
    for (let ink = 0; ink < count; ink += 1) code = (code << 8) | process[ink].data[index];
    const slot = (code ^ (code >>> 11) ^ (code >>> 19)) & 8191, kept = slot * 3;
    // The code of four solids is -1 too: it is reckoned, and then kept all the same.
    if (keys[slot] !== code || code === -1) {
      let corners = 1;
      starts[0] = 0;
      weights[0] = 1;
      for (let ink = 0; ink < count; ink += 1) {
        const value = process[ink].data[index], low = at[value] * strides[ink], part = share[value];
        if (part === 0) { for (let c = 0; c < corners; c += 1) starts[c] += low; continue; }
        for (let c = 0; c < corners; c += 1) {
          starts[c] += low;
          starts[corners + c] = starts[c] + strides[ink];
          weights[corners + c] = weights[c] * part;
          weights[c] *= 1 - part;
        }
        corners *= 2;
      }
      let r = 0.5, g = 0.5, b = 0.5;
      for (let c = 0; c < corners; c += 1) {
        const node = starts[c], weight = weights[c];
        r += mix[node] * weight;
        g += mix[node + 1] * weight;
        b += mix[node + 2] * weight;
      }
      keys[slot] = code;
      had[kept] = r;
      had[kept + 1] = g;
      had[kept + 2] = b;
    }
    let r = had[kept], g = had[kept + 1], b = had[kept + 2];
    for (let spot = 0; spot < spots.length; spot += 1) {
      const tint = 3 * spots[spot].data[index];
      if (!tint) continue;
      const lets = spots[spot].lets;
      r = r * lets[tint] / 255;
      g = g * lets[tint + 1] / 255;
      b = b * lets[tint + 2] / 255;
    }
    const place = 4 * index;
    if (seen) { r = r * seen.data[place] / 255; g = g * seen.data[place + 1] / 255; b = b * seen.data[place + 2] / 255; }
    out[place] = r;
    out[place + 1] = g;
    out[place + 2] = b;
    out[place + 3] = 255;
  }
}

const rgb = (colour) => [1, 3, 5].map((start) => parseInt(colour.slice(start, start + 2), 16));

// Total ink in steps from light to dark; above the limit it is hatched, and dotted where paint has
// no ink amounts.
function inkMap(out, amounts, ink, seen) {
  const steps = ink.steps.map((step) => ({ ...step, rgb: rgb(step.colour) }));
  const table = new Uint8Array(255 * amounts.length + 1), half = 50 / 255;
  for (let total = 0; total < table.length; total += 1) {
    const found = steps.findIndex((step) => step.high === null || total / 2.55 <= step.high + half);
    table[total] = found < 0 ? steps.length - 1 : found;
  }
  for (let index = 0; index < out.width * out.height; index += 1) {
    let total = 0;
    for (const one of amounts) total += one.data[index];
    const step = steps[table[total]], place = 4 * index, x = index % out.width, y = (index - x) / out.width;
    let colour = step.hatched && (x + y) % 6 < 2 ? [255, 255, 255] : step.rgb;
    if (seen && Math.min(seen.data[place], seen.data[place + 1], seen.data[place + 2]) < 250) colour = x % 6 < 2 && y % 6 < 2 ? [255, 255, 255] : [178, 172, 166];
    out.data[place] = colour[0];
    out.data[place + 1] = colour[1];
    out.data[place + 2] = colour[2];
    out.data[place + 3] = 255;
  }
}
