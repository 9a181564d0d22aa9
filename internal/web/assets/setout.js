// Set-out: a station is taken up, slid along its seat line and let go. While it moves, the server says what each place would do;
// what counts is the plan that is made when it is let go. Without this script the page's forms do the same.
const scene = document.querySelector("#scene");
const live = document.querySelector("#live");
const form = document.querySelector("#move");

if (scene && live && form) {
  const rev = form.elements.rev.value;
  let held = null; // what is being moved: the station's mark, its places, where it is
  let asked = null; // the place that an answer is awaited for
  let want = null; // the place to ask for next
  const gone = new AbortController(); // a station was let go: this page has had its change
  window.benchTimings = []; // ms from a move to its figures on the screen

  const marks = [...scene.querySelectorAll("[data-station]")];
  for (const mark of marks) {
    mark.addEventListener("pointerdown", (e) => {
      if (e.button) return;
      e.preventDefault();
      mark.focus();
      mark.setPointerCapture(e.pointerId);
      take(mark, true);
    });
    mark.addEventListener("pointermove", (e) => {
      if (held?.mark !== mark || !held.dragging || held.dropped) return;
      if (held.places) to(nearest(spot(e)));
      else held.spot = spot(e);
    });
    mark.addEventListener("pointerup", () => held?.mark === mark && held.dragging && drop());
    mark.addEventListener("pointercancel", back);
    mark.addEventListener("keydown", keys);
    mark.addEventListener("focus", () => choose(mark));
  }

  // However small the picture, a finger can hit a station and an eye can read its number. Sizes are px on the screen.
  const LEAST = { touch: 23, ring: 6, letter: 13 };
  const sizes = new Map();
  const size = (e, name) => sizes.get(e) ?? sizes.set(e, Number(e.getAttribute(name) ?? e.parentElement.getAttribute(name))).get(e);
  function fit() {
    const scale = scene.getScreenCTM()?.a;
    if (!scale) return;
    for (const kind of ["touch", "ring"])
      for (const c of scene.querySelectorAll("." + kind)) c.setAttribute("r", Math.max(size(c, "r"), LEAST[kind] / scale));
    for (const t of scene.querySelectorAll("text")) {
      const letter = Math.max(size(t, "font-size"), LEAST.letter / scale);
      t.setAttribute("font-size", letter);
      if (!t.parentElement.matches(".station")) continue;
      const x = Number(t.getAttribute("x")), y = Number(t.getAttribute("y")), far = Math.hypot(x, y) || 1;
      const reach = (letter + Number(t.parentElement.querySelector(".ring").getAttribute("r"))) / far;
      t.setAttribute("x", x * reach);
      t.setAttribute("y", y * reach);
    }
  }
  new ResizeObserver(fit).observe(scene);
  fit();

  // spot is a pointer's place in the picture's own millimetres.
  function spot(e) {
    const p = new DOMPoint(e.clientX, e.clientY).matrixTransform(scene.getScreenCTM().inverse());
    return [p.x, p.y];
  }

  function nearest([x, y]) {
    let best = 0, least = Infinity;
    held.places.forEach(([px, py], k) => {
      const d = (px - x) ** 2 + (py - y) ** 2;
      if (d < least) [best, least] = [k, d];
    });
    return best;
  }

  function choose(mark) {
    for (const f of document.querySelectorAll("form[data-for-station]")) f.elements.station.value = mark.dataset.station;
    for (const row of document.querySelectorAll("tr[data-row]")) row.classList.toggle("chosen", row.dataset.row === mark.dataset.station);
    const name = document.querySelector("#chosen");
    if (name) name.textContent = mark.dataset.name;
  }

  async function take(mark, dragging) {
    if (held?.dropped) return false;
    if (held?.mark === mark && held.places) { held.dragging = dragging; return true; }
    back();
    held = { mark, dragging, home: mark.getAttribute("transform") };
    say("Taking station " + mark.dataset.name + " up…");
    const body = new URLSearchParams({ rev, station: mark.dataset.station });
    let answer = null, data = null;
    try {
      answer = await fetch("slide", { method: "POST", body });
      data = await answer.json();
    } catch {} // said below
    if (held?.mark !== mark) return false;
    if (!answer?.ok || !data?.places) {
      say(answer ? data?.text ?? "This station cannot be slid: use the form below." : "The bench does not answer. Is it still running?");
      held = null;
      return false;
    }
    Object.assign(held, data, { k: data.at, start: data.at });
    mark.classList.add("held");
    say("Station " + mark.dataset.name + ": drag it, or press the arrow keys. Enter lets it go there, Escape puts it back.");
    if (held.spot) to(nearest(held.spot)); // where a quick finger has gone meanwhile
    if (held.released) drop();
    return true;
  }

  async function keys(e) {
    const step = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 5, PageDown: -5 }[e.key];
    const mark = e.currentTarget;
    if (step) {
      e.preventDefault();
      if (await take(mark, false)) to(held.k + step);
    } else if (e.key === "Enter" && held?.mark === mark && held.places) {
      e.preventDefault();
      drop();
    } else if (e.key === "Escape") {
      back();
    }
  }

  function to(k) {
    if (held.dropped) return;
    k = Math.max(0, Math.min(held.places.length - 1, k));
    if (k === held.k && want === null) return;
    held.k = k;
    const [x, y] = held.places[k];
    held.mark.setAttribute("transform", `translate(${x} ${y})`);
    want = { k, since: performance.now() };
    if (!asked) ask();
  }

  async function ask() {
    while (want && held) {
      asked = want;
      want = null;
      const mark = held.mark;
      const query = new URLSearchParams({ rev, station: mark.dataset.station, k: asked.k });
      try {
        const answer = await fetch("slide?" + query, { signal: gone.signal });
        const data = await answer.json();
        if (held?.mark === mark) show(answer.ok ? data : { loose: data.text ?? "No answer." });
      } catch {
        if (gone.signal.aborted) break;
        say("The bench does not answer. Is it still running?");
      }
      const { since } = asked;
      requestAnimationFrame(() => setTimeout(() => window.benchTimings.push(performance.now() - since))); // painted by then
    }
    asked = null;
  }

  function show(a) {
    const out = live.querySelectorAll("[data-live]");
    const set = (name, text) => out.forEach((o) => { if (o.dataset.live === name) o.textContent = text; });
    if (a.loose) {
      set("gap", "–");
      set("state", "✗ the panel comes off");
      set("where", a.loose);
      return;
    }
    set("gap", a.gap);
    set("case", a.gap_case);
    set("where", a.where);
    const over = a.gap_mm > held.gap_limit_mm;
    set("state", (over ? "✗ wider than " : "✓ within ") + held.gap_limit + (held.valid ? "" : " (? by the flat model, beyond its range)"));
    a.wire.forEach((w, i) => {
      const row = document.querySelector(`tr[data-row="${i}"]`);
      if (!row) return;
      row.querySelector("[data-wire]").textContent = "≈ " + w;
      const bar = row.querySelector("meter");
      if (bar && a.share[i] >= 0) bar.value = a.share[i];
    });
    plot(a.line);
  }

  // plot draws the greatest gap along the seat line as it would be.
  function plot(line) {
    const svg = document.querySelector("#live-gap");
    if (!svg || !line?.length) return;
    const high = Math.max(held.gap_limit_mm * 1.2, ...line), low = Math.min(0, ...line);
    const length = held.s.at(-1) || 1;
    const x = (s) => (300 * s) / length, y = (g) => 76 - (70 * (g - low)) / (high - low || 1);
    svg.querySelector("#gap-curve").setAttribute("d", line.map((g, i) => `${i ? "L" : "M"}${x(held.s[i]).toFixed(1)} ${y(g).toFixed(1)}`).join(""));
    const limit = svg.querySelector("#gap-limit");
    limit.setAttribute("y1", y(held.gap_limit_mm));
    limit.setAttribute("y2", y(held.gap_limit_mm));
    const at = svg.querySelector("#gap-here");
    at.setAttribute("x1", x(held.s[held.k]));
    at.setAttribute("x2", x(held.s[held.k]));
    svg.classList.remove("empty");
  }

  function drop() {
    if (!held) return;
    if (!held.places) { held.released = true; return; }
    if (held.dropped) return; // sent once
    if (held.k === held.start) { back(); return; }
    held.dropped = true;
    want = null;
    gone.abort(); // what is asked now would be answered out of the revision after this one
    form.elements.station.value = held.mark.dataset.station;
    form.elements.k.value = held.k;
    say("Planning with station " + held.mark.dataset.name + " there…");
    form.requestSubmit();
  }

  function back() {
    if (!held || held.dropped) return;
    held.mark.setAttribute("transform", held.home);
    held.mark.classList.remove("held");
    held = want = null;
    say("");
  }

  function say(text) {
    const o = document.querySelector("#said");
    if (o) o.textContent = text;
  }
}

// A plan that is not ready yet: the page comes again when it is.
const waiting = document.querySelector("[data-waiting]");
if (waiting) setTimeout(() => location.reload(), 700);

// A page that comes back out of the browser's memory has had its change already.
addEventListener("pageshow", (e) => e.persisted && location.reload());
