// The art at any size: what is shown of it, lines and findings over it, the ink under the pointer,
// a ruler, an earlier round, and the piece as it is cut. All lengths are mm from its centre.
import { Art, send } from "./tiles.js";
import { LINES, drawCross, drawLines, drawMarks, drawRuler, length, snapped, trace } from "./lines.js";

const root = document.querySelector(".viewer");
const part = (name) => root.querySelector(`[data-${name}]`);
const canvas = root.querySelector("canvas");
const pen = canvas.getContext("2d");
const still = matchMedia("(prefers-reduced-motion: reduce)");
const TURN = 700; // milliseconds that each of two rounds is shown in turns
const state = {
  now: null, before: null, page: 0, x: 0, y: 0, scale: 1, on: new Set(Object.keys(LINES).filter((name) => name !== "panels")), marks: true,
  shown: { kind: "look", plates: new Set(), seen: true, black: true, key: "look" },
  chosen: null, ruler: null, measuring: false, live: false, at: null, keyed: false,
  cut: false, off: [0, 0], beside: "", edge: 0.5, turned: false,
};

const facts = () => state.now.page(state.page);
function viewOf(left, width) {
  const height = canvas.clientHeight, own = { left, width, height, scale: state.scale };
  own.toScreen = (x, y) => [left + width / 2 + (x - state.x) * state.scale, height / 2 - (y - state.y) * state.scale];
  own.toPlace = (px, py) => [state.x + (px - left - width / 2) / state.scale, state.y - (py - height / 2) / state.scale];
  return own;
}
const halves = () => { const half = canvas.clientWidth / 2; return [viewOf(0, half), viewOf(half, half)]; };
const whole = () => viewOf(0, canvas.clientWidth);
const viewAt = (px) => (state.beside === "beside" && state.before ? halves()[px < canvas.clientWidth / 2 ? 0 : 1] : whole());
const middle = () => { const view = viewAt(0); return [view.left + view.width / 2, view.height / 2]; };

const REST = 400; // milliseconds after which plates are fetched that may be wanted next
let waiting = false, resting = false, rest = null;
function ask() {
  if (waiting) return;
  waiting = true;
  requestAnimationFrame(() => {
    waiting = false;
    if (!state.now) return;
    const all = [state.now, state.before].filter(Boolean);
    for (const own of all) { own.missing = 0; own.resting = resting; }
    draw();
    send();
    const there = !all.some((own) => own.missing);
    root.dataset.whole = there ? "yes" : "no";
    clearTimeout(rest);
    if (there && !resting) rest = setTimeout(() => { resting = true; ask(); }, REST);
    resting = false;
  });
}

function draw() {
  const ratio = devicePixelRatio || 1, width = canvas.clientWidth, height = canvas.clientHeight;
  if (canvas.width !== Math.round(width * ratio) || canvas.height !== Math.round(height * ratio)) {
    canvas.width = Math.round(width * ratio);
    canvas.height = Math.round(height * ratio);
  }
  pen.setTransform(ratio, 0, 0, ratio, 0, 0);
  pen.clearRect(0, 0, width, height);
  const before = state.before, way = before ? state.beside : "";
  if (way === "beside") {
    const [left, right] = halves();
    within(left, () => art(before, left));
    within(right, () => { art(state.now, right); over(right); });
    pen.fillStyle = "#17181a";
    pen.fillRect(width / 2 - 1, 0, 2, height);
    return;
  }
  const view = whole();
  art(way === "turns" && state.turned ? before : state.now, view);
  if (way === "edge") {
    const far = Math.round(width * state.edge);
    within(viewOf(0, far), () => art(before, view));
    pen.fillStyle = "#17181a";
    pen.fillRect(far - 1, 0, 2, height);
  }
  over(view);
}

function within(view, act) {
  pen.save();
  pen.beginPath();
  pen.rect(view.left, 0, view.width, view.height);
  pen.clip();
  act();
  pen.restore();
}

