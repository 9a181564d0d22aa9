package job

import (
	"fmt"

	"panelwright/internal/plane"
	"panelwright/internal/source"
	"panelwright/internal/stock"
)

func (c *checker) supports() {
	owner := map[string]*Support{}
	names := map[string]bool{}
	for _, s := range c.pan.Supports {
		if names[s.Name] {
			c.add(s.at.of("name"), RuleDuplicateName, fmt.Sprintf("a second support %s", source.Quote(s.Name)), "give it another name")
		}
		names[s.Name] = true
		switch s.Kind {
		case "flange":
			fits := true
			for _, e := range s.Edges {
				if c.unknownEdge(s.at.of("flange"), e) {
					continue
				}
				if other := owner[e]; other != nil {
					c.add(s.at.of("flange"), RuleEdgeTwice, fmt.Sprintf("edge %s lies on %s already", source.Cut(e), source.Cut(other.Name)), "an edge rests on one flange: name it once, or divide the edge")
					continue
				}
				owner[e] = s
				fits = fits && c.flange(s, e) // one message for each support
			}
		case "rib":
			c.rib(s)
		}
		c.weld(s)
	}
}

// flangePlaces are the shares of an edge at which its flange is looked at.
var flangePlaces = [...]float64{0.25, 0.5, 0.75}

// flange checks that the flange's inner border and its seat line lie on the panel somewhere along the edge.
func (c *checker) flange(s *Support, edge string) bool {
	e, _ := c.pan.Edge(edge)
	outer := c.pan.Outline.Outer
	inside := func(d float64) bool {
		for _, share := range flangePlaces {
			at := e.From + share*(e.To-e.From)
			if outer.Contains(outer.At(at).Add(outer.Tangent(at).Perp().Scale(d))) == plane.Inside {
				return true
			}
		}
		return false
	}
	if s.Width > 0 && !inside(s.Width) {
		c.add(s.at.of("width"), RuleFlangeWide, fmt.Sprintf("a flange %s wide reaches across the panel from edge %s", c.j.size(s.Width), source.Cut(edge)), "give its width across the edge, or make it a rib")
		return false
	}
	if s.Width <= 0 {
		return true
	}
	if _, err := c.pan.SeatPath(e, s.SeatInset()); err != nil {
		c.add(s.at.of("width"), RuleInset, fmt.Sprintf("edge %s has no seat line %s inside it: %v", source.Cut(edge), c.j.size(s.SeatInset()), err), "give a smaller inset")
		return false
	}
	return c.seatCutOut(s, e)
}

// seatCutOut reports a seat line of which a cut-out takes a part: there is no flange where the panel has none to lie on it.
func (c *checker) seatCutOut(s *Support, e Edge) bool {
	seat, _ := c.pan.SeatPath(e, s.SeatInset())
	for i, hole := range c.pan.Outline.CutOuts {
		if c.gone[i] {
			continue
		}
		at, meets := plane.Point{}, false
		if m := seat.Meetings(hole); len(m) > 0 {
			at, meets = m[0].At, true
		} else if len(seat.V) > 0 && hole.Contains(seat.V[0].Point) == plane.Inside {
			at, meets = seat.V[0].Point, true
		}
		if meets {
			c.add(s.at.of("flange"), RuleSeatCutOut, fmt.Sprintf("%s takes the seat line of edge %s away at %s; accepted: seat lines clear of cut-outs", c.cutOutName(i), source.Cut(e.Name), c.j.point(at)),
				"make the flange narrower or its inset smaller, or draw the cut-out as a notch of the outline with edges of its own")
			return false
		}
	}
	return true
}

func (c *checker) rib(s *Support) {
	at := s.at.of("rib")
	for _, v := range s.Line.V {
		if c.pan.Outline.Outer.Contains(v.Point) == plane.Outside {
			c.add(at, RuleRibOutside, fmt.Sprintf("%s lies off the panel at %s", source.Cut(s.Name), c.j.point(v.Point)), "end it inside the outline")
			return
		}
	}
	for i, p := range c.pan.Outline.Paths() {
		where := "the outline"
		if i > 0 {
			where = c.cutOutName(i - 1)
		}
		for _, m := range s.Line.Meetings(p) {
			if m.Kind == plane.Crosses {
				c.add(at, RuleRibOutside, fmt.Sprintf("%s crosses %s at %s", source.Cut(s.Name), where, c.j.point(m.At)), "divide it in two")
				return
			}
		}
		if i > 0 && len(s.Line.V) > 0 && p.Contains(s.Line.V[0].Point) == plane.Inside {
			c.add(at, RuleRibOutside, fmt.Sprintf("%s lies in %s", source.Cut(s.Name), where), "end it before the cut-out")
			return
		}
	}
}

func (c *checker) weld(s *Support) {
	if !s.Weld {
		return
	}
	inner := &c.pan.Inner
	if s.Inner != nil {
		inner = s.Inner
	}
	if m := inner.Material; m != nil && m.Family != stock.Steel && m.Family != stock.Stainless {
		c.add(s.at.of("weld"), RuleWeld, fmt.Sprintf("receptacles welded to %s (%s); accepted: steel or stainless", source.Cut(m.ID), m.Family), "leave weld out, and they are riveted; or give the support its own inner layer")
	}
}
