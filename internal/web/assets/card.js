// Keeps each tick and reading of the card at once. What could not be kept says so, and is tried again.
const form = document.querySelector("form.card-form");
const said = document.getElementById("kept");
const waiting = new Map();
let busy = false;

const say = (words, wrong) => {
  said.textContent = words;
  said.classList.toggle("fails", Boolean(wrong));
};

async function send() {
  if (busy || waiting.size === 0) return;
  busy = true;
  const now = new Map(waiting);
  const body = new URLSearchParams({ panel: form.elements.panel.value, piece: form.elements.piece.value, quiet: "yes" });
  for (const [name, value] of now) {
    if (value === "") body.append("clear", name);
    else body.append(name, value);
  }
  try {
    const answer = await fetch(form.action, { method: "POST", body });
    if (!answer.ok) throw new Error(answer.status);
    for (const [name, value] of now) if (waiting.get(name) === value) waiting.delete(name);
    say("✓ kept");
  } catch {
    say("✗ not kept yet: no answer from the bench. It is tried again.", true);
    await new Promise((r) => setTimeout(r, 3000));
  }
  busy = false;
  send();
}

if (form) {
  form.addEventListener("change", (e) => {
    const box = e.target;
    if (!box.name) return;
    waiting.set(box.name, box.type === "checkbox" ? (box.checked ? "yes" : "") : box.value);
    say("keeping…");
    send();
  });
  addEventListener("beforeunload", (e) => {
    if (waiting.size) e.preventDefault();
  });
  form.addEventListener("submit", () => waiting.clear());
}
