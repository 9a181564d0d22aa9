package setout

import (
	"fmt"
	"math"

	"panelwright/internal/job"
	"panelwright/internal/measure"
	"panelwright/internal/spread"
	"panelwright/internal/stock"
)

// stackLayers returns the layers between the seat of a stud and the mounting face of a receptacle: the outer panel unless
// the plate lies behind it; the layers between; the inner one only when the receptacle lies behind it. A support's own layers
// replace the panel's.
func stackLayers(pan *job.Panel, sup *job.Support, face stock.Face, mount stock.Mount) []*job.Layer {
	var out []*job.Layer
	if face != stock.PlateBehind {
		out = append(out, &pan.Outer)
	}
	between, inner := pan.Between, &pan.Inner
	if sup != nil {
		if sup.Between != nil {
			between = sup.Between
		}
		if sup.Inner != nil {
			inner = sup.Inner
		}
	}
	for i := range between {
		out = append(out, &between[i])
	}
	if mount == stock.Behind {
		out = append(out, inner)
	}
	return out
}

// stackName is a layer's name, or the word for its place.
func stackName(l *job.Layer, place string) string {
	if l.Name != "" {
		return l.Name
	}
	return place
}

// stackPart makes a thickness a distribution: limits ± are rectangular (JCGM 100:2008 4.3.7), readings normal with their
// mean and its standard uncertainty; neither is exact. basis says which.
func stackPart(t *job.Thickness) (part spread.Part, basis string) {
	switch {
	case len(t.Readings) > 0:
		return spread.NormalOf(t.Nom, t.StdUnc), fmt.Sprintf("%d readings", len(t.Readings))
	case t.Half > 0 && t.Assumed:
		return spread.RectangularAbout(t.Nom, t.Half), fmt.Sprintf("assumed ± %s (%s)", measure.MM(t.Half), t.Source)
	case t.Half > 0:
		return spread.RectangularAbout(t.Nom, t.Half), fmt.Sprintf("limits ± %s", measure.MM(t.Half))
	}
	return spread.ExactAt(t.Nom), "exact"
}

// StackOf returns T at a station for a plate's face and a receptacle's mounting, with its breakdown: a measured stack where
// the job has one, else the sum of the layers.
func StackOf(pan *job.Panel, st *Station, face stock.Face, mount stock.Mount) StackSum {
	for i := range pan.Measured {
		if m := &pan.Measured[i]; m.Station == st.ID {
			part, basis := stackPart(&m.Thickness)
			return StackSum{Terms: []StackTerm{{Name: "measured", Nom: m.Thickness.Nom, Part: part, Basis: "measured, " + basis}},
				Sum: spread.Sum{part}, Nom: m.Thickness.Nom, Measured: true}
		}
	}
	var s StackSum
	for i, l := range stackLayers(pan, st.Support, face, mount) {
		part, basis := stackPart(&l.Thickness)
		s.Terms = append(s.Terms, StackTerm{Layer: l, Name: stackName(l, fmt.Sprintf("layer %d", i+1)), Nom: l.Thickness.Nom, Part: part, Basis: basis})
		s.Sum = append(s.Sum, part)
		s.Nom += l.Thickness.Nom
	}
	return s
}

// StackSoft returns the soft layers of a stack: their stiffness in series (N/mm, +Inf: none) and whether every one states its
// modulus. A layer's area is its own, else the receptacle's foot.
func StackSoft(s *StackSum, footArea float64) (rate float64, known bool) {
	give, known := 0.0, true
	for _, t := range s.Terms {
		if t.Layer == nil || !t.Layer.Soft {
			continue
		}
		area := t.Layer.Area
		if area == 0 {
			area = footArea
		}
		if t.Layer.Modulus <= 0 || area <= 0 {
			known = false
			continue
		}
		give += 1 / (t.Layer.Modulus * area)
	}
	if give == 0 {
		return math.Inf(1), known
	}
	return 1 / give, known
}
