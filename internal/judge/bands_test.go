package judge

import (
	"os"
	"strings"
	"testing"

	"panelwright/internal/detail"
	"panelwright/internal/setout"
	"panelwright/internal/stock"
	"panelwright/internal/worked"
)

// documented is the range that docs/formats-range.md shows, read from there.
func documented(t *testing.T) *stock.Range {
	t.Helper()
	text, err := os.ReadFile("../../docs/formats-range.md")
	if err != nil {
		t.Fatal(err)
	}
	_, block, ok := strings.Cut(string(text), "```yaml\n")
	block, _, end := strings.Cut(block, "```")
	if !ok || !end {
		t.Fatal("docs/formats-range.md shows no range")
	}
	r, faults := stock.ReadRange("docs", []byte(block))
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	return r
}

// The documented range states stacks for a pair without shims, and the plan shims that pair: the judge moves the band as the
// theory says, and notices a band that is moved the other way.
func TestJudgeKnowsASuppliersBandUnderShims(t *testing.T) {
	j := worked.Job()
	j.Range = documented(t)
	j.Range.Studs, j.Range.Receptacles = j.Range.Studs[:1], j.Range.Receptacles[:1] // the pair that the band speaks of
	j.Panels[0].Inner.Thickness.Nom = 1.5
	p := setout.NewPlan(j)
	for _, step := range []func(*setout.Plan){setout.Place, setout.Pick, setout.Load, detail.Holes, detail.Checks, setout.Order, Judge} {
		step(p)
	}
	for _, f := range p.Judge {
		t.Errorf("station %s, %s: %s", f.Station, f.Check, f.Text)
	}
	shimmed := 0
	for _, st := range p.Panels[0].Stations {
		if c := st.Choice; c != nil && st.Shims > 0 && len(j.Range.BandsFor(c.Stud.ID, c.Plate.ID, c.Receptacle.ID)) > 0 {
			shimmed++
		}
	}
	if shimmed == 0 {
		t.Fatal("no station with a stated band is shimmed: the test looks at nothing")
	}
	st := p.Panels[0].Stations[1]
	st.Close.StackLo, st.Close.StackHi = st.Close.StackLo+1, st.Close.StackHi+1
	if Judge(p); len(p.Judge) == 0 {
		t.Error("a band moved the other way was not noticed")
	}
}
