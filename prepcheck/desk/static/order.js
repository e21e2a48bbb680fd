// On a narrow screen parts are shown closed, but for the one that was asked for.
function reveal() {
  const asked = location.hash.length > 1 && document.getElementById(location.hash.slice(1));
  for (let own = asked; own; own = own.parentElement?.closest("details")) if (own.tagName === "DETAILS") own.open = true;
  if (asked) asked.scrollIntoView();
}
if (matchMedia("(max-width: 40rem)").matches) for (const part of document.querySelectorAll("details.part")) part.open = false;
addEventListener("hashchange", reveal);
reveal();
// A finding and its places on the picture light up together; a letter can be copied.
for (const finding of document.querySelectorAll(".finding")) {
  const number = finding.id.slice(1);
  const part = finding.closest(".part");
  const places = part ? part.querySelectorAll(`[id^="p${number}-"]`) : [];
  const light = (on) => places.forEach((place) => place.classList.toggle("lit", on));
  finding.addEventListener("pointerenter", () => light(true));
  finding.addEventListener("pointerleave", () => light(false));
  finding.addEventListener("focusin", () => light(true));
  finding.addEventListener("focusout", () => light(false));
}
for (const button of document.querySelectorAll("[data-copy]")) {
  button.hidden = !navigator.clipboard;
  button.addEventListener("click", async () => {
    await navigator.clipboard.writeText(document.getElementById(button.dataset.copy).value);
    button.textContent = "Copied";
  });
}
for (const field of document.querySelectorAll(".copy")) field.addEventListener("focus", () => field.select());
// A file is read into the field it is for, to be looked over before it is sent.
for (const chosen of document.querySelectorAll("[data-into]")) {
  chosen.closest("[data-file]").hidden = false;
  chosen.addEventListener("change", async () => { if (chosen.files[0]) document.getElementById(chosen.dataset.into).value = await chosen.files[0].text(); });
}
// What is being looked at is asked for again until it is there. Where somebody has begun to write,
// the page stays as it is and says so.
const again = document.querySelector("[data-again]");
if (again) {
  let begun = false;
  addEventListener("input", () => { begun = true; });
  const look = async () => {
    let ready = false;
    try { ready = !document.hidden && !(await (await fetch(again.dataset.again, { credentials: "same-origin" })).text()).includes("data-again"); } catch { /* asked again below */ }
    if (!ready) setTimeout(look, 3000);
    else if (begun) again.replaceChildren("There is more to see now. ", Object.assign(document.createElement("a"), { href: again.dataset.again, textContent: "Show it" }), "; what you have begun to write would be lost.");
    else if (location.pathname === again.dataset.again) location.reload();
    else location.assign(again.dataset.again);
  };
  setTimeout(look, 3000);
}
