package card

import (
	"fmt"
	"slices"
	"strings"

	"panelwright/internal/drawing"
	"panelwright/internal/measure"
	"panelwright/internal/setout"
	"panelwright/internal/stock"
)

// trialStep is the gate: nothing is riveted before every station has closed on skin pins.
func (w *cardWork) trialStep() cardStep {
	s := cardStep{stage: cardTrial, title: "TRIAL FIT: before any rivet or weld is set"}
	s.lines = append(s.lines, "Put every part in its place on skin pins"+w.heldWords()+". Lay the panel on and close every station, in the order on the last page.",
		"At each station measure the stack and the receptacle's depth ("+w.depthFrom()+" to the middle of the free wire), turn it, and fill its row in the table.",
		"Correct now. "+w.laterWords())
	for _, k := range w.kinds {
		s.lines = append(s.lines, w.deflectionWords(k))
	}
	s.titles, s.widths = []string{"kind", "stations", "when it does not close well"}, []float64{12, 40, 119}
	for _, k := range w.kinds {
		var cures []string
		for _, st := range k.stations {
			cures = cardOnce(append(cures, st.Close.Cure))
		}
		for _, cure := range cures {
			var who []*setout.Station
			for _, st := range k.stations {
				if st.Close.Cure == cure {
					who = append(who, st)
				}
			}
			s.rows = append(s.rows, []string{k.letter, cardStations(who), cure})
		}
	}
	return s
}

// depthFrom names the face from which the receptacles' depth counts.
func (w *cardWork) depthFrom() string {
	under := func(k cardKind) bool { return k.choice.Receptacle.Mount == stock.FrontUnderPanel }
	var letters []string
	for _, k := range w.kinds {
		if under(k) {
			letters = append(letters, k.letter)
		}
	}
	switch {
	case len(letters) == 0:
		return "from its mounting face"
	case len(letters) == len(w.kinds):
		return "from the face that the panel rests on, not the welded or riveted one,"
	}
	return "from its mounting face, for kind " + strings.Join(letters, ", ") + " from the face that the panel rests on,"
}

// laterWords says what a correction costs once the receptacles are fixed.
func (w *cardWork) laterWords() string {
	riveted := slices.ContainsFunc(w.kinds, func(k cardKind) bool { return k.choice.Receptacle.Fixing == stock.Riveted })
	switch {
	case riveted && w.welded:
		return "A riveted receptacle comes off only by drilling out its rivets, a welded one not at all."
	case w.welded:
		return "A welded receptacle does not come off again."
	}
	return "A riveted receptacle comes off only by drilling out its rivets, and perhaps leaves an oversize hole."
}

// heldWords says how parts are held that no pin holds.
func (w *cardWork) heldWords() string {
	if w.welded {
		return ", weld-on receptacles with clamps, not tacked"
	}
	return ""
}

// deflectionWords gives the sum by which a fitter finds the deflection from what was measured.
func (w *cardWork) deflectionWords(k cardKind) string {
	shims, way := " + shims", sectionShimWords(k.choice.Receptacle.Mount)
	switch k.choice.Receptacle.Mount {
	case stock.FrontBesideSeat:
		shims = " − shims"
	case stock.FrontUnderPanel:
		shims = ""
	}
	st := k.stations[0]
	fixed := k.choice.Receptacle.Fixing == stock.Welded && !slices.ContainsFunc(k.stations, func(st *setout.Station) bool { return st.Shims > 0 })
	if fixed {
		shims = ""
	}
	words := fmt.Sprintf("Kind %s: deflection = stack%s + depth − %s. ", k.letter, shims, measure.MM(k.choice.Stud.Reach.Nom))
	if cardBand(st.Close) {
		words += fmt.Sprintf("It closes well from %s to %s: less is loose, more is tight. ", measure.Fixed(st.Close.DeltaLo, 2), measure.MM(st.Close.DeltaHi))
	}
	if fixed {
		return strings.TrimSpace(words)
	}
	return words + strings.ToUpper(way[:1]) + way[1:] + "."
}

func sectionShimWords(m stock.Mount) string {
	words, _ := drawing.ShimWay(m)
	return words
}

// carbonOnAluminium says whether sheets of the two lie on each other, or an aluminium part on carbon.
func (w *cardWork) carbonOnAluminium() bool {
	return w.families[stock.CarbonFibre] && w.families[stock.Aluminium]
}

// insulation is what the galvanic checks of the panel's stations need to hold, each once: the step that their basis cites.
func (w *cardWork) insulation() []string {
	var out []string
	for _, st := range w.panel.Stations {
		for _, k := range st.Checks {
			if k.ID == "galvanic" && k.Verdict == setout.Holds && k.Cure != "" {
				out = cardOnce(append(out, k.Cure))
			}
		}
	}
	return out
}

// insulateStep keeps unlike metals apart: after the welding, which would burn compound and paint, and before the rivets.
func (w *cardWork) insulateStep() (cardStep, bool) {
	s := cardStep{stage: cardInsulate, title: "Keep unlike metals apart"}
	for _, how := range w.insulation() {
		s.lines = append(s.lines, "Where unlike metals or carbon would touch: "+how+". Bare, these couples do not hold; nothing is closed for good before this is done.")
	}
	return s, len(s.lines) > 0
}

