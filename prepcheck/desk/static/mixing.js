// How plates look together, pixel by pixel: the model is the proof's, given as a table of amounts.
const NODES = 17, CELLS = 1 << 14;
const at = new Uint8Array(256), share = new Float32Array(256);
for (let value = 0; value < 256; value += 1) {
  const place = value / 255 * (NODES - 1);
  at[value] = Math.min(NODES - 2, Math.floor(place));
  share[value] = place - at[value];
}
// Pixels are written whole; on all that browsers run on, red is their lowest byte.
const rgba = (r, g, b) => (255 << 24 | b << 16 | g << 8 | r) >>> 0;
const coded = (colour) => rgba(...[1, 3, 5].map((start) => parseInt(colour.slice(start, start + 2), 16)));
const WHITE = rgba(255, 255, 255), NO_AMOUNTS = rgba(178, 172, 166);

// The ink of a plate's tile from its picture, 0 bare to 255 solid.
export function inkOf(pixels) {
  const data = new Uint8Array(pixels.width * pixels.height), from = pixels.data;
  for (let index = 0; index < data.length; index += 1) data[index] = 255 - from[4 * index];
  return { width: pixels.width, height: pixels.height, data };
}

// Fills the pixels of a tile: `want.kind` is 'ink' (total ink) or 'mix'; `amounts` those of
// `want.layers`, `seen` what is painted without ink amounts, or null.
export function fill(image, want, amounts, mix, seen) {
  const out = new Uint32Array(image.data.buffer);
  if (want.kind === "ink") inkMap(out, image.width, want, amounts, seen);
  else if (want.layers.length === 1 && want.black && !seen) grey(out, amounts[0].data);
  else mixed(out, want.layers.map((layer, place) => ({ layer, tints: want.tints[place], data: amounts[place].data })), mix, seen);
}

function grey(out, data) {
  for (let index = 0; index < out.length; index += 1) { const light = 255 - data[index]; out[index] = rgba(light, light, light); }
}

// Process inks between the nodes of the mix, spots and other paint as filters over them.
function mixed(out, plates, mix, seen) {
  const process = plates.filter((one) => !one.tints), spots = plates.filter((one) => one.tints);
  inks(out, process, mix);
  for (const one of spots) {
    const lets = Uint8Array.from(one.tints.match(/../g), (digits) => parseInt(digits, 16)), data = one.data;
    for (let index = 0; index < out.length; index += 1) {
      const tint = 3 * data[index];
      if (!tint) continue;
      const under = out[index];
      out[index] = rgba((under & 255) * lets[tint] / 255 + 0.5, (under >> 8 & 255) * lets[tint + 1] / 255 + 0.5, (under >> 16 & 255) * lets[tint + 2] / 255 + 0.5);
    }
  }
  if (seen) for (let index = 0; index < out.length; index += 1) {
    const under = out[index], place = 4 * index, over = seen.data;
    out[index] = rgba((under & 255) * over[place] / 255 + 0.5, (under >> 8 & 255) * over[place + 1] / 255 + 0.5, (under >> 16 & 255) * over[place + 2] / 255 + 0.5);
  }
}

// Between nodes along the five corners of the simplex that the amounts lie in: as near to the table
// as all sixteen, in a third of the time. Colours of late are kept by their amounts.
function inks(out, process, mix) {
  const count = process.length, none = new Uint8Array(out.length);
  const data = [0, 1, 2, 3].map((ink) => (ink < count ? process[ink].data : none));
  const [da, db, dc, dd] = data;
  const [sa, sb, sc, sd] = [0, 1, 2, 3].map((ink) => (ink < count ? 4 * NODES ** (3 - process[ink].layer) : 0));
  const keys = new Int32Array(CELLS), had = new Uint32Array(CELLS);
  had[0] = rgba(mix[0], mix[1], mix[2]); // bare paper has the key 0, as every slot at first
  for (let slot = 1; slot < CELLS; slot += 1) keys[slot] = -1;
  for (let index = 0; index < out.length; index += 1) {
    const a = da[index], b = db[index], c = dc[index], d = dd[index];
    const key = a << 24 | b << 16 | c << 8 | d, slot = (key ^ key >>> 9 ^ key >>> 18) & CELLS - 1;
    if (keys[slot] === key && key !== -1) { out[index] = had[slot]; continue; }
    let node = at[a] * sa + at[b] * sb + at[c] * sc + at[d] * sd;
    let fa = share[a], fb = share[b], fc = share[c], fd = share[d], ta = sa, tb = sb, tc = sc, td = sd, f, t;
    if (fa < fb) { f = fa; fa = fb; fb = f; t = ta; ta = tb; tb = t; }
    if (fc < fd) { f = fc; fc = fd; fd = f; t = tc; tc = td; td = t; }
    if (fa < fc) { f = fa; fa = fc; fc = f; t = ta; ta = tc; tc = t; }
    if (fb < fd) { f = fb; fb = fd; fd = f; t = tb; tb = td; td = t; }
    if (fb < fc) { f = fb; fb = fc; fc = f; t = tb; tb = tc; tc = t; }
    let weight = 1 - fa;
    let red = 0.5 + mix[node] * weight, green = 0.5 + mix[node + 1] * weight, blue = 0.5 + mix[node + 2] * weight;
    node += ta; weight = fa - fb;
    red += mix[node] * weight; green += mix[node + 1] * weight; blue += mix[node + 2] * weight;
    node += tb; weight = fb - fc;
    red += mix[node] * weight; green += mix[node + 1] * weight; blue += mix[node + 2] * weight;
    node += tc; weight = fc - fd;
    red += mix[node] * weight; green += mix[node + 1] * weight; blue += mix[node + 2] * weight;
    node += td;
    red += mix[node] * fd; green += mix[node + 1] * fd; blue += mix[node + 2] * fd;
    keys[slot] = key;
    out[index] = had[slot] = rgba(red, green, blue);
  }
}

// Total ink in steps from light to dark; above the limit it is hatched, and dotted where paint has
// no ink amounts. `want.left` and `want.top` say where the tile lies, so that hatches run on.
function inkMap(out, width, want, amounts, seen) {
  const steps = want.steps, half = 50 / 255, most = 255 * amounts.length + 1;
  const colours = new Uint32Array(most), hatched = new Uint8Array(most);
  for (let total = 0; total < most; total += 1) {
    const found = steps.findIndex((step) => step.high === null || total / 2.55 <= step.high + half);
    const step = steps[found < 0 ? steps.length - 1 : found];
    colours[total] = coded(step.colour);
    hatched[total] = step.hatched ? 1 : 0;
  }
  const sums = new Uint16Array(out.length);
  for (const one of amounts) for (let index = 0; index < sums.length; index += 1) sums[index] += one.data[index];
  for (let index = 0, x = want.left, y = want.top; index < out.length; index += 1) {
    const total = sums[index];
    let colour = hatched[total] && (x + y) % 6 < 2 ? WHITE : colours[total];
    if (seen) {
      const place = 4 * index;
      if (Math.min(seen.data[place], seen.data[place + 1], seen.data[place + 2]) < 250) colour = x % 6 < 2 && y % 6 < 2 ? WHITE : NO_AMOUNTS;
    }
    out[index] = colour;
    x += 1;
    if (x - want.left === width) { x = want.left; y += 1; }
  }
}
