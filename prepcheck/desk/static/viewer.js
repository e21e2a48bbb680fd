// The art at any size, from tiles that lie ready: plates mixed live, lines and findings over it,
// the ink under the pointer, and a ruler. All lengths are millimetres from the piece's centre.
const root = document.querySelector(".viewer");
const part = (name) => root.querySelector(`[data-${name}]`);
const canvas = root.querySelector("canvas");
const pen = canvas.getContext("2d");
const LINES = {
  trim: { words: "Trim", colour: "#12294a", dash: [] },
  bleed: { words: "Bleed", colour: "#0d7377", dash: [8, 4] },
  safe: { words: "Safe", colour: "#0d7377", dash: [2, 3] },
  hole: { words: "Hole", colour: "#12294a", dash: [] },
  ring: { words: "Hole ring", colour: "#0d7377", dash: [2, 5] },
  folds: { words: "Folds", colour: "#6b3f86", dash: [10, 3, 2, 3] },
};
const INK = { stop: "#a3262a", query: "#8a5200", note: "#4a6076" };
const state = {
  facts: null, page: 0, x: 0, y: 0, scale: 1, on: new Set(Object.keys(LINES)), marks: true,
  plates: null, chosen: null, ruler: null, measuring: false, at: null,
};
const pictures = new Map();
const samples = new Map();

const page = () => state.facts.pages[state.page];
const tiles = () => state.facts.tiles && state.facts.tiles[state.page];
const toScreen = (x, y) => [
  canvas.clientWidth / 2 + (x - state.x) * state.scale, canvas.clientHeight / 2 - (y - state.y) * state.scale,
];
const toPlace = (px, py) => [
  state.x + (px - canvas.clientWidth / 2) / state.scale, state.y - (py - canvas.clientHeight / 2) / state.scale,
];

function picture(name) {
  let found = pictures.get(name);
  if (!found) {
    found = { image: new Image(), ready: false };
    found.image.addEventListener("load", () => { found.ready = true; ask(); });
    found.image.src = state.facts.pictures + name;
    pictures.set(name, found);
    if (pictures.size > 600) pictures.delete(pictures.keys().next().value);
  }
  return found.ready ? found.image : null;
}

// A plate's tile in its ink's colour: bare paper stays white, a solid becomes the ink.
const tinted = new Map();
function inInk(name, colour) {
  const key = name + colour;
  const image = picture(name);
  if (!image) return null;
  if (!tinted.has(key)) {
    const own = new OffscreenCanvas(image.width, image.height);
    const brush = own.getContext("2d");
    brush.drawImage(image, 0, 0);
    brush.globalCompositeOperation = "screen";
    brush.fillStyle = colour;
    brush.fillRect(0, 0, own.width, own.height);
    tinted.set(key, own);
    if (tinted.size > 240) tinted.delete(tinted.keys().next().value);
  }
  return tinted.get(key);
}

let waiting = false;
function ask() {
  if (waiting) return;
  waiting = true;
  requestAnimationFrame(() => { waiting = false; draw(); });
}

function draw() {
  if (!state.facts) return;
  const ratio = devicePixelRatio || 1;
  const width = canvas.clientWidth, height = canvas.clientHeight;
  if (canvas.width !== Math.round(width * ratio) || canvas.height !== Math.round(height * ratio)) {
    canvas.width = Math.round(width * ratio);
    canvas.height = Math.round(height * ratio);
  }
  pen.setTransform(ratio, 0, 0, ratio, 0, 0);
  pen.clearRect(0, 0, width, height);
  const facts = page();
  const [left, top] = toScreen(facts.left_mm, facts.top_mm);
  pen.fillStyle = "#fff";
  pen.fillRect(left, top, facts.width * facts.pitch_mm * state.scale, facts.height * facts.pitch_mm * state.scale);
  const mixed = state.plates !== null;
  if (!mixed) {
    const base = picture(`page-${state.page + 1}.jpg`);
    if (base) pen.drawImage(base, left, top, facts.width * facts.pitch_mm * state.scale, facts.height * facts.pitch_mm * state.scale);
  }
  const known = tiles();
  if (known) {
    if (!mixed) laid(known, (name) => picture(name), "look", "jpg");
    else {
      pen.globalCompositeOperation = "multiply";
      const alone = state.plates.size === 1;
      for (const index of state.plates) {
        const colour = alone ? "#000000" : known.plates[index].colour;
        laid(known, (name) => inInk(name, colour), index, "png");
      }
      pen.globalCompositeOperation = "source-over";
    }
  }
  lines(facts);
  if (state.marks) marks();
  ruler();
}

