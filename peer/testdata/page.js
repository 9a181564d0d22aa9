// Looks at plan.html from inside the browser. Everything that is wrong becomes one sentence.
(() => {
  const found = [];
  const say = (...words) => found.push(words.join(" "));
  const name = (e) => "<" + e.tagName.toLowerCase() + (e.id ? "#" + e.id : "") + "> " + JSON.stringify((e.textContent || "").trim().slice(0, 40));

  // Colours as [r, g, b, alpha], 0 to 255 and 0 to 1.
  const colour = (s) => {
    const m = /^rgba?\(([^)]*)\)$/.exec(s);
    if (!m) throw new Error("colour " + s);
    const v = m[1].split(/[,/ ]+/).map(Number);
    return v.length === 4 ? v : [...v, 1];
  };
  const over = (top, under) => [0, 1, 2].map((i) => top[i] * top[3] + under[i] * (1 - top[3])).concat(1);
  // WCAG 2.1, relative luminance and contrast ratio.
  const luminance = (c) => {
    const [r, g, b] = c.map((v) => v / 255).map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4));
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const ratio = (a, b) => {
    const [x, y] = [luminance(a), luminance(b)].sort((p, q) => q - p);
    return (x + 0.05) / (y + 0.05);
  };
  const background = (e) => {
    const layers = [];
    for (; e; e = e.parentElement) {
      const c = colour(getComputedStyle(e).backgroundColor);
      if (c[3] > 0) layers.push(c);
      if (c[3] === 1) break;
    }
    return layers.reverse().reduce((under, top) => over(top, under), [255, 255, 255, 1]);
  };

  const checks = {
    // What a reader with a screen reader needs, and any reader of the source.
    structure(panels) {
      if (!document.documentElement.lang) say("no language");
      const ids = [...document.querySelectorAll("[id]")].map((e) => e.id);
      for (const id of new Set(ids)) if (ids.filter((x) => x === id).length > 1) say("id", id, "comes twice");
      for (const a of document.querySelectorAll("a[href^='#']"))
        if (!document.getElementById(decodeURIComponent(a.getAttribute("href").slice(1)))) say("link to nothing:", a.getAttribute("href"));
      for (const attribute of ["aria-labelledby", "aria-describedby"])
        for (const e of document.querySelectorAll("[" + attribute + "]"))
          for (const id of e.getAttribute(attribute).split(/\s+/)) if (!document.getElementById(id)) say(attribute, "names nothing:", id);
      let last = 0;
      for (const h of document.querySelectorAll("h1,h2,h3,h4,h5,h6")) {
        const level = Number(h.tagName[1]);
        if (level > last + 1) say("heading skips from", last, "to", level, name(h));
        if (!h.textContent.trim()) say("heading without text", name(h));
        last = level;
      }
      if (document.querySelectorAll("h1").length !== 1) say(document.querySelectorAll("h1").length, "headings of the first level");
      for (const th of document.querySelectorAll("th"))
        if (!["col", "row", "colgroup", "rowgroup"].includes(th.getAttribute("scope"))) say("header without scope", name(th));
      for (const t of document.querySelectorAll("table")) {
        if (!t.querySelector("th")) say("table without headers", name(t));
        const width = (row) => [...row.cells].reduce((n, c) => n + c.colSpan, 0);
        const columns = width(t.rows[0]);
        const held = []; // rows that cells of earlier rows still reach into
        for (const row of t.rows) {
          const taken = held.filter((n) => n > 0).length;
          if (width(row) + taken !== columns) say("row of", width(row) + taken, "cells, the first has", columns, name(row));
          for (let i = 0; i < held.length; i++) held[i]--;
          for (const c of row.cells) if (c.rowSpan > 1) held.push(c.rowSpan - 1);
        }
      }
      const sections = [...document.querySelectorAll("main section")].map((s) => document.getElementById(s.getAttribute("aria-labelledby"))?.textContent);
      panels.forEach((p, i) => sections[i]?.startsWith(p) || say("section", i, "is", sections[i], "the panel", p));
      if (sections.length !== panels.length) say(sections.length, "sections for", panels.length, "panels");
      for (const s of document.querySelectorAll("svg")) {
        const label = s.getAttribute("aria-label") || s.querySelector(":scope > title")?.textContent;
        if (s.getAttribute("role") !== "img" || !label) say("drawing without role or label", name(s.parentElement));
      }
      for (const i of document.querySelectorAll("img")) if (!i.hasAttribute("alt")) say("picture without alternative", i.src);
    },

    // Every drawing is seen, and no drawing stands wider than the page.
    drawings() {
      const all = document.querySelectorAll("svg");
      for (const s of all) {
        const r = s.getBoundingClientRect();
        if (!s.checkVisibility({ opacityProperty: true, visibilityProperty: true }) || r.width < 40 || r.height < 20) say("drawing of", r.width, "×", r.height, name(s.parentElement));
        if (r.right > innerWidth + 0.5 || r.left < -0.5) say("drawing from", r.left, "to", r.right, "on a page of", innerWidth);
        const b = s.getBBox();
        if (!(b.width > 0 && b.height > 0)) say("empty drawing", name(s.parentElement));
      }
      if (all.length < document.querySelectorAll("main section").length) say("only", all.length, "drawings");
    },

    // A narrow page scrolls down only; what is wider scrolls in its own box, which the keyboard can reach.
    narrow() {
      for (const e of [document.documentElement, document.body])
        if (e.scrollWidth > innerWidth) say(name(e).slice(0, 8), "is", e.scrollWidth, "wide on a page of", innerWidth);
      let scrolled = 0;
      for (const t of document.querySelectorAll("table")) {
        if (t.getBoundingClientRect().width <= innerWidth) continue;
        let box = t.parentElement;
        while (box && !["auto", "scroll"].includes(getComputedStyle(box).overflowX)) box = box.parentElement;
        if (!box || box === document.body) say("wide table without a box that scrolls", name(t));
        else if (box.tabIndex < 0) say("box that the keyboard cannot scroll", name(box));
        else scrolled++;
      }
      for (const e of document.querySelectorAll("p, li, h1, h2, h3, dd, dt, figcaption, summary")) {
        if (e.closest("table")) continue;
        const r = e.getBoundingClientRect();
        if (r.right > innerWidth + 0.5) say("text runs to", r.right, "on a page of", innerWidth, name(e));
      }
      return scrolled;
    },

    // Text against what is under it: 4.5 to 1.
    contrast() {
      let seen = 0;
      for (const e of document.querySelectorAll("body *")) {
        const own = [...e.childNodes].some((n) => n.nodeType === Node.TEXT_NODE && n.data.trim());
        if (!own || ["STYLE", "SCRIPT", "TITLE", "title"].includes(e.tagName) || !e.checkVisibility()) continue;
        const style = getComputedStyle(e);
        const ink = e instanceof SVGElement ? style.fill : style.color;
        const under = background(e);
        const c = ratio(over(colour(ink), under), under);
        seen++;
        if (!(c >= 4.5)) say("contrast", c.toFixed(2), "of", ink, "on", under.slice(0, 3), name(e));
      }
      return seen;
    },

    // The figures at the top, as their labels and numbers.
    facts() {
      return Object.fromEntries([...document.querySelectorAll(".facts li")].map((li) => {
        const b = li.querySelector("b").textContent;
        return [li.textContent.slice(b.length).trim(), Number(b)];
      }));
    },
  };
  // The page has no script of its own: this is the only thing that it carries.
  window.look = (check, ...args) => {
    found.length = 0;
    const value = checks[check](...args);
    return { found: [...found], value: value ?? null };
  };
})();
