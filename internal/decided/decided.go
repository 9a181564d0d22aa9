// Package decided holds plans made by hand, without the search, for the tests of what comes after it. Only tests import it.
package decided

import (
	"math"

	"panelwright/internal/grip"
	"panelwright/internal/job"
	"panelwright/internal/setout"
	"panelwright/internal/stock"
)

// Plan decides a job without the search: one choice, the range's first parts, stations as given. Holes, joints and checks
// are left to the caller.
func Plan(j *job.Job) *setout.Plan {
	p := &setout.Plan{Job: j}
	r := j.Range
	for _, jp := range j.Panels {
		pan := &setout.Panel{Job: jp}
		c := &setout.Choice{Panel: jp.Name, Stud: &r.Studs[0], Plate: &r.Plates[0], Receptacle: &r.Receptacles[0], Shim: &r.Shims[0]}
		if len(c.Plate.Rivets) > 0 && c.Plate.Face != stock.PlateNone {
			c.PlateRivet = &r.Rivets[0]
		}
		if c.Receptacle.Fixing == stock.Riveted {
			c.ReceptacleRivet = &r.Rivets[len(r.Rivets)-1]
		}
		pan.Choices = []*setout.Choice{c}
		sup := jp.Supports[0]
		line, err := jp.Outline.Outer.Inset(30)
		if err != nil {
			panic(err)
		}
		pan.SeatLines = []setout.SeatLine{{Support: sup, Path: line}}
		for i, g := range jp.Stations.Given {
			st := &setout.Station{ID: string(rune('1' + i)), At: g.At, Given: true, Support: sup, Choice: c, EdgeDistance: jp.Outline.Distance(g.At)}
			if x := g.At.X; x < 100 || x > 700 {
				st.Dir = 1.5707963267948966 // along the short edges
			}
			closing(j, jp, st)
			pan.Stations = append(pan.Stations, st)
		}
		p.Panels = append(p.Panels, pan)
	}
	setout.Load(p)
	for _, pan := range p.Panels {
		for _, st := range pan.Stations {
			st.Load.Outward = 20 // so that what rests on it stands out
		}
	}
	p.Order = order(p)
	return p
}

// closing closes a station as its pair does.
func closing(j *job.Job, jp *job.Panel, st *setout.Station) {
	c := st.Choice
	st.Stack = setout.StackOf(jp, st, c.Plate.Face, c.Receptacle.Mount)
	rate, known := setout.StackSoft(&st.Stack, c.Receptacle.FootArea)
	pair := grip.Pair{Stud: c.Stud, Plate: c.Plate, Receptacle: c.Receptacle, Bands: j.Range.BandsFor(c.Stud.ID, c.Plate.ID, c.Receptacle.ID)}
	if !known || !pair.Usable() || stock.HasGeometry(c.Stud, c.Receptacle) && c.Receptacle.Rate.Nom <= c.Receptacle.Rate.Tol {
		st.Close = setout.Closing{Cure: "another pair"} // nothing is known of how it closes
		return
	}
	demand, soft := setout.DemandOf(j, &jp.Limits), grip.SoftRate(rate)
	odds := pair.Chance(st.Stack.Sum, soft, demand)
	st.Close = setout.Closing{Result: pair.Close(st.Stack.Nom, soft, demand), Chance: odds.Well, Loose: odds.Loose, Tight: odds.Tight, Known: odds.Known, Cure: "another reach"}
	if st.Close.Single {
		st.Close.Chance, st.Close.Loose, st.Close.Tight = math.NaN(), math.NaN(), math.NaN()
	}
}

func order(p *setout.Plan) []setout.OrderLine {
	var out []setout.OrderLine
	for _, pan := range p.Panels {
		n := len(pan.Stations) * pan.Job.Quantity
		c := pan.Choices[0]
		line := func(kind, id string, need int) {
			for i := range out {
				if out[i].ID == id {
					out[i].Need, out[i].Buy = out[i].Need+need, out[i].Buy+need
					return
				}
			}
			out = append(out, setout.OrderLine{ID: id, Kind: kind, Need: need, Buy: need})
		}
		line("stud", c.Stud.ID, n)
		line("plate", c.Plate.ID, n)
		line("receptacle", c.Receptacle.ID, n)
		if c.PlateRivet != nil {
			line("rivet", c.PlateRivet.ID, n*len(c.Plate.Rivets))
		}
		if c.ReceptacleRivet != nil {
			line("rivet", c.ReceptacleRivet.ID, n*len(c.Receptacle.Rivets))
		}
	}
	return out
}