function level(known) {
  const wanted = Math.log2(1 / (known.pitch_mm * state.scale * (devicePixelRatio || 1)));
  return Math.max(0, Math.min(known.levels - 1, Math.floor(wanted + 0.01)));
}

function laid(known, image, layer, ending) {
  const at = level(known), step = known.tile * known.pitch_mm * 2 ** at;
  const [x0, y0] = toPlace(0, 0), [x1, y1] = toPlace(canvas.clientWidth, canvas.clientHeight);
  const wide = Math.ceil(known.width / 2 ** at), high = Math.ceil(known.height / 2 ** at);
  const columns = Math.ceil(wide / known.tile), rows = Math.ceil(high / known.tile);
  const first = Math.max(0, Math.floor((x0 - known.left_mm) / step)), last = Math.min(columns - 1, Math.floor((x1 - known.left_mm) / step));
  const upper = Math.max(0, Math.floor((known.top_mm - y0) / step)), lower = Math.min(rows - 1, Math.floor((known.top_mm - y1) / step));
  pen.imageSmoothingEnabled = known.pitch_mm * 2 ** at * state.scale < 3;
  for (let row = upper; row <= lower; row += 1) for (let column = first; column <= last; column += 1) {
    const found = image(`${state.page + 1}-${layer}-${at}-${column}-${row}.${ending}`);
    if (!found) continue;
    const [x, y] = toScreen(known.left_mm + column * step, known.top_mm - row * step);
    const size = known.pitch_mm * 2 ** at * state.scale;
    pen.drawImage(found, x, y, found.width * size, found.height * size);
  }
}

function path(shape) {
  pen.beginPath();
  if (typeof shape[0] === "number" && shape.length === 3) {
    const [x, y] = toScreen(shape[0], shape[1]);
    pen.arc(x, y, shape[2] * state.scale, 0, 2 * Math.PI);
  } else if (typeof shape[0] === "number") {
    pen.moveTo(...toScreen(shape[0], shape[1]));
    pen.lineTo(...toScreen(shape[2], shape[3]));
  } else {
    shape.forEach((point, index) => pen[index ? "lineTo" : "moveTo"](...toScreen(point[0], point[1])));
    pen.closePath();
  }
}

function stroked(colour, width, dash) {
  pen.setLineDash([]);
  pen.strokeStyle = "rgba(255,255,255,.85)";
  pen.lineWidth = width + 2;
  pen.stroke();
  pen.setLineDash(dash);
  pen.strokeStyle = colour;
  pen.lineWidth = width;
  pen.stroke();
  pen.setLineDash([]);
}

function lines(facts) {
  for (const [name, style] of Object.entries(LINES)) {
    if (!state.on.has(name)) continue;
    for (const shape of facts.lines[name] || []) { path(shape); stroked(style.colour, 1.4, style.dash); }
  }
}

const here = () => state.facts.findings.filter((one) => one.page === page().page);
function marks() {
  for (const one of here()) {
    const lit = state.chosen === one.number;
    one.places.forEach((place, index) => {
      const [x0, y0] = toScreen(place.box[0], place.box[3]), [x1, y1] = toScreen(place.box[2], place.box[1]);
      if (place.path.length) {
        pen.beginPath();
        place.path.forEach((point, at) => pen[at ? "lineTo" : "moveTo"](...toScreen(...point)));
      } else {
        const grow = Math.max(0, 7 - (x1 - x0) / 2), rise = Math.max(0, 7 - (y1 - y0) / 2);
        pen.beginPath();
        pen.rect(x0 - grow, y0 - rise, x1 - x0 + 2 * grow, y1 - y0 + 2 * rise);
      }
      stroked(INK[one.severity], lit ? 4 : 2, one.severity === "query" ? [6, 3] : []);
      if (index && !lit) return;
      const middle = place.path.length ? toScreen(...place.path[place.path.length >> 1]) : [x1, y0];
      pen.beginPath();
      pen.arc(middle[0], middle[1], 11, 0, 2 * Math.PI);
      pen.fillStyle = INK[one.severity];
      pen.fill();
      pen.fillStyle = "#fff";
      pen.font = "600 12px sans-serif";
      pen.textAlign = "center";
      pen.textBaseline = "middle";
      pen.fillText(String(one.number), middle[0], middle[1]);
    });
  }
}

