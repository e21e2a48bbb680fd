// What lies over the art: lines of the piece, places of findings, the ruler.
export const LINES = {
  trim: { words: "Trim", colour: "#12294a", dash: [] },
  bleed: { words: "Bleed", colour: "#0d7377", dash: [8, 4] },
  safe: { words: "Safe", colour: "#0d7377", dash: [2, 3] },
  hole: { words: "Hole", colour: "#12294a", dash: [] },
  ring: { words: "Hole ring", colour: "#0d7377", dash: [2, 5] },
  folds: { words: "Folds", colour: "#6b3f86", dash: [10, 3, 2, 3] },
  panels: { words: "Panels", colour: "#6b3f86", dash: [1, 4] },
};
const INK = { stop: "#a3262a", query: "#8a5200", note: "#4a6076" };

export function trace(pen, view, shape) {
  if (typeof shape[0] === "number" && shape.length === 3) {
    const [x, y] = view.toScreen(shape[0], shape[1]);
    pen.moveTo(x + shape[2] * view.scale, y);
    pen.arc(x, y, shape[2] * view.scale, 0, 2 * Math.PI);
  } else if (typeof shape[0] === "number") {
    pen.moveTo(...view.toScreen(shape[0], shape[1]));
    pen.lineTo(...view.toScreen(shape[2], shape[3]));
  } else {
    shape.forEach((point, index) => pen[index ? "lineTo" : "moveTo"](...view.toScreen(point[0], point[1])));
    pen.closePath();
  }
}

function stroked(pen, colour, width, dash) {
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

function written(pen, words, x, y, colour = "#fff", ground = "#17181a") {
  pen.font = "600 14px sans-serif";
  const wide = pen.measureText(words).width + 12;
  pen.fillStyle = ground;
  pen.fillRect(x - wide / 2, y - 10, wide, 20);
  pen.fillStyle = colour;
  pen.textAlign = "center";
  pen.textBaseline = "middle";
  pen.fillText(words, x, y);
}

export function drawLines(pen, view, lines, on) {
  for (const [name, style] of Object.entries(LINES)) {
    if (!on.has(name)) continue;
    for (const shape of lines[name] || []) {
      const panel = typeof shape[0] === "string";
      pen.beginPath();
      if (panel) {
        const [, x0, y0, x1, y1] = shape;
        trace(pen, view, [[x0, y0], [x1, y0], [x1, y1], [x0, y1]]);
      } else trace(pen, view, shape);
      stroked(pen, style.colour, 1.4, style.dash);
      if (panel) written(pen, shape[0], ...view.toScreen((shape[1] + shape[3]) / 2, (shape[2] + shape[4]) / 2));
    }
  }
}

export function drawMarks(pen, view, findings, chosen) {
  for (const one of findings) {
    const lit = chosen === one.number;
    one.places.forEach((place, index) => {
      const [x0, y0] = view.toScreen(place.box[0], place.box[3]), [x1, y1] = view.toScreen(place.box[2], place.box[1]);
      pen.beginPath();
      if (place.path.length) place.path.forEach((point, at) => pen[at ? "lineTo" : "moveTo"](...view.toScreen(...point)));
      else {
        const grow = Math.max(0, 7 - (x1 - x0) / 2), rise = Math.max(0, 7 - (y1 - y0) / 2);
        pen.rect(x0 - grow, y0 - rise, x1 - x0 + 2 * grow, y1 - y0 + 2 * rise);
      }
      stroked(pen, INK[one.severity], lit ? 4 : 2, one.severity === "query" ? [6, 3] : []);
      if (index && !lit) return;
      const middle = place.path.length ? view.toScreen(...place.path[place.path.length >> 1]) : [x1, y0];
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

export const length = ([from, to]) => Math.hypot(to[0] - from[0], to[1] - from[1]);

export function drawRuler(pen, view, ruler) {
  const a = view.toScreen(...ruler[0]), b = view.toScreen(...ruler[1]);
  pen.beginPath();
  pen.moveTo(...a);
  pen.lineTo(...b);
  stroked(pen, "#0d7377", 2, []);
  written(pen, `${length(ruler).toFixed(2)} mm`, (a[0] + b[0]) / 2, (a[1] + b[1]) / 2 - 16);
}

export function drawCross(pen, x, y) {
  pen.beginPath();
  pen.moveTo(x - 9, y);
  pen.lineTo(x + 9, y);
  pen.moveTo(x, y - 9);
  pen.lineTo(x, y + 9);
  stroked(pen, "#12294a", 1.4, []);
}

// The ruler takes the centre, the trim and the hole where it comes near to them.
export function snapped([x, y], near, lines) {
  if (Math.hypot(x, y) < near) return [0, 0];
  let best = null, least = near;
  const offer = (px, py) => { const far = Math.hypot(px - x, py - y); if (far < least) { least = far; best = [px, py]; } };
  for (const shape of [...(lines.trim || []), ...(lines.hole || [])]) {
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