// The art, or the piece that is cut and drilled from it with the print lying off.
function art(own, view) {
  if (!state.cut) { own.paint(pen, view, state.page, state.shown); return; }
  const lines = facts().lines, moved = { ...view };
  moved.toScreen = (x, y) => view.toScreen(x + state.off[0], y + state.off[1]);
  moved.toPlace = (px, py) => { const [x, y] = view.toPlace(px, py); return [x - state.off[0], y - state.off[1]]; };
  pen.save();
  pen.beginPath();
  for (const shape of [...(lines.trim || []), ...(lines.hole || [])]) trace(pen, view, shape);
  pen.clip("evenodd");
  own.paint(pen, moved, state.page, state.shown);
  pen.restore();
}

function over(view) {
  if (!state.cut) {
    drawLines(pen, view, facts().lines, state.on);
    if (state.marks && !(state.beside === "turns" && state.turned)) drawMarks(pen, view, here(), state.chosen);
  }
  if (state.ruler) drawRuler(pen, view, state.ruler);
  if (state.keyed) drawCross(pen, view.left + view.width / 2, view.height / 2);
}

const here = () => state.now.facts.findings.filter((one) => one.page === facts().page);
const snap = (place) => snapped(place, 9 / state.scale, facts().lines);

function read() {
  const out = part("reading");
  if (!state.at || !state.now.tiles) return;
  const [x, y] = state.at, [dx, dy] = state.cut ? state.off : [0, 0];
  const own = state.beside === "turns" && state.turned && state.before ? state.before : state.now;
  const rows = own.read(state.page, x - dx, y - dy);
  if (rows === "outside") return;
  if (rows === null) { out.dataset.waiting = "yes"; return; }
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
  let total = 0, mean = 0;
  for (const one of rows) { line(one, "td"); total += one[1]; mean += one[2]; }
  line(["Together", total, mean], "td");
  const place = document.createElement("p"), plain = (value) => value.toFixed(1).replace(/^-(0\.0)$/, "$1");
  place.textContent = `x ${plain(x)}, y ${plain(y)} mm from the centre`;
  out.replaceChildren(table, place);
}

function tell() {
  part("length").textContent = state.ruler ? `Length: ${length(state.ruler).toFixed(2)} mm` : state.measuring ? "Ruler: drag over the art, or press Enter at one end and at the other." : "";
}

function fit() {
  const own = facts(), wide = own.width * own.pitch_mm, high = own.height * own.pitch_mm;
  canvas.parentElement.style.aspectRatio = wide / high; // as high as the art needs, within limits
  const view = viewAt(0);
  state.scale = Math.min(view.width / wide, view.height / high) * 0.97;
  state.x = own.left_mm + wide / 2;
  state.y = own.top_mm - high / 2;
  ask();
}

function zoom(by, px, py) {
  const view = viewAt(px ?? 0), [mx, my] = px === undefined ? middle() : [px, py];
  const [x, y] = view.toPlace(mx, my);
  state.scale = Math.max(0.2, Math.min(400, state.scale * by));
  state.x = x - (mx - view.left - view.width / 2) / state.scale;
  state.y = y + (my - view.height / 2) / state.scale;
  ask();
}

function choose(number) {
  state.chosen = number;
  for (const own of part("found").querySelectorAll("button")) own.setAttribute("aria-pressed", String(Number(own.dataset.number) === number));
}

function go(number) {
  choose(number);
  const one = state.now.facts.findings.find((found) => found.number === number);
  if (!one) return;
  const index = state.now.pages.findIndex((own) => own.page === one.page), place = one.places[0];
  if (index >= 0) state.page = index;
  if (place) {
    const [x0, y0, x1, y1] = place.box, view = viewAt(0);
    state.x = (x0 + x1) / 2;
    state.y = (y0 + y1) / 2;
    state.scale = Math.min(view.width, view.height) / (Math.max(x1 - x0, y1 - y0, 12) * 1.6);
    state.at = [state.x, state.y];
    read();
  }
  ask();
}

function step(by) {
  const all = state.now.facts.findings.filter((one) => one.places.length);
  const index = all.findIndex((one) => one.number === state.chosen);
  if (all.length) go(all[(index + by + all.length) % all.length].number);
}

// Controls. A button is pressed or not; a pick is one of several.
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

function pick(type, name, words, on, act) {
  const label = document.createElement("label"), box = document.createElement("input");
  label.className = "pick";
  box.type = type;
  box.name = name;
  box.checked = on;
  box.addEventListener("change", () => { act(box); ask(); });
  label.append(box, words);
  return [label, box];
}