function ruler() {
  if (!state.ruler) return;
  const [from, to] = state.ruler;
  const a = toScreen(...from), b = toScreen(...to);
  pen.beginPath();
  pen.moveTo(...a);
  pen.lineTo(...b);
  stroked("#0d7377", 2, []);
  const words = `${Math.hypot(to[0] - from[0], to[1] - from[1]).toFixed(2)} mm`;
  pen.font = "600 14px sans-serif";
  const wide = pen.measureText(words).width + 12;
  pen.fillStyle = "#17181a";
  pen.fillRect((a[0] + b[0]) / 2 - wide / 2, (a[1] + b[1]) / 2 - 24, wide, 20);
  pen.fillStyle = "#fff";
  pen.textAlign = "center";
  pen.textBaseline = "middle";
  pen.fillText(words, (a[0] + b[0]) / 2, (a[1] + b[1]) / 2 - 14);
}

// The ruler takes the centre, the trim and the hole where it comes near to them.
function snapped([x, y]) {
  const near = 9 / state.scale, shapes = [...(page().lines.trim || []), ...(page().lines.hole || [])];
  if (Math.hypot(x, y) < near) return [0, 0];
  let best = null, least = near;
  const offer = (px, py) => { const far = Math.hypot(px - x, py - y); if (far < least) { least = far; best = [px, py]; } };
  for (const shape of shapes) {
    if (typeof shape[0] === "number") {
      const far = Math.hypot(x - shape[0], y - shape[1]);
      if (far) offer(shape[0] + (x - shape[0]) * shape[2] / far, shape[1] + (y - shape[1]) * shape[2] / far);
    } else shape.forEach((from, index) => {
      const to = shape[(index + 1) % shape.length], dx = to[0] - from[0], dy = to[1] - from[1];
      const t = Math.max(0, Math.min(1, ((x - from[0]) * dx + (y - from[1]) * dy) / (dx * dx + dy * dy || 1)));
      offer(from[0] + t * dx, from[1] + t * dy);
    });
  }
  return best || [x, y];
}

// Amounts of ink as the finest tiles have them; null while a tile is still on its way.
function sample(known, layer, column, row) {
  const tile = known.tile, name = `${state.page + 1}-${layer}-0-${Math.floor(column / tile)}-${Math.floor(row / tile)}.png`;
  let found = samples.get(name);
  if (!found) {
    const image = picture(name);
    if (!image) return null;
    const own = new OffscreenCanvas(image.width, image.height);
    const brush = own.getContext("2d", { willReadFrequently: true });
    brush.drawImage(image, 0, 0);
    found = brush.getImageData(0, 0, image.width, image.height);
    samples.set(name, found);
    if (samples.size > 60) samples.delete(samples.keys().next().value);
  }
  return 255 - found.data[4 * ((row % tile) * found.width + (column % tile))];
}

function read() {
  const known = tiles(), out = part("reading");
  if (!known || !state.at) return;
  const [x, y] = state.at;
  const column = Math.floor((x - known.left_mm) / known.pitch_mm), row = Math.floor((known.top_mm - y) / known.pitch_mm);
  if (column < 0 || row < 0 || column >= known.width || row >= known.height) return;
  const reach = Math.round(1.5 / known.pitch_mm), rows = [];
  let total = 0, mean = 0, whole = true;
  known.plates.forEach((plate, layer) => {
    const own = sample(known, layer, column, row);
    let sum = 0, count = 0;
    for (let r = Math.max(0, row - reach); r <= Math.min(known.height - 1, row + reach); r += 1)
      for (let c = Math.max(0, column - reach); c <= Math.min(known.width - 1, column + reach); c += 1) {
        const one = sample(known, layer, c, r);
        if (one === null) { whole = false; return; }
        sum += one;
        count += 1;
      }
    if (own === null) { whole = false; return; }
    total += own / 2.55;
    mean += sum / count / 2.55;
    rows.push([plate.name, own / 2.55, sum / count / 2.55]);
  });
  if (!whole) { out.dataset.waiting = "yes"; return; }
  delete out.dataset.waiting;
  const table = document.createElement("table");
  const line = (cells, tag) => {
    const tr = table.insertRow();
    cells.forEach((cell, index) => {
      const td = document.createElement(index && tag === "td" ? "td" : "th");
      td.textContent = typeof cell === "number" ? `${cell.toFixed(1)} %` : cell;
      tr.append(td);
    });
  };
  line(["Ink", "Here", "Over 3 mm"], "th");
  for (const one of rows) line(one, "td");
  line(["Together", total, mean], "td");
  const place = document.createElement("p");
  place.textContent = `x ${(x + 0).toFixed(1).replace("-0.0", "0.0")}, y ${y.toFixed(1).replace("-0.0", "0.0")} mm from the centre`;
  out.replaceChildren(table, place);
}