func (w *cardWork) sealStep() (cardStep, bool) {
	s := cardStep{stage: cardSeal}
	var what []string
	if w.laminate() {
		what = append(what, "seal cut edges")
		s.lines = append(s.lines, "Laminate: brush resin or a thin epoxy into every cut edge and hole; let it cure, then clear the holes to size.")
	}
	if w.carbonOnAluminium() {
		what = append(what, "jointing compound")
		s.lines = append(s.lines, "Carbon on aluminium: jointing compound on both faces and in the holes as the parts go together. It keeps the aluminium from being eaten.")
	}
	s.title = strings.Join(what, ", ")
	if len(what) > 0 {
		s.title = strings.ToUpper(s.title[:1]) + s.title[1:]
	}
	return s, len(what) > 0
}

func (w *cardWork) weldStep() (cardStep, bool) {
	s := cardStep{stage: cardWeld, title: "Weld the receptacles, the wire taken out first"}
	s.titles, s.widths = []string{"kind", "stations", "receptacle", "welds each"}, []float64{14, 50, 85, 22}
	for _, k := range w.kinds {
		if r := k.choice.Receptacle; r.Fixing == stock.Welded {
			welds := "not stated"
			if r.Welds > 0 {
				welds = fmt.Sprint(r.Welds)
			}
			s.rows = append(s.rows, []string{k.letter, cardStations(k.stations), r.Name, welds})
		}
	}
	s.lines = []string{"Take the panel off, laminate well away. Take the sprung wire out of each receptacle: heat draws its temper. Earth beside the weld.",
		"Tack, lay the panel on and see that every stud enters, then weld. Let it cool before the wire goes back in; turn each station again."}
	return s, len(s.rows) > 0
}

func (w *cardWork) primeStep() (cardStep, bool) {
	s := cardStep{stage: cardPrime, title: "Prime bare steel"}
	if w.welded {
		s.title = "Clean the welds, prime bare steel"
		s.lines = append(s.lines, "After welding, never before it. Keep paint off the wire and out of its seat.")
	}
	s.lines = append(s.lines, "Prime every cut edge, hole and scratch where steel shows.")
	return s, w.families[stock.Steel]
}

// rivetStep lists the joints that are alike: which rivet, head and tail, treatment.
func (w *cardWork) rivetStep() (cardStep, bool) {
	s := cardStep{stage: cardRivet, title: "Rivet"}
	s.titles = []string{"part", "stations", "rivet", "number", "head on · tail on", "grip", "tail"}
	s.widths = []float64{22, 18, 39, 18, 29, 18, 27}
	var who [][]string
	var pieces []int
	for _, j := range w.panel.Joins {
		n := w.jointRivets(j)
		row := []string{j.Part, "", j.Rivet.Name, "", j.HeadOn + " · " + j.TailOn, cardGrip(j), cardTail(j)}
		i := slices.IndexFunc(s.rows, func(r []string) bool { return slices.Equal(r, row) })
		if i < 0 {
			i = len(s.rows)
			s.rows, who, pieces = append(s.rows, row), append(who, nil), append(pieces, 0)
		}
		who[i] = append(who[i], j.Station)
		pieces[i] += n
		s.after = cardOnce(append(s.after, cardJointWords(j)...))
	}
	for i := range s.rows {
		s.rows[i][1], s.rows[i][3] = drawing.StationRuns(who[i]), fmt.Sprint(pieces[i])
	}
	s.lines = []string{"Only when every box of the trial fit is filled. Pull one pin at a time and put its rivet in. Hold the head down hard on its face while you set it."}
	s.pictures = w.rivetPictures()
	return s, len(s.rows) > 0
}

// jointRivets is the number of rivets in one joint: the pattern of its part.
func (w *cardWork) jointRivets(j setout.RivetJoint) int {
	for _, st := range w.panel.Stations {
		if st.ID != j.Station || st.Choice == nil {
			continue
		}
		if j.Part == "plate" {
			return len(st.Choice.Plate.Rivets)
		}
		return len(st.Choice.Receptacle.Rivets)
	}
	panic("drawing: joint at station " + j.Station + ", which has no parts")
}

func cardGrip(j setout.RivetJoint) string {
	if !(j.Grip > 0) {
		return "–"
	}
	return measure.MM(j.Grip)
}

// cardTail says what becomes of a tail.
func cardTail(j setout.RivetJoint) string {
	words := j.TailTreatment
	switch words {
	case "", "none":
		words = "free"
	case "reversed":
		words = "rivet reversed"
	}
	if j.WasherDiameter > 0 {
		washer := "washer Ø " + measure.MM(j.WasherDiameter)
		if words == "free" || words == "backing washer" {
			return washer
		}
		words += ", " + washer
	}
	return words
}

// cardJointWords are the sentences that a joint needs beside its row.
func cardJointWords(j setout.RivetJoint) []string {
	var out []string
	name := strings.ToUpper(j.Part[:1]) + j.Part[1:]
	if j.Reason != "" {
		out = append(out, name+": "+j.Reason+".")
	}
	if j.Trouble != "" {
		out = append(out, name+", NOT SOLVED: "+j.Trouble+".")
	}
	return out
}

func (w *cardWork) closeStep() cardStep {
	s := cardStep{stage: cardClose, title: "Close, and check again",
		lines: []string{"Lay the panel on and close every station in the order on the last page. Each must turn as it did at the trial fit: a station that has grown tight has swarf or a rivet tail in it.",
			"Go round the seam. Paint a witness mark across each head and the panel while it is locked.",
			"Take the last page to the vehicle; keep this card with the job."}}
	return s
}