function slide(words, least, most, by, value, act) {
  const label = document.createElement("label"), own = document.createElement("input"), said = document.createElement("span");
  Object.assign(own, { type: "range", min: least, max: most, step: by, value });
  own.addEventListener("input", () => { act(Number(own.value)); ask(); });
  said.textContent = words;
  label.append(said, own);
  return [label, own];
}

const buttons = {};
function tools() {
  const bar = part("tools");
  bar.replaceChildren(button("All of it (0)", fit), button("Larger (+)", () => zoom(1.5)), button("Smaller (-)", () => zoom(1 / 1.5)));
  buttons.ruler = button("Ruler (R)", (own) => { state.measuring = flip(own); state.ruler = null; state.live = false; tell(); }, false);
  bar.append(buttons.ruler);
  const there = new Set(state.now.pages.flatMap((own) => Object.keys(own.lines).filter((name) => own.lines[name].length)));
  for (const [name, style] of Object.entries(LINES)) if (there.has(name))
    bar.append(button(style.words, (own) => { if (flip(own)) state.on.add(name); else state.on.delete(name); }, state.on.has(name)));
  bar.append(button("Findings", (own) => { state.marks = flip(own); }, true));
  if (state.now.pages.length > 1) state.now.pages.forEach((own, index) => bar.append(button(own.face, () => { state.page = index; shown(); cutting(); state.now.ready(index); fit(); })));
}

function shown() {
  const known = state.now.known(state.page), out = part("shown"), own = state.shown;
  if (!known) { out.textContent = "Plates and ink are being made ready."; return; }
  own.plates = new Set([...own.plates].filter((layer) => layer < known.plates.length));
  const boxes = [], ways = {};
  const changed = () => {
    own.kind = Object.keys(ways).find((kind) => ways[kind].checked);
    own.plates = new Set(boxes.flatMap((box, index) => (box.checked ? [index] : [])));
    own.key = own.kind === "mix" ? `mix${[...own.plates]}${own.seen}${own.black}` : own.kind;
    plates.disabled = own.kind !== "mix";
    legend.hidden = own.kind !== "ink";
    ask();
  };
  const rows = [["look", "As it would print (L)"], ["mix", "Plates (1 to 9)"], ["ink", `Total ink, ${known.ink.limit} % allowed (T)`]].map(([kind, words]) => {
    const [label, box] = pick("radio", "shown", words, own.kind === kind, changed);
    ways[kind] = box;
    return label;
  });
  const plates = document.createElement("fieldset"), legend = document.createElement("ul");
  plates.className = "plates";
  plates.append(Object.assign(document.createElement("legend"), { textContent: "Plates" }));
  known.plates.forEach((plate, index) => {
    const [label, box] = pick("checkbox", "plate", `${plate.name} (${index + 1})`, own.plates.has(index), changed);
    box.after(swatch(plate.colour));
    boxes.push(box);
    plates.append(label);
  });
  if (known.not_in_inks) plates.append(pick("checkbox", "seen", "Paint that is on no plate", own.seen, (box) => { own.seen = box.checked; changed(); })[0]);
  else own.seen = false;
  plates.append(pick("checkbox", "black", "One plate alone in black", own.black, (box) => { own.black = box.checked; changed(); })[0]);
  legend.className = "steps";
  for (const one of known.ink.steps) { const line = document.createElement("li"); line.append(swatch(one.colour, one.hatched), one.words); legend.append(line); }
  out.replaceChildren(rows[0], rows[1], plates, rows[2], legend);
  state.way = (kind) => { ways[kind].checked = true; changed(); };
  state.switch = (index) => {
    if (!boxes[index]) return;
    if (!ways.mix.checked) { ways.mix.checked = true; boxes.forEach((box) => { box.checked = false; }); }
    boxes[index].checked = !boxes[index].checked;
    changed();
  };
  changed();
}

function swatch(colour, hatched = false) {
  const own = document.createElement("canvas");
  own.className = "swatch";
  own.width = own.height = 14;
  const brush = own.getContext("2d");
  brush.fillStyle = colour;
  brush.fillRect(0, 0, 14, 14);
  brush.strokeStyle = "#fff";
  for (let at = -14; hatched && at < 14; at += 5) { brush.beginPath(); brush.moveTo(at, 14); brush.lineTo(at + 14, 0); brush.stroke(); }
  return own;
}

