package setout

import (
	"math"
	"slices"
	"strings"
)

// orderKinds is the order in which the kinds of parts are listed.
var orderKinds = []string{"stud", "plate", "receptacle", "rivet", "shim"}

// Order counts the parts of all stations, times each panel's quantity, and adds the spares: the job's share, rounded up, of
// every part. Bought are whole packs; cost and mass are of the pieces bought. Lines are sorted by kind and id.
func Order(p *Plan) {
	lines := map[string]*OrderLine{}
	mass, cost := map[string]float64{}, map[string]float64{}
	for _, pan := range p.Panels {
		add := func(kind, id, name string, n, pack int, eachCost, eachMass float64) {
			if n == 0 {
				return
			}
			key := kind + "\x00" + id
			l := lines[key]
			if l == nil {
				l = &OrderLine{ID: id, Name: name, Kind: kind, PackSize: max(1, pack)}
				lines[key] = l
				mass[key], cost[key] = eachMass, eachCost
			}
			l.Need += n * max(1, pan.Job.Quantity)
			if !slices.Contains(l.ForPanels, pan.Job.Name) {
				l.ForPanels = append(l.ForPanels, pan.Job.Name)
			}
		}
		for _, st := range pan.Stations {
			orderStation(st, add)
		}
	}
	p.Order = nil
	for _, key := range assumeSorted(lines) {
		l := lines[key]
		l.Spare = int(math.Ceil(float64(l.Need)*p.Job.Conditions.SpareShare.Value - 1e-9))
		l.Packs = (l.Need + l.Spare + l.PackSize - 1) / l.PackSize
		l.Buy = l.Packs * l.PackSize
		l.Cost, l.Mass = float64(l.Buy)*cost[key], float64(l.Buy)*mass[key]
		if p.Job.Range != nil && p.Job.Range.Sample {
			l.Note = "sample part: invented, cannot be bought"
		}
		p.Order = append(p.Order, *l)
	}
	slices.SortStableFunc(p.Order, func(a, b OrderLine) int {
		if d := slices.Index(orderKinds, a.Kind) - slices.Index(orderKinds, b.Kind); d != 0 {
			return d
		}
		return strings.Compare(a.ID, b.ID)
	})
}

// orderStation adds the parts of one station.
func orderStation(st *Station, add func(kind, id, name string, n, pack int, cost, mass float64)) {
	c := st.Choice
	if c == nil {
		return
	}
	if s := c.Stud; s != nil {
		add("stud", s.ID, s.Name, 1, s.PackSize, s.Cost, s.Mass)
	}
	if pl := c.Plate; pl != nil {
		add("plate", pl.ID, pl.Name, 1, pl.PackSize, pl.Cost, pl.Mass)
		if r := c.PlateRivet; r != nil {
			add("rivet", r.ID, r.Name, len(pl.Rivets), r.PackSize, r.Cost, r.Mass)
		}
	}
	if rc := c.Receptacle; rc != nil {
		add("receptacle", rc.ID, rc.Name, 1, rc.PackSize, rc.Cost, rc.Mass)
		if r := c.ReceptacleRivet; r != nil {
			add("rivet", r.ID, r.Name, len(rc.Rivets), r.PackSize, r.Cost, r.Mass)
		}
	}
	if s := c.Shim; s != nil {
		add("shim", s.ID, s.Name, st.Shims, s.PackSize, s.Cost, s.Mass)
	}
}