function fit() {
  const facts = page(), wide = facts.width * facts.pitch_mm, high = facts.height * facts.pitch_mm;
  state.scale = Math.min(canvas.clientWidth / wide, canvas.clientHeight / high) * 0.97;
  state.x = facts.left_mm + wide / 2;
  state.y = facts.top_mm - high / 2;
  ask();
}

function zoom(by, px = canvas.clientWidth / 2, py = canvas.clientHeight / 2) {
  const [x, y] = toPlace(px, py);
  state.scale = Math.max(0.2, Math.min(400, state.scale * by));
  state.x = x - (px - canvas.clientWidth / 2) / state.scale;
  state.y = y + (py - canvas.clientHeight / 2) / state.scale;
  ask();
}

function go(number) {
  state.chosen = number;
  const one = state.facts.findings.find((found) => found.number === number);
  for (const button of part("found").querySelectorAll("button")) button.setAttribute("aria-pressed", String(Number(button.dataset.number) === number));
  if (!one) return;
  const index = state.facts.pages.findIndex((facts) => facts.page === one.page);
  if (index >= 0) state.page = index;
  const place = one.places[0];
  if (place) {
    const [x0, y0, x1, y1] = place.box;
    state.x = (x0 + x1) / 2;
    state.y = (y0 + y1) / 2;
    const room = Math.max(x1 - x0, y1 - y0, 12) * 1.6;
    state.scale = Math.min(canvas.clientWidth, canvas.clientHeight) / room;
    state.at = [state.x, state.y];
    read();
  }
  ask();
}

function step(by) {
  const all = state.facts.findings.filter((one) => one.places.length);
  if (!all.length) return;
  const index = all.findIndex((one) => one.number === state.chosen);
  go(all[(index + by + all.length) % all.length].number);
}

function button(words, act, pressed) {
  const own = document.createElement("button");
  own.type = "button";
  own.className = "plain";
  own.textContent = words;
  if (pressed !== undefined) own.setAttribute("aria-pressed", String(pressed));
  own.addEventListener("click", () => { act(own); ask(); });
  return own;
}

const flip = (own) => { const on = own.getAttribute("aria-pressed") !== "true"; own.setAttribute("aria-pressed", String(on)); return on; };
let measure = null;
function tools() {
  const bar = part("tools");
  bar.replaceChildren(button("All of it (0)", fit), button("Larger (+)", () => zoom(1.5)), button("Smaller (-)", () => zoom(1 / 1.5)));
  measure = button("Ruler (R)", (own) => { state.measuring = flip(own); if (!state.measuring) state.ruler = null; }, false);
  bar.append(measure);
  const there = new Set(state.facts.pages.flatMap((facts) => Object.keys(facts.lines).filter((name) => facts.lines[name].length)));
  for (const [name, style] of Object.entries(LINES)) if (there.has(name))
    bar.append(button(style.words, (own) => { if (flip(own)) state.on.add(name); else state.on.delete(name); }, true));
  bar.append(button("Findings", (own) => { state.marks = flip(own); }, true));
  if (state.facts.pages.length > 1) state.facts.pages.forEach((facts, index) => bar.append(button(facts.face, () => { state.page = index; plates(); fit(); })));
}

function plates() {
  const known = tiles(), out = part("plates");
  if (!known) { out.textContent = "Being made ready."; return; }
  const boxes = [];
  const all = document.createElement("label");
  all.className = "pick";
  const look = document.createElement("input");
  look.type = "checkbox";
  look.checked = state.plates === null;
  all.append(look, "As it would print");
  const changed = () => {
    state.plates = look.checked ? null : new Set(boxes.flatMap((box, index) => (box.checked ? [index] : [])));
    for (const box of boxes) box.disabled = look.checked;
    ask();
  };
  look.addEventListener("change", changed);
  out.replaceChildren(all);
  known.plates.forEach((plate, index) => {
    const label = document.createElement("label"), box = document.createElement("input"), swatch = document.createElement("canvas");
    label.className = "pick";
    box.type = "checkbox";
    box.checked = state.plates === null || state.plates.has(index);
    box.disabled = state.plates === null;
    box.addEventListener("change", changed);
    swatch.className = "swatch";
    swatch.width = swatch.height = 14;
    const brush = swatch.getContext("2d");
    brush.fillStyle = plate.colour;
    brush.fillRect(0, 0, 14, 14);
    label.append(box, swatch, `${plate.name} (${index + 1})`);
    boxes.push(box);
    out.append(label);
  });
  if (known.not_in_inks) { const note = document.createElement("p"); note.className = "soft"; note.textContent = "Some paint has no ink amounts: it is on no plate."; out.append(note); }
  state.switch = (index) => {
    if (!boxes[index]) return;
    if (look.checked) { look.checked = false; boxes.forEach((box) => { box.checked = false; }); }
    boxes[index].checked = !boxes[index].checked;
    changed();
  };
  state.look = () => { look.checked = true; changed(); };
}

