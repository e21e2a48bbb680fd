// Makes tiles beside the page, which stays quick meanwhile: the plates are fetched, kept, and mixed
// as `mixing.js` has it. Each message is the list of all that is wanted now; an older one is forgotten.
import { fill, inkOf } from "./mixing.js";
const KEPT = 240;
const loaded = new Map(), turn = new MessageChannel();
let wants = [], busy = false, now = "";

addEventListener("message", ({ data }) => {
  wants = data.filter((want) => want.key !== now);
  if (!busy) work();
});

async function work() {
  busy = true;
  while (wants.length) {
    const want = wants.shift();
    now = want.key;
    try {
      const made = await tile(want);
      postMessage({ key: want.key, made }, made ? [made] : []);
    } catch { postMessage({ key: want.key, lost: true }); }
    now = "";
    await new Promise((on) => { turn.port2.onmessage = on; turn.port1.postMessage(0); }); // a newer list may have come
  }
  busy = false;
}

async function tile(want) {
  const names = want.layers.map((layer) => `${want.base}${want.stem}-${layer}-${want.place}.png`);
  const all = [...names.map((name) => kept(name, inkOf)), kept(`${want.base}${want.stem}-mix.png`, (pixels) => pixels.data)];
  if (want.seen) all.push(kept(`${want.base}${want.stem}-seen-${want.place}.jpg`, (pixels) => pixels));
  const found = await Promise.all(all);
  if (want.kind === "fetch") return null;
  const amounts = found.slice(0, names.length), mix = found[names.length], seen = want.seen ? found[names.length + 1] : null;
  const own = new OffscreenCanvas(want.width, want.height), brush = own.getContext("2d", { willReadFrequently: true });
  const image = brush.createImageData(want.width, want.height);
  fill(image, want, amounts, mix, seen);
  brush.putImageData(image, 0, 0);
  return own.transferToImageBitmap();
}

// A picture as it is used, fetched once; what was not used for longest goes.
function kept(name, use) {
  const had = loaded.get(name);
  loaded.delete(name);
  const found = had || pixels(name).then(use);
  loaded.set(name, found);
  found.catch(() => loaded.delete(name));
  if (loaded.size > KEPT) loaded.delete(loaded.keys().next().value);
  return found;
}

async function pixels(name) {
  const answer = await fetch(name, { credentials: "same-origin" });
  if (!answer.ok) throw new Error(name);
  const picture = await createImageBitmap(await answer.blob(), { colorSpaceConversion: "none", premultiplyAlpha: "none" });
  const own = new OffscreenCanvas(picture.width, picture.height), brush = own.getContext("2d", { willReadFrequently: true });
  brush.drawImage(picture, 0, 0);
  picture.close();
  return brush.getImageData(0, 0, own.width, own.height);
}
