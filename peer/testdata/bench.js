// Looks at a page of the bench from inside the browser: can a thumb hit it, does a hand on the keys see where it is.
(() => {
  const name = (e) => "<" + e.tagName.toLowerCase() + (e.id ? "#" + e.id : "") + (e.getAttribute("class") ? "." + e.getAttribute("class") : "") + "> " +
    JSON.stringify((e.getAttribute("aria-label") || e.textContent || e.name || "").trim().slice(0, 40));
  const seen = (e) => e.checkVisibility({ visibilityProperty: true, opacityProperty: true }) && e.getBoundingClientRect().width > 1.5;

  // A link in running text: it flows with words that are no link. It cannot be higher than its line.
  const inText = (e) => e.tagName === "A" && getComputedStyle(e).display === "inline" &&
    [...e.parentElement.childNodes].some((n) => n !== e && n.nodeType === Node.TEXT_NODE && n.data.trim().length > 1);

  // What can be pressed stands at least `least` high; a box to tick or a choice as high as its label.
  window.targets = (least) => {
    const found = [];
    let n = 0;
    for (const e of document.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary, [role=button]")) {
      if (!seen(e) || inText(e) || e.matches(".skip:not(:focus)")) continue;
      n++;
      let at = e.matches("input[type=radio], input[type=checkbox]") && e.labels[0] ? e.labels[0] : e;
      at = at.querySelector(":scope > .touch") ?? at;
      const high = at.getBoundingClientRect().height;
      if (high < least - 0.5) found.push(high.toFixed(1) + " px high: " + name(e));
    }
    return { found, n };
  };

  // What has the focus shows it: by a line around it, or, in a drawing, by a look that it has not without.
  window.focused = () => {
    const e = document.activeElement;
    if (!e || e === document.body) return { at: "", shown: true };
    const s = getComputedStyle(e), r = e.getBoundingClientRect();
    let shown = s.outlineStyle !== "none" && parseFloat(s.outlineWidth) >= 2 && r.width > 1.5;
    const ring = e.querySelector(":scope > .ring");
    if (ring) {
      const look = (o) => { const c = getComputedStyle(o); return [c.fill, c.strokeWidth, c.stroke].join(); };
      const now = look(ring);
      const other = [...document.querySelectorAll(".ring")].find((o) => o !== ring && o.parentElement.getAttribute("class") === e.getAttribute("class"));
      shown = shown || !other || now !== look(other);
    }
    return { at: name(e), shown, low: r.bottom < 0 || r.top > innerHeight };
  };
})();
