// Files dropped anywhere on the page go into its form, and are sent with progress told.
const form = document.querySelector("form[data-drop]");
if (form) {
  const files = form.querySelector("input[type=file]");
  const told = form.querySelector("[data-progress]");
  const say = (words) => { told.textContent = words; };
  const mb = (bytes) => (bytes / 1e6).toFixed(bytes < 1e8 ? 1 : 0);
  let depth = 0;
  const light = (on) => document.body.classList.toggle("over", on);
  const carries = (event) => event.dataTransfer && [...event.dataTransfer.types].includes("Files");
  addEventListener("dragenter", (event) => { if (carries(event)) { depth += 1; light(true); } });
  addEventListener("dragleave", (event) => { if (carries(event)) { depth -= 1; light(depth > 0); } });
  addEventListener("dragover", (event) => { if (carries(event)) event.preventDefault(); });
  addEventListener("drop", (event) => {
    if (!carries(event)) return;
    event.preventDefault();
    depth = 0;
    light(false);
    files.files = event.dataTransfer.files;
    form.scrollIntoView();
    say(`${files.files.length} chosen; press “Take in”.`);
    form.querySelector("button").focus();
  });
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const request = new XMLHttpRequest();
    const bar = form.querySelector("progress") || told.after(document.createElement("progress")) || form.querySelector("progress");
    const button = form.querySelector("button");
    button.disabled = true;
    request.upload.addEventListener("progress", (step) => {
      if (!step.lengthComputable) return;
      bar.max = step.total;
      bar.value = step.loaded;
      say(`${mb(step.loaded)} of ${mb(step.total)} MB sent`);
    });
    request.addEventListener("load", () => {
      if (request.status < 400) { location.assign(request.responseURL); return; }
      const page = new DOMParser().parseFromString(request.responseText, "text/html");
      const lines = [...page.querySelectorAll("main p")].map((p) => p.textContent).filter((t) => t !== "To the board");
      say(lines.join(" ") || `It was not taken in (${request.status}).`);
      button.disabled = false;
    });
    request.addEventListener("error", () => { say("The connection broke; nothing was recorded. Try again."); button.disabled = false; });
    request.open("POST", form.action);
    request.send(new FormData(form));
    say("Sending");
  });
}