function found() {
  const list = part("found");
  list.replaceChildren(...state.facts.findings.map((one) => {
    const own = button(`${one.number}. ${one.severity}: ${one.message}`, () => go(one.number), false);
    own.dataset.number = one.number;
    return own;
  }));
  if (!state.facts.findings.length) list.textContent = "Nothing.";
}

function keys(event) {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const move = 40 / state.scale;
  const acts = {
    ArrowLeft: () => { state.x -= move; }, ArrowRight: () => { state.x += move; },
    ArrowUp: () => { state.y += move; }, ArrowDown: () => { state.y -= move; },
    "+": () => zoom(1.5), "=": () => zoom(1.5), "-": () => zoom(1 / 1.5), 0: fit,
    n: () => step(1), p: () => step(-1), r: () => measure.click(), l: () => state.look && state.look(),
  };
  const act = /^[1-9]$/.test(event.key) ? () => state.switch && state.switch(Number(event.key) - 1) : acts[event.key];
  if (!act) return;
  event.preventDefault();
  act();
  if (event.key.startsWith("Arrow")) { state.at = [state.x, state.y]; read(); }
  ask();
}

const pointers = new Map();
const spot = (event) => { const box = canvas.getBoundingClientRect(); return [event.clientX - box.left, event.clientY - box.top]; };
canvas.addEventListener("pointerdown", (event) => {
  canvas.setPointerCapture(event.pointerId);
  pointers.set(event.pointerId, spot(event));
  if (state.measuring && pointers.size === 1) { const from = snapped(toPlace(...spot(event))); state.ruler = [from, from]; }
});
canvas.addEventListener("pointermove", (event) => {
  const now = spot(event), before = pointers.get(event.pointerId);
  if (before && pointers.size === 2) {
    const other = [...pointers].find(([id]) => id !== event.pointerId)[1];
    zoom(Math.hypot(now[0] - other[0], now[1] - other[1]) / (Math.hypot(before[0] - other[0], before[1] - other[1]) || 1), ...other);
  } else if (before && state.measuring) state.ruler[1] = snapped(toPlace(...now));
  else if (before) { state.x -= (now[0] - before[0]) / state.scale; state.y += (now[1] - before[1]) / state.scale; }
  if (before) pointers.set(event.pointerId, now);
  state.at = toPlace(...now);
  read();
  ask();
});
for (const name of ["pointerup", "pointercancel"]) canvas.addEventListener(name, (event) => {
  const was = pointers.get(event.pointerId);
  pointers.delete(event.pointerId);
  if (name === "pointerup" && was && !state.measuring) {
    const [x, y] = toPlace(...was), near = 8 / state.scale;
    const hit = here().find((one) => one.places.some((p) => x > p.box[0] - near && x < p.box[2] + near && y > p.box[1] - near && y < p.box[3] + near && (p.box[2] - p.box[0]) * state.scale < 300));
    if (hit && hit.number !== state.chosen) { state.chosen = hit.number; for (const own of part("found").querySelectorAll("button")) own.setAttribute("aria-pressed", String(Number(own.dataset.number) === hit.number)); ask(); }
  }
});
canvas.addEventListener("wheel", (event) => { event.preventDefault(); zoom(Math.exp(-event.deltaY / 400), ...spot(event)); }, { passive: false });
canvas.addEventListener("keydown", keys);
addEventListener("resize", ask);

async function load() {
  const answer = await fetch(root.dataset.facts, { credentials: "same-origin" });
  const facts = await answer.json();
  const first = state.facts === null;
  if (facts.ready) {
    const had = state.facts && state.facts.tiles;
    state.facts = facts;
    if (first) { root.hidden = false; tools(); found(); fit(); }
    if (first || !had) plates();
    ask();
  }
  if (!facts.ready || !facts.tiles) {
    part("told").textContent = "Plates and finer pictures are being made ready.";
    setTimeout(load, 1500);
  } else part("told").textContent = "";
  root.dataset.ready = facts.tiles ? "yes" : "no";
}
load();
