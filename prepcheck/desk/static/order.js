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
// What is being looked at is asked for again until it is there.
const again = document.querySelector("[data-again]");
if (again) {
  const look = async () => {
    const text = await (await fetch(again.dataset.again, { credentials: "same-origin" })).text();
    if (text.includes("data-again")) setTimeout(look, 2000);
    else location.reload();
  };
  setTimeout(look, 2000);
}
