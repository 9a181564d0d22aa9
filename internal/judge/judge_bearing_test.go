package judge

import (
	"encoding/json"
	"strings"
	"testing"

	"panelwright/internal/bearing"
	"panelwright/internal/detail"
	"panelwright/internal/setout"
	"panelwright/internal/worked"
)

// borne is the worked job, of a sheet stiff enough for the panel model to decide, with what the model says of it.
func borne(t testing.TB) *setout.Plan {
	t.Helper()
	j := worked.Job()
	j.Panels[0].Outer.Thickness.Nom = 12 // stations keep what they closed with: only the sheet is stiffer
	p := settled(j)
	var bench bearing.Bench
	bench.Bear(t.Context(), p)
	detail.Checks(p)
	if b := p.Panels[0].Bearing; !b.Known {
		t.Fatal(b.Why)
	}
	return p
}

// bearingFindings are the findings that concern the panel model and what rests on it.
func bearingFindings(p *setout.Plan) []string {
	p.Judge = nil
	Judge(p)
	var out []string
	for _, f := range p.Judge {
		for _, id := range []string{"panel-model", "load-reactions", "seam-gap", "sheet-stress", "one-missing", "natural-frequency", "stays-shut", "wire-force-loaded", "wire-deflection-loaded", "seal-push"} {
			if f.Check == id {
				out = append(out, f.Check+": "+f.Text)
			}
		}
	}
	return out
}

// The judge finds nothing wrong with what the panel model says, and notices each number that is spoilt.
func TestJudgeTakesNothingOnTrust(t *testing.T) {
	p := borne(t)
	if f := bearingFindings(p); len(f) > 0 {
		t.Fatalf("%q", f)
	}
	good, err := json.Marshal(p.Panels[0].Bearing)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name  string
		spoil func(b *setout.Bearing, pan *setout.Panel)
	}{
		{"a wire", func(b *setout.Bearing, _ *setout.Panel) { b.Cases[0].Wire[1] *= 1.1 }},
		{"a support's push", func(b *setout.Bearing, _ *setout.Panel) { b.Cases[2].Push[len(b.Cases[2].Push)/2] += 20 }},
		{"a support that pulls", func(b *setout.Bearing, _ *setout.Panel) {
			b.Cases[0].Push[3], b.Cases[0].Push[4] = -5, b.Cases[0].Push[4]+b.Cases[0].Push[3]+5
		}},
		{"a push moved along", func(b *setout.Bearing, _ *setout.Panel) {
			for i := range b.Support {
				b.Support[i].X += 5
			}
		}},
		{"a support lost", func(b *setout.Bearing, _ *setout.Panel) { b.Support = b.Support[1:] }},
		{"a gap", func(b *setout.Bearing, _ *setout.Panel) { b.Cases[0].Gap[0][1] = 1.7 }},
		{"a deflection", func(b *setout.Bearing, _ *setout.Panel) {
			for n := range b.Cases[5].W {
				b.Cases[5].W[n] += float64(n%2) * 20
			}
		}},
		{"a range", func(b *setout.Bearing, _ *setout.Panel) { b.Cases[1].Valid = !b.Cases[1].Valid }},
		{"a stress", func(b *setout.Bearing, _ *setout.Panel) { b.Cases[0].Stress += 500 }},
		{"what a station holds", func(b *setout.Bearing, _ *setout.Panel) { b.Cases[0].Held[2] += 1000 }},
		{"a balance", func(b *setout.Bearing, _ *setout.Panel) { b.Cases[0].Balance = 1e-6 }},
		{"a fault of the certificate", func(b *setout.Bearing, _ *setout.Panel) { b.Miss[1].CertificateFaults = []string{"out of balance"} }},
		{"a case lost", func(b *setout.Bearing, _ *setout.Panel) { b.Cases = b.Cases[1:] }},
		{"one missing, said to come off", func(b *setout.Bearing, _ *setout.Panel) {
			b.Miss[0].Off, b.Miss[0].Held, b.Miss[0].Valid = true, false, true
		}},
	} {
		b := &setout.Bearing{}
		if err := json.Unmarshal(good, b); err != nil {
			t.Fatal(err)
		}
		p.Panels[0].Bearing = b
		c.spoil(b, p.Panels[0])
		if f := bearingFindings(p); len(f) == 0 {
			t.Errorf("%s: not noticed", c.name)
		}
	}
}

// Each verdict that rests on the model, turned round, is noticed.
func TestJudgeNoticesModelVerdicts(t *testing.T) {
	p := borne(t)
	for _, id := range []string{"load-reactions", "seam-gap", "sheet-stress", "one-missing", "natural-frequency"} {
		k := spoilPanelCheck(p, id)
		for _, v := range []setout.Verdict{setout.Holds, setout.DoesNotHold, setout.NotKnown} {
			was := k.Verdict
			if v == was {
				continue
			}
			k.Verdict = v
			if f := bearingFindings(p); !strings.Contains(strings.Join(f, " "), id) {
				t.Errorf("%s: %v instead of %v is not noticed", id, v, was)
			}
			k.Verdict = was
		}
	}
}