function cutting() {
  const out = part("cut"), most = facts().off_mm;
  const said = document.createElement("p"), shift = document.createElement("div");
  said.className = "soft";
  const tellOff = () => {
    const far = Math.hypot(...state.off);
    said.textContent = far < 0.005 ? `Print in place. It may lie off by ${most} mm any way: drag it, or use the two sliders.` : `Print off by ${far.toFixed(2)} mm of ${most} mm.`;
  };
  const [label, box] = pick("checkbox", "cut", "Cut and drilled (C)", state.cut, (own) => { state.cut = own.checked; shift.hidden = !own.checked; });
  const [across, right] = slide("To the right", -most, most, 0.1, 0, (value) => move(value, state.off[1]));
  const [along, up] = slide("Upwards", -most, most, 0.1, 0, (value) => move(state.off[0], value));
  function move(x, y) {
    const far = Math.hypot(x, y), by = far > most && far ? most / far : 1;
    state.off = [x * by, y * by];
    [right.value, up.value] = state.off;
    tellOff();
    ask();
  }
  state.move = move;
  shift.append(said, across, along, button("In place", () => move(0, 0)));
  shift.hidden = !state.cut;
  out.replaceChildren(label, shift);
  state.cutKey = () => box.click();
  move(0, 0);
}

let timer = null;
function earlier() {
  const rounds = state.now.facts.earlier, out = part("earlier");
  out.closest("section").hidden = !rounds.length;
  if (!rounds.length) return;
  const choice = document.createElement("select"), ways = [];
  for (const one of rounds) choice.append(new Option(`Round ${one.round}`, one.facts));
  choice.addEventListener("change", () => { state.before = null; bring(); });
  const label = document.createElement("label"), more = document.createElement("div");
  label.append("Earlier round", choice);
  const bring = async () => {
    if (state.before || !state.beside) return;
    const found = await (await fetch(choice.value, { credentials: "same-origin" })).json();
    if (found.ready) { state.before = new Art(found, arrived, arrived); if (state.beside === "beside") fit(); }
    if (!found.ready || !found.tiles) setTimeout(() => { state.before = null; bring(); }, 1500);
    ask();
  };
  const swap = button("Change over (B)", () => { state.turned = !state.turned; });
  const [edge] = slide("Edge between them", 0, 100, 1, 50, (value) => { state.edge = value / 100; });
  const take = (way) => {
    const was = state.beside === "beside";
    state.beside = way;
    state.turned = false;
    clearInterval(timer);
    if (way === "turns" && !still.matches) timer = setInterval(() => { state.turned = !state.turned; ask(); }, TURN);
    swap.hidden = way !== "turns";
    edge.hidden = way !== "edge";
    bring();
    if (was !== (way === "beside")) fit();
    ask();
  };
  for (const [way, words] of [["", "Not shown"], ["beside", "Beside this one"], ["turns", "In turns with this one"], ["edge", "Up to an edge that moves"]]) {
    const [own, box] = pick("radio", "earlier", words, state.beside === way, () => take(way));
    ways.push(box);
    more.append(own);
  }
  state.earlierKey = () => { const at = ways.findIndex((box) => box.checked); ways[(at + 1) % ways.length].click(); };
  state.swapKey = () => swap.click();
  out.replaceChildren(label, more, swap, edge);
  take(state.beside);
}

function found() {
  const list = part("found");
  list.replaceChildren(...state.now.facts.findings.map((one) => {
    const own = button(`${one.number}. ${one.severity}: ${one.message}`, () => go(one.number), false);
    own.dataset.number = one.number;
    return own;
  }));
  if (!state.now.facts.findings.length) list.textContent = "Nothing.";
}

function keys(event) {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const move = event.shiftKey ? 0.1 : 40 / state.scale;
  const acts = {
    ArrowLeft: () => { state.x -= move; }, ArrowRight: () => { state.x += move; },
    ArrowUp: () => { state.y += move; }, ArrowDown: () => { state.y -= move; },
    "+": () => zoom(1.5), "=": () => zoom(1.5), "-": () => zoom(1 / 1.5), 0: fit,
    n: () => step(1), p: () => step(-1), r: () => buttons.ruler.click(), l: () => state.way?.("look"), t: () => state.way?.("ink"),
    c: () => state.cutKey(), e: () => state.earlierKey?.(), b: () => state.swapKey?.(), Enter: mark,
  };
  const act = /^[1-9]$/.test(event.key) ? () => state.switch?.(Number(event.key) - 1) : acts[event.key];
  if (!act) return;
  event.preventDefault();
  act();
  if (event.key.startsWith("Arrow")) {
    state.keyed = true;
    state.at = [state.x, state.y];
    if (state.measuring && state.live) { state.ruler[1] = snap(state.at); tell(); }
    read();
  }
  ask();
}

