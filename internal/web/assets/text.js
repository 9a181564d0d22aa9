// A fault's link puts the cursor where the fault is, in the text.
const area = document.getElementById("text");
for (const link of document.querySelectorAll("a[data-line]")) {
  link.addEventListener("click", (e) => {
    const lines = area.value.split("\n");
    const line = Number(link.dataset.line);
    if (line < 1 || line > lines.length) return;
    e.preventDefault();
    const start = lines.slice(0, line - 1).reduce((n, l) => n + l.length + 1, 0);
    area.focus();
    area.setSelectionRange(start, start + lines[line - 1].length);
    const height = parseFloat(getComputedStyle(area).lineHeight);
    area.scrollTop = Math.max(0, (line - 4) * height);
    area.scrollIntoView({ block: "center" });
  });
}
