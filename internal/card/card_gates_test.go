package card

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"panelwright/internal/drawing"
	"panelwright/internal/exampleplan"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
	"panelwright/internal/stock"
)

// A gate stands once, to be signed, before the first step that it holds back; it is no mere caution of that step.
func TestCardGates(t *testing.T) {
	p := cardFixture("A4")
	for id, text := range map[string]string{setout.CautionDrillGate: "Everything behind is out of the way.", setout.CautionHotWorkGate: "No vapour, no fuel, somebody watches."} {
		p.Cautions = append(p.Cautions, setout.Caution{ID: id, Text: text})
		for _, pan := range p.Panels {
			pan.Cautions = append(pan.Cautions, id)
		}
	}
	for _, pan := range p.Panels {
		w := cardWorkOf(p, pan)
		at := map[string][]cardStage{}
		for _, s := range w.steps {
			for _, g := range s.gates {
				at[g] = append(at[g], s.stage)
			}
			if slices.ContainsFunc(s.cautions, func(c string) bool { return strings.HasPrefix(c, "Everything behind") }) {
				t.Errorf("%s: the gate is a caution too", pan.Job.ID)
			}
		}
		first := slices.IndexFunc(w.steps, func(s cardStep) bool { return s.stage >= cardPilot && s.stage <= cardRelief })
		if got := at["Everything behind is out of the way."]; len(got) != 1 || got[0] != w.steps[first].stage {
			t.Errorf("%s: the drilling gate stands before %v", pan.Job.ID, got)
		}
		if got := at["No vapour, no fuel, somebody watches."]; w.welded && (len(got) != 1 || got[0] != cardWeld) || !w.welded && len(got) != 0 {
			t.Errorf("%s: the gate before hot work stands before %v", pan.Job.ID, got)
		}
		words := cardWords(cardPages(p, pan, sheet.A4))
		if n := strings.Count(words, "done: signed"); n != len(at) {
			t.Errorf("%s: %d lines to sign, %d gates", pan.Job.ID, n, len(at))
		}
	}
}

// What an estimate misses stands at the head of the card, as doubtful and not as failing; what has no number does not.
func TestCardDoubt(t *testing.T) {
	p := cardFixture("A4")
	pan := p.Panels[0]
	const head, title = "Do not drive on it before this is known", "sample limit by estimate"
	if words := cardWords(cardPages(p, pan, sheet.A4)); strings.Contains(words, head) {
		t.Fatal("the fixture is in doubt by itself")
	}
	for _, c := range []struct {
		k    setout.Check
		want bool
	}{
		{setout.Check{ID: "x", Name: title, Verdict: setout.NotKnown, Value: 40, Limit: 60, Unit: "N", AtLeast: true, Margin: -0.3}, true},
		{setout.Check{ID: "x", Name: title, Verdict: setout.NotKnown, Value: 80, Limit: 60, Unit: "N", AtLeast: true, Margin: 0.3}, false},
		{setout.Check{ID: "x", Name: title, Verdict: setout.NotKnown, NoNumber: true, Unit: "N", Margin: -0.3}, false},
		{setout.Check{ID: "x", Name: title, Verdict: setout.Holds, Value: 80, Limit: 60, Unit: "N", AtLeast: true, Margin: 0.3}, false},
	} {
		st := pan.Stations[1]
		old := st.Checks
		st.Checks = append(slices.Clone(old), c.k)
		words := cardWords(cardPages(p, pan, sheet.A4)[:1])
		st.Checks = old
		if got := strings.Contains(words, head) && strings.Contains(words, title+": worst at station "+st.ID); got != c.want {
			t.Errorf("%+v: in the head: %v", c.k, got)
		}
	}
}

// A card for welded receptacles offers no shim and speaks of no rivet of theirs; one for riveted ones does.
func TestCardOfWeldedReceptacles(t *testing.T) {
	welded, riveted := 0, 0
	for name, p := range exampleplan.All(t, "../..") {
		for _, pan := range p.Panels {
			w := cardWorkOf(p, pan)
			words := cardWords(cardPages(p, pan, sheet.A4))
			all := !slices.ContainsFunc(w.kinds, func(k cardKind) bool { return k.choice.Receptacle.Fixing != stock.Welded })
			bad := []string{"A welded receptacle does not come off"}
			if all {
				welded++
				bad = []string{"A riveted receptacle", "A shim here", "the trial fit may ask for some"}
			} else {
				riveted++
			}
			for _, s := range bad {
				if strings.Contains(words, s) {
					t.Errorf("%s %s (all welded: %v): %q", name, pan.Job.ID, all, s)
				}
			}
		}
	}
	if welded == 0 || riveted == 0 {
		t.Errorf("%d welded and %d riveted panels", welded, riveted)
	}
}

// Rows that are cut rather than drilled have a step of their own, and none of them is drilled.
func TestCardCutStep(t *testing.T) {
	found := 0
	for name, p := range exampleplan.All(t, "../..") {
		for _, pan := range p.Panels {
			w := cardWorkOf(p, pan)
			want, got := 0, 0
			for _, h := range pan.Holes {
				if cardCutOut(h) {
					want++
				}
			}
			for _, s := range w.steps {
				for _, r := range s.rows {
					if s.stage == cardCut {
						got += atoi(t, r[2])
					} else if slices.Contains(r, "cut-out") {
						t.Errorf("%s %s: a cut-out in step %q", name, pan.Job.ID, s.title)
					}
				}
			}
			if got != want {
				t.Errorf("%s %s: %d of %d cut-outs", name, pan.Job.ID, got, want)
			}
			found += want
		}
	}
	if found == 0 {
		t.Error("no example has a cut-out")
	}
}

func TestCardBalance(t *testing.T) {
	rows := make([][]string, 12)
	for i := range rows {
		rows[i] = []string{string(rune('a' + i))}
	}
	for _, c := range []struct {
		rest, keep int
		ok         bool
	}{{0, 0, false}, {1, 9, true}, {2, 9, true}, {3, 0, false}, {7, 0, false}} {
		if keep, ok := cardBalance(rows, rows[12-c.rest:]); ok != c.ok || ok && keep != c.keep {
			t.Errorf("%d rows left over: keep %d, %v", c.rest, keep, ok)
		}
	}
	if _, ok := cardBalance(rows[:4], rows[3:4]); ok {
		t.Error("a short table is torn further")
	}
	if _, ok := cardBalance(rows, [][]string{{"half of the last row"}}); ok {
		t.Error("a row that is broken over the page is moved")
	}
}

// However long a table is, no page of it has one or two rows alone.
func TestCardNoLonelyRow(t *testing.T) {
	for n := 6; n < 90; n++ {
		f := newCardFlow(sheet.A4, false)
		table := sheet.Table{RowMin: 9, Columns: []sheet.Column{{Title: "st.", Width: 40}}}
		for i := range n {
			table.Rows = append(table.Rows, []string{fmt.Sprint("row ", i)})
		}
		f.table(0, table)
		sum := 0
		for i, items := range f.pages {
			rows := 0
			for _, x := range drawing.TextsOf(items) {
				if strings.HasPrefix(x.S, "row ") {
					rows++
				}
			}
			if sum += rows; rows < 3 {
				t.Errorf("%d rows: %d on page %d", n, rows, i+1)
			}
		}
		if sum != n {
			t.Errorf("%d rows of %d", sum, n)
		}
	}
}
