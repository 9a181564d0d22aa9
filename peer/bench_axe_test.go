package peer

import (
	"encoding/json"
	"os"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// axe is the text of axe-core (Deque Systems, MPL-2.0), which .ci/run fetches and AXE_CORE names; it never stands in this tree.
// Without it, out of CI, it is empty.
func axe(t *testing.T) string {
	t.Helper()
	text, err := os.ReadFile(os.Getenv("AXE_CORE"))
	if err != nil && os.Getenv("CI") == "true" {
		t.Fatalf("AXE_CORE should name axe.min.js, as .ci/run does: %v", err)
	}
	return string(text)
}

// The looks at the bench's pages see what is wrong with one.
func TestBenchPagesSeeDamage(t *testing.T) {
	v := visit(t, chromium(t), openBench(t, nil)+"settings")
	run(t, v, chromedp.EmulateViewport(benchSizes[0].w, benchSizes[0].h))
	ask[any](t, v, benchJS)
	ask[any](t, v, `document.querySelector("main").innerHTML = '<button id="low">low</button> <input id="bare"> <p>words with a <a href="/">link in text</a> </p>'; `+
		`low.style.minHeight = 0; low.style.padding = 0; low.style.height = "20px"; low.style.outline = "none"; low.focus(); fetch("http://127.0.0.1:9/").catch(() => 0); 0`)
	if f := ask[struct{ Found []string }](t, v, "targets(44)").Found; len(f) != 1 || !strings.Contains(f[0], "button#low") {
		t.Errorf("too low were %q, want the button", f)
	}
	if f := ask[struct{ Shown bool }](t, v, "focused()"); f.Shown {
		t.Error("a focus without a line is taken for seen")
	}
	wait(t, v, "a request to elsewhere is stopped", "true")
	if c := strings.Join(v.complaints(), "\n"); !strings.Contains(c, "Content Security Policy") {
		t.Errorf("a request to elsewhere: complaints are %q", c)
	}
	text := axe(t)
	if text == "" {
		t.Skip("AXE_CORE names no axe.min.js")
	}
	ask[any](t, v, text+"; 0")
	_, found := audit(t, v)
	if len(found) == 0 || found[0].ID != "label" || !found[0].serious() {
		t.Errorf("of a field without label the audit says %v", found)
	}
}

// finding is a rule of the audit that a page breaks.
type finding struct {
	ID, Impact, Help string
	Nodes            []string
}

func (f finding) serious() bool { return f.Impact == "serious" || f.Impact == "critical" }

// auditPage wants nothing serious or critical, and tells what is less.
func auditPage(t *testing.T, v *viewer, scheme string) {
	t.Helper()
	passes, found := audit(t, v)
	if passes < 8 {
		t.Errorf("%s: only %d rules of the audit applied", scheme, passes)
	}
	for _, f := range found {
		report := t.Logf
		if f.serious() {
			report = t.Errorf
		}
		report("%s: %s (%s): %s; %d places, as %s", scheme, f.ID, f.Impact, f.Help, len(f.Nodes), f.Nodes[0])
	}
}

// audit runs axe-core, which is there already, over the page.
func audit(t *testing.T, v *viewer) (passes int, found []finding) {
	t.Helper()
	answer := run(t, v, chromedp.Evaluate[string](`axe.run(document, { resultTypes: ["violations"] }).then((r) => JSON.stringify({ passes: r.passes.length,
		found: r.violations.map((f) => ({ id: f.id, impact: f.impact, help: f.help, nodes: f.nodes.map((n) => n.target.join(" ") + " " + n.html.slice(0, 120)) })) }))`, chromedp.EvalAwaitPromise))
	var got struct {
		Passes int
		Found  []finding
	}
	if err := json.Unmarshal([]byte(answer), &got); err != nil {
		t.Fatal(err)
	}
	return got.Passes, got.Found
}
