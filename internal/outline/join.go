package outline

import (
	"fmt"
	"math"
	"slices"

	"panelwright/internal/plane"
)

// Joined returns the drawing with loose pieces joined where their ends lie within join (mm; 0: JoinTol) of each other. Pieces
// on the layers or in the colours named are joined among themselves only. Pieces of no length, and those drawn twice, go. Where
// three ends or more meet, which belongs to which cannot be told: they stay apart, and a note says so.
func (d *Drawing) Joined(join float64, named ...string) *Drawing {
	if join <= 0 {
		join = JoinTol
	}
	out := &Drawing{Unit: d.Unit, From: d.From, Notes: slices.Clone(d.Notes)}
	kept := out.clean(d.Loops)
	var order []string // of groups, by their first piece
	groups := map[string][]int{}
	for i, l := range kept {
		key := ""
		if n := l.nameIn(named); n != "" {
			key = "named " + n
		}
		if groups[key] == nil {
			order = append(order, key)
		}
		groups[key] = append(groups[key], i)
	}
	for _, key := range order {
		var loops []Loop
		for _, i := range groups[key] {
			loops = append(loops, kept[i])
		}
		out.Loops = append(out.Loops, out.chain(loops, join)...)
	}
	slices.SortStableFunc(out.Loops, func(a, b Loop) int { return a.Line - b.Line })
	return out
}

// nameIn is the name by which a loop was asked for: its layer, or its colour.
func (l Loop) nameIn(named []string) string {
	for _, n := range named {
		if n != "" && (equalFold(n, l.Layer) || equalFold(n, l.Colour)) {
			return n
		}
	}
	return ""
}

// clean leaves out pieces of no length and those that were drawn before.
func (d *Drawing) clean(loops []Loop) []Loop {
	type key [7]int64
	const same = 1e-6 // mm: drawn at one place
	round := func(v float64) int64 { return int64(math.Round(v / same)) }
	seen := map[key]int{}
	var out []Loop
	for _, l := range loops {
		l.Path = tidy(l.Path)
		n := len(l.Path.V)
		if n < 2 || !(l.Path.Length() > same) {
			d.Notes = append(d.Notes, Note{l.Line, l.Source, "left out: it has no length"})
			continue
		}
		a, b, c := l.Path.V[0].Point, l.Path.V[n-1].Point, l.Path.At(l.Path.Length()/2)
		if b.X < a.X || b.X == a.X && b.Y < a.Y {
			a, b = b, a
		}
		k := key{round(a.X), round(a.Y), round(b.X), round(b.Y), round(c.X), round(c.Y), round(l.Path.Length())}
		if first, ok := seen[k]; ok {
			d.Notes = append(d.Notes, Note{l.Line, l.Source, fmt.Sprintf("left out: drawn before, line %d", first)})
			continue
		}
		seen[k] = l.Line
		out = append(out, l)
	}
	return out
}

// joinEnd is one end of an open piece: piece i, its start or its end.
type joinEnd struct {
	piece int
	tail  bool
	at    plane.Point
}

// chain joins open pieces end to end.
func (d *Drawing) chain(loops []Loop, join float64) []Loop {
	var out, open []Loop
	for _, l := range loops {
		a, b := l.ends()
		switch {
		case l.Path.Closed:
			out = append(out, l)
		case a.Dist(b) <= join && l.Path.Length() > 4*join:
			out = append(out, d.closed(l, a.Dist(b)))
		default:
			open = append(open, l)
		}
	}
	mate := d.mates(open, join)
	used := make([]bool, len(open))
	// From loose ends first, so that a run is walked from its beginning; then what is left is round.
	for pass := range 2 {
		for i := range open {
			if used[i] {
				continue
			}
			_, headMet := mate[joinEnd{piece: i}.key()]
			_, tailMet := mate[joinEnd{piece: i, tail: true}.key()]
			if pass == 0 && headMet && tailMet {
				continue
			}
			out = append(out, d.walk(open, mate, used, i, headMet && !tailMet, join))
		}
	}
	return out
}

type endKey struct {
	piece int
	tail  bool
}

func (e joinEnd) key() endKey { return endKey{e.piece, e.tail} }