// Enter sets one end of the ruler at the middle, then the other.
function mark() {
  if (!state.measuring) return;
  state.keyed = true;
  const end = snap([state.x, state.y]);
  if (state.live) { state.ruler[1] = end; state.live = false; } else { state.ruler = [end, end]; state.live = true; }
  tell();
}

const pointers = new Map();
const spot = (event) => { const box = canvas.getBoundingClientRect(); return [event.clientX - box.left, event.clientY - box.top]; };
const placeAt = (at) => viewAt(at[0]).toPlace(...at);
canvas.addEventListener("pointerdown", (event) => {
  canvas.setPointerCapture(event.pointerId);
  pointers.set(event.pointerId, spot(event));
  if (state.measuring && pointers.size === 1) { const from = snap(placeAt(spot(event))); state.ruler = [from, from]; state.live = false; tell(); }
});
canvas.addEventListener("pointermove", (event) => {
  const now = spot(event), before = pointers.get(event.pointerId);
  state.keyed = false;
  if (before && pointers.size === 2) {
    const other = [...pointers].find(([id]) => id !== event.pointerId)[1];
    zoom(Math.hypot(now[0] - other[0], now[1] - other[1]) / (Math.hypot(before[0] - other[0], before[1] - other[1]) || 1), ...other);
  } else if (before && state.measuring) { state.ruler[1] = snap(placeAt(now)); tell(); }
  else if (before && state.cut) state.move(state.off[0] + (now[0] - before[0]) / state.scale, state.off[1] - (now[1] - before[1]) / state.scale);
  else if (before) { state.x -= (now[0] - before[0]) / state.scale; state.y += (now[1] - before[1]) / state.scale; }
  if (before) pointers.set(event.pointerId, now);
  state.at = placeAt(now);
  read();
  ask();
});
for (const name of ["pointerup", "pointercancel"]) canvas.addEventListener(name, (event) => {
  const was = pointers.get(event.pointerId);
  pointers.delete(event.pointerId);
  if (name !== "pointerup" || !was || state.measuring || state.cut) return;
  const [x, y] = placeAt(was), near = 8 / state.scale;
  const hit = here().find((one) => one.places.some((p) => x > p.box[0] - near && x < p.box[2] + near && y > p.box[1] - near && y < p.box[3] + near && (p.box[2] - p.box[0]) * state.scale < 300));
  if (hit && hit.number !== state.chosen) { choose(hit.number); ask(); }
});
canvas.addEventListener("wheel", (event) => { event.preventDefault(); zoom(Math.exp(-event.deltaY / 400), ...spot(event)); }, { passive: false });
canvas.addEventListener("keydown", keys);
addEventListener("resize", ask);

// A tile has come: what waits for it is drawn, and read.
function arrived() {
  if (part("reading").dataset.waiting) read();
  ask();
}

let loading = false;
async function load() {
  if (loading) return;
  loading = true;
  try { take(await (await fetch(root.dataset.facts, { credentials: "same-origin" })).json()); } catch { setTimeout(load, 3000); }
  loading = false;
}

function take(got) {
  if (got.ready) {
    const first = state.now === null, had = !first && state.now.tiles;
    if (first) state.now = new Art(got, arrived, load);
    else state.now.take(got);
    if (first) { document.querySelector("[data-coming]")?.remove(); root.hidden = false; tools(); found(); fit(); cutting(); earlier(); }
    if (first || !had) shown();
    state.now.ready(state.page);
    ask();
  }
  const done = got.ready && got.tiles;
  part("told").textContent = done ? "" : "Plates and finer pictures are being made ready.";
  if (!done) setTimeout(load, 1500);
  root.dataset.ready = done ? "yes" : "no";
}
take(JSON.parse(root.dataset.known));
