// The survey as it is typed: faults beside their fields, and the panel drawn anew. Nothing is saved before Save.
const form = document.getElementById("survey");
const drawing = document.querySelector("[data-drawing]");
const from = document.querySelector("[data-from]");
const state = document.querySelector("[data-state]");
const bad = document.getElementById("bad");
const good = document.getElementById("good");
const unsaved = document.querySelector("[data-unsaved]");
const PAUSE = 300; // ms without a key before the form is looked at

let timer = 0;
let asked = null;
let dirty = false;

function faultLine(f) {
  const p = document.createElement("p");
  const mark = document.createElement("b");
  mark.textContent = "✗";
  mark.setAttribute("aria-hidden", "true");
  p.append(mark, " " + f.text);
  if (f.hint) {
    const hint = document.createElement("span");
    hint.className = "hint";
    hint.textContent = " " + f.hint;
    p.append(hint);
  }
  return p;
}

function show(answer) {
  for (const box of document.querySelectorAll("[data-faults]")) box.replaceChildren();
  const list = bad.querySelector("[data-bad]");
  list.replaceChildren();
  for (const f of answer.faults) {
    const box = document.getElementById(f.id + "-faults");
    if (box) box.append(faultLine(f));
    const item = document.createElement("li");
    const link = document.createElement("a");
    link.href = "#" + f.id;
    link.textContent = f.label;
    item.append(link, " ", ...faultLine(f).childNodes);
    item.querySelector("b").remove();
    list.append(item);
  }
  bad.querySelector("[data-count]").textContent = answer.faults.length === 1 ? "1 fault" : answer.faults.length + " faults";
  bad.hidden = answer.faults.length === 0;
  good.hidden = !bad.hidden;
  drawing.innerHTML = answer.drawing; // made by the bench out of the panel, all text in it escaped
  from.textContent = answer.from;
}

async function check() {
  if (asked) asked.abort();
  const mine = new AbortController();
  asked = mine;
  state.textContent = "looking…";
  try {
    const reply = await fetch(form.dataset.check, { method: "POST", body: new URLSearchParams(new FormData(form)), signal: mine.signal });
    if (!reply.ok) throw new Error(String(reply.status));
    show(await reply.json());
    state.textContent = "";
  } catch (e) {
    if (e.name !== "AbortError") state.textContent = "The bench did not answer; Save still works when it is there again.";
  }
}

form.addEventListener("input", () => {
  dirty = true;
  unsaved.textContent = "Not saved yet.";
  clearTimeout(timer);
  timer = setTimeout(check, PAUSE);
});
form.addEventListener("submit", () => { dirty = false; });
window.addEventListener("beforeunload", (e) => { if (dirty) e.preventDefault(); });