func (l Loop) ends() (a, b plane.Point) {
	return l.Path.V[0].Point, l.Path.V[len(l.Path.V)-1].Point
}

// closed makes a loop of a run whose ends meet: they are drawn to their middle.
func (d *Drawing) closed(l Loop, gap float64) Loop {
	n := len(l.Path.V) - 1
	a, b := l.ends()
	mid := a.Lerp(b, 0.5)
	p := plane.Path{V: slices.Clone(l.Path.V[:n]), Closed: true}
	p.V[0].Point = mid
	l.Path, l.Gap = tidy(p), max(l.Gap, gap)
	d.gap(l.Line, l.Source, gap, mid)
	return l
}

// gap notes a joint that was not tight.
func (d *Drawing) gap(line int, source string, gap float64, at plane.Point) {
	const tight = 1e-4 // mm: what files round to
	if gap > tight {
		d.Notes = append(d.Notes, Note{line, source, fmt.Sprintf("ends %.4g mm apart joined at (%.2f, %.2f) mm", gap, at.X, at.Y)})
	}
}

// mates finds for every end the one other end at its place.
func (d *Drawing) mates(open []Loop, join float64) map[endKey]endKey {
	var ends []joinEnd
	for i, l := range open {
		a, b := l.ends()
		ends = append(ends, joinEnd{i, false, a}, joinEnd{i, true, b})
	}
	cell := func(p plane.Point) [2]int64 {
		return [2]int64{int64(math.Floor(p.X / join)), int64(math.Floor(p.Y / join))}
	}
	grid := map[[2]int64][]int{}
	for i, e := range ends {
		grid[cell(e.at)] = append(grid[cell(e.at)], i)
	}
	mate := map[endKey]endKey{}
	told := map[int]bool{}
	for i, e := range ends {
		c := cell(e.at)
		var near []int
		crowded := false
		for dx := int64(-1); dx <= 1; dx++ {
			for dy := int64(-1); dy <= 1; dy++ {
				for _, j := range grid[[2]int64{c[0] + dx, c[1] + dy}] {
					if j != i && ends[j].at.Dist(e.at) <= join {
						near = append(near, j)
					}
					if len(near) > 8 { // a heap of ends: enough to know
						crowded = true
						break
					}
				}
			}
		}
		slices.Sort(near)
		switch {
		case len(near) == 1 && !crowded:
			mate[e.key()] = ends[near[0]].key()
		case len(near) > 1 && !told[i]:
			for _, j := range near {
				told[j] = true
			}
			d.Notes = append(d.Notes, Note{open[e.piece].Line, open[e.piece].Source, fmt.Sprintf("%d ends meet at (%.2f, %.2f) mm: which belongs to which cannot be told, they stay apart; draw the outline on a layer of its own", len(near)+1, e.at.X, e.at.Y)})
		}
	}
	for k, m := range mate { // both must agree
		if mate[m] != k {
			delete(mate, k)
		}
	}
	return mate
}

// walk follows the run that holds piece i, from its end when back is set, and returns it as one loop.
func (d *Drawing) walk(open []Loop, mate map[endKey]endKey, used []bool, i int, back bool, join float64) Loop {
	out := open[i]
	used[i] = true
	p := open[i].Path
	if back {
		p = p.Reverse()
	}
	v := slices.Clone(p.V)
	at := endKey{i, !back}
	for {
		next, ok := mate[at]
		if !ok || used[next.piece] {
			break
		}
		q := open[next.piece].Path
		if next.tail {
			q = q.Reverse()
		}
		used[next.piece] = true
		last := len(v) - 1
		gap := v[last].Point.Dist(q.V[0].Point)
		mid := v[last].Point.Lerp(q.V[0].Point, 0.5)
		d.gap(open[next.piece].Line, open[next.piece].Source, gap, mid)
		out.Gap = max(out.Gap, gap)
		v = append(v[:last], q.V...)
		v[last].Point = mid
		at = endKey{next.piece, !next.tail}
	}
	out.Path = tidy(plane.Path{V: v})
	if a, b := out.ends(); a.Dist(b) <= join && out.Path.Length() > 4*join {
		if m, ok := mate[at]; ok && m == (endKey{i, back}) {
			return d.closed(out, a.Dist(b))
		}
	}
	return out
}
