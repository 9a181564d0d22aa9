// Keeps each tick and reading of the card at once. What could not be kept says so, and is tried again.
const form = document.querySelector("form.card-form");
const said = document.getElementById("kept");
const waiting = new Map();
const was = form ? JSON.parse(form.elements.was.value) : {}; // what the bench said last of each box
let busy = false;

const say = (words, wrong) => {
  said.textContent = words;
  said.classList.toggle("fails", Boolean(wrong));
};

// remark says beside a box why it was not kept, or takes that away.
function remark(name, words) {
  const box = form.elements[name];
  const old = box.parentNode.querySelector(".remark");
  if (old) old.remove();
  if (!words) return;
  const said = document.createElement("strong");
  said.className = "remark";
  said.textContent = "✗ " + words;
  box.after(" ", said);
}

async function send() {
  if (busy || waiting.size === 0) return;
  busy = true;
  const now = new Map(waiting);
  const body = new URLSearchParams({ panel: form.elements.panel.value, piece: form.elements.piece.value, rev: form.elements.rev.value, quiet: "yes" });
  body.append("was", JSON.stringify(Object.fromEntries([...now.keys()].map((name) => [name, was[name] ?? ""]))));
  for (const [name, value] of now) {
    if (value === "") body.append("clear", name);
    else body.append(name, value);
  }
  try {
    const answer = await fetch(form.action, { method: "POST", body });
    const told = answer.status === 409 ? await answer.json() : null;
    if (!answer.ok && !told) throw new Error(answer.status);
    for (const [name, value] of now) {
      if (waiting.get(name) === value) waiting.delete(name);
      const wrong = told?.wrong[name];
      was[name] = wrong ? (told.now[name] ?? "") : value;
      remark(name, wrong);
    }
    form.elements.was.value = JSON.stringify(was);
    if (told) say("✗ not kept: " + Object.entries(told.wrong).map(([name, words]) => `${name}: ${words}`).join("; "), true);
    else say("✓ kept");
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
