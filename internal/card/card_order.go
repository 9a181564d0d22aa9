package card

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"panelwright/internal/plane"
	"panelwright/internal/setout"
)

// The order of closing and opening (common practice, no source). Closing: the corners first, each next one the farthest from
// the one before; then the rest, on each side from its middle outwards, on a sealed panel side by side in turn so that the
// seal is squeezed evenly. Opening: the other way round, and the edge that faces forwards last.
const (
	cardCornerRule    = "Corners first, crosswise; then "
	cardCloseRule     = "each side from its middle outwards."
	cardCloseSealRule = "the sides by turns, each from its middle outwards, so that the seal is squeezed evenly."
	cardOpenRule      = "The other way round."
	cardOpenEdgeRule  = "The other way round, but the edge that faces forwards (%s) last: hold the panel there."
	cardOrderSource   = "Orders: common practice, no source."
)

// cardClosing is the order in which stations are closed.
func cardClosing(panel *setout.Panel, sealed bool) []*setout.Station {
	var corners, rest []*setout.Station
	for _, st := range panel.Stations {
		if st.Corner {
			corners = append(corners, st)
		} else {
			rest = append(rest, st)
		}
	}
	out := cardCrosswise(corners, panel.Job.Front)
	sides := cardSides(rest)
	for len(sides) > 0 {
		next := sides[:0:0]
		for _, side := range sides {
			n := 1
			if !sealed {
				n = len(side)
			}
			out = append(out, side[:n]...)
			if n < len(side) {
				next = append(next, side[n:])
			}
		}
		sides = next
	}
	return out
}

// cardClosingRule says in words how cardClosing went about it.
func cardClosingRule(panel *setout.Panel, sealed bool) string {
	rule := cardCloseRule
	if sealed {
		rule = cardCloseSealRule
	}
	if slices.ContainsFunc(panel.Stations, func(st *setout.Station) bool { return st.Corner }) {
		return cardCornerRule + rule
	}
	return strings.ToUpper(rule[:1]) + rule[1:]
}

// cardCrosswise orders corners: the first on the front edge, or the first of all; then always the farthest from the last.
func cardCrosswise(corners []*setout.Station, front string) []*setout.Station {
	left := slices.Clone(corners)
	var out []*setout.Station
	for len(left) > 0 {
		best := 0
		if len(out) == 0 {
			best = max(0, slices.IndexFunc(left, func(st *setout.Station) bool { return front != "" && st.Edge == front }))
		} else {
			at := out[len(out)-1].At
			for i, st := range left {
				if st.At.Dist(at) > left[best].At.Dist(at)+plane.EdgeTol {
					best = i
				}
			}
		}
		out = append(out, left[best])
		left = slices.Delete(left, best, best+1)
	}
	return out
}

// cardSides groups stations by edge or rib, each from its middle outwards; each next side is the one whose middle lies
// farthest from that of the side before.
func cardSides(rest []*setout.Station) [][]*setout.Station {
	var names []string
	by := map[string][]*setout.Station{}
	for _, st := range rest {
		name := st.Edge
		if st.Support != nil {
			name = st.Support.Name + "\x00" + st.Edge
			if st.Support.Kind == "rib" {
				name = st.Support.Name
			}
		}
		if by[name] == nil {
			names = append(names, name)
		}
		by[name] = append(by[name], st)
	}
	var left, out [][]*setout.Station
	for _, n := range names {
		left = append(left, cardOutwards(by[n]))
	}
	for len(left) > 0 {
		best := 0
		if len(out) > 0 {
			at := out[len(out)-1][0].At
			for i, side := range left {
				if side[0].At.Dist(at) > left[best][0].At.Dist(at)+plane.EdgeTol {
					best = i
				}
			}
		}
		out = append(out, left[best])
		left = slices.Delete(left, best, best+1)
	}
	return out
}

// cardOutwards orders the stations of one side from the middle outwards. Along is measured between its two farthest stations.
func cardOutwards(side []*setout.Station) []*setout.Station {
	a, b, most := side[0].At, side[0].At, 0.0
	for i, p := range side {
		for _, q := range side[:i] {
			if d := p.At.Dist(q.At); d > most {
				a, b, most = q.At, p.At, d
			}
		}
	}
	out := slices.Clone(side)
	if most == 0 {
		return out
	}
	dir, mid := b.Sub(a).Unit(), a.Lerp(b, 0.5)
	const alike = 0.5 // mm: two stations as far from the middle as each other keep their order
	away := func(st *setout.Station) float64 { return math.Floor(math.Abs(st.At.Sub(mid).Dot(dir)) / alike) }
	slices.SortStableFunc(out, func(p, q *setout.Station) int { return cmp.Compare(away(p), away(q)) })
	return out
}

// cardOpening is the order in which stations are opened, given that of closing.
func cardOpening(closing []*setout.Station, front string) []*setout.Station {
	var out, last []*setout.Station
	for i := len(closing) - 1; i >= 0; i-- {
		if front != "" && closing[i].Edge == front {
			last = append(last, closing[i])
		} else {
			out = append(out, closing[i])
		}
	}
	return append(out, last...)
}
