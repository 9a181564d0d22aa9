// Package bearing is how panels bear their loads: it turns a plan's panels into plates on supports that only push, held by the
// wires of their stations, and brings the answers back.
package bearing

import (
	"context"
	"errors"
	"fmt"
	"math"
	"runtime"
	"sync"

	"panelwright/internal/job"
	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/plate"
	"panelwright/internal/setout"
)

// bowShare is the share of the thickness up to which a sheet may bow between its supports and still be reckoned by small
// deflections: at half its thickness it is some 10 % stiffer than they say, and every step beyond makes it worse.
const bowShare = 0.5

// Bench keeps the panel models that stand, from round to round of a plan: a panel whose stations did not move is not meshed again.
// It is not safe for use by several goroutines at once. The zero value is ready.
type Bench struct {
	models map[*setout.Panel]*model
}

// Bear works out how every panel bears its loads: a flat linear sheet on rigid supports that only push, held by its stations'
// wires. It needs chosen parts. Panels are independent of each other; the answer does not depend on the number of processors.
// A large panel with many stations takes minutes: when the context ends, Bear does so within one trial, and what it leaves is no answer.
func (b *Bench) Bear(ctx context.Context, p *setout.Plan) {
	if b.models == nil {
		b.models = map[*setout.Panel]*model{}
	}
	var wait sync.WaitGroup
	var mu sync.Mutex
	next := make(chan *setout.Panel, len(p.Panels))
	for _, pan := range p.Panels {
		next <- pan
	}
	close(next)
	for range min(runtime.GOMAXPROCS(0), len(p.Panels)) {
		wait.Go(func() {
			for pan := range next {
				mu.Lock()
				old := b.models[pan]
				mu.Unlock()
				var kept *model
				pan.Bearing, kept = bearPanel(ctx, p.Job, pan, 1, old)
				mu.Lock()
				b.models[pan] = kept
				mu.Unlock()
			}
		})
	}
	wait.Wait()
}

// stopped is what is left of a panel when the context ends.
func stopped() *setout.Bearing { return unknown("stopped before the panel was reckoned") }

// unknown is a bearing that says why there is none.
func unknown(format string, args ...any) *setout.Bearing {
	return &setout.Bearing{Why: fmt.Sprintf(format, args...)}
}

// lacking says what the model needs and does not have.
func lacking(j *job.Job, pan *setout.Panel, wires []setout.Wire) string {
	m := pan.Job.Outer.Material
	switch {
	case len(pan.Stations) == 0:
		return "no station stands on the panel"
	case m == nil:
		return "the outer panel names no material: give one with its modulus and Poisson's ratio"
	case m.E <= 0:
		return fmt.Sprintf("the modulus E of %s is not known: give it under materials", m.ID)
	case m.Nu <= -1 || m.Nu >= 0.5 || m.Nu == 0:
		return fmt.Sprintf("Poisson's ratio of %s is not known: give it under materials", m.ID)
	case !(pan.Job.Outer.Thickness.Nom > 0):
		return "the outer panel has no thickness"
	}
	for i, w := range wires {
		if w.Field != "" {
			return fmt.Sprintf("at station %s the model needs %s", pan.Stations[i].ID, w.Field)
		}
	}
	return ""
}

// bearPanel works out one panel; refine divides the mesh's edges. It takes the old model where that still stands, and returns the
// one it used.
func bearPanel(ctx context.Context, j *job.Job, pan *setout.Panel, refine float64, old *model) (*setout.Bearing, *model) {
	if ctx.Err() != nil { // before the panel is meshed, which takes longest
		return stopped(), old
	}
	wires := make([]setout.Wire, len(pan.Stations))
	for i, st := range pan.Stations {
		wires[i] = setout.WireOf(j, pan, st)
	}
	if why := lacking(j, pan, wires); why != "" {
		return unknown("%s", why), old
	}
	b, err := modelOf(pan, refine, old)
	if err != nil {
		return unknown("%v", err), nil
	}
	r := newRun(j, pan, b, wires)
	if !r.cases(ctx) {
		return r.out, b
	}
	r.missing(ctx)
	if ctx.Err() != nil {
		return stopped(), b
	}
	r.frequencies()
	return r.out, b
}

// modelOf builds the model, or takes the old one: stations that did not move make no new one.
func modelOf(pan *setout.Panel, refine float64, old *model) (*model, error) {
	key := fmt.Sprint(refine)
	for _, st := range pan.Stations {
		key += fmt.Sprintf(" %x %x", math.Float64bits(st.At.X), math.Float64bits(st.At.Y))
	}
	for _, l := range pan.SeatLines {
		key += fmt.Sprintf(" %s %s %x", l.Edge, l.Support.Name, math.Float64bits(l.Path.Length()))
	}
	if old != nil && old.key == key {
		return old, nil
	}
	b, err := build(pan, refine)
	if err != nil {
		return nil, err
	}
	b.key = key
	return b, nil
}

// loadCase is a load case: as the area estimate has it, and with ram air behind the panel.
type loadCase struct {
	name      string
	load, ram plate.Load
	canRam    bool
	ramAt     int // place of ram among the loads reduced
	as        int // the first case with the very same load: itself, or one that was already looked at
}

// loadCases are the panel's cases, those of its estimate.
func loadCases(j *job.Job, pan *setout.Panel, b *model) []loadCase {
	l := &pan.Job.Loads
	q := setout.DynamicPressure(j.Conditions.AirDensity.Value, j.Conditions.TopSpeed.Value)
	var out []loadCase
	for _, c := range setout.CasesOf(&j.Conditions, l) {
		load := plate.Load{Pressure: c.Pressure, Accel: c.Accel}
		for i, m := range l.Masses {
			if c.Accel != 0 && m.Mass != 0 {
				for k, node := range b.mass[i].node {
					load.Points = append(load.Points, plate.PointLoad{Node: node, Force: m.Mass * c.Accel * b.mass[i].share[k]})
				}
			}
		}
		o := loadCase{name: c.Name, load: load, ram: load, as: len(out)}
		for i := range out { // masses pull by the acceleration, so pressure and acceleration say it all
			if p := &out[i].load; p.Pressure == c.Pressure && p.Accel == c.Accel {
				o.as = i
				break
			}
		}
		// With air in the case, its C_p inside becomes that of air brought to rest.
		if c.Pressure != 0 && l.HasCp && !l.HasPressure && q > 0 && pan.Job.Front != "" {
			o.canRam = true
			o.ram.Pressure = q * (1 - l.CpOutside) * j.Conditions.GustFactor.Value
		}
		out = append(out, o)
	}
	return out
}

// run is one panel at work.
type run struct {
	j       *job.Job
	pan     *setout.Panel
	b       *model
	wires   []setout.Wire
	laws    []plate.Law
	loads   []loadCase
	c       *plate.Compliance
	reduced *plate.Reduced // the cases, those with ram air, no load
	shut    *plate.Answer  // no load
	proof   *plate.Certifier
	answers []*plate.Answer
	out     *setout.Bearing
}

func newRun(j *job.Job, pan *setout.Panel, b *model, wires []setout.Wire) *run {
	return &run{j: j, pan: pan, b: b, wires: wires, laws: b.laws(wires), loads: loadCases(j, pan, b)}
}

// cases works out the state without load and every case. False: there is one without an answer, and out says why.
func (r *run) cases(ctx context.Context) bool {
	b := r.b
	var err error
	if r.c, err = plate.NewCompliance(b.face.S, r.laws, b.at); err != nil {
		r.out = unknown("%v", err)
		return false
	}
	var loads []plate.Load
	for _, l := range r.loads {
		loads = append(loads, l.load)
	}
	for i := range r.loads {
		if l := &r.loads[i]; l.canRam {
			l.ramAt = len(loads)
			loads = append(loads, l.ram)
		}
	}
	none := len(loads)
	r.reduced = b.face.Reduce(append(loads, plate.Load{}))
	r.out = &setout.Bearing{
		Known: true, Thickness: r.pan.Job.Outer.Thickness.Nom, Nodes: b.system.Nodes(), Unknowns: b.system.Unknowns(), Points: len(b.at),
		MeshSize: coarseShare * b.step, LeastAngle: b.angle, Node: b.model.Mesh.Nodes, Tris: b.model.Mesh.Tris,
	}
	for _, s := range b.seams {
		r.out.Seams = append(r.out.Seams, s.seam)
	}
	for i, on := range b.support {
		if on {
			r.out.Support = append(r.out.Support, plane.Point{X: b.at[i][0], Y: b.at[i][1]})
		}
	}
	var f *plate.Field
	if r.shut, f, err = r.settle(none, r.laws, nil); err != nil {
		r.out = r.lost("without any load", err)
		return false
	}
	r.proof = plate.NewCertifier(b.model)
	r.out.Rest = r.caseOf("no load", plate.Load{}, r.shut, f)
	for i, l := range r.loads {
		if ctx.Err() != nil {
			r.out = stopped()
			return false
		}
		if l.as < i {
			same := r.out.Cases[l.as]
			same.Name = l.name
			r.answers, r.out.Cases = append(r.answers, r.answers[l.as]), append(r.out.Cases, same)
			continue
		}
		a, f, err := r.settle(i, r.laws, r.shut)
		if err != nil {
			r.out = r.lost(l.name, err)
			return false
		}
		r.answers = append(r.answers, a)
		r.out.Cases = append(r.out.Cases, r.caseOf(l.name, l.load, a, f))
	}
	r.worst()
	r.envelope()
	return true
}

// lost is the end where a case has no answer: the panel comes off, or the mathematics could not say.
func (r *run) lost(name string, err error) *setout.Bearing {
	out := unknown("%s: %v", name, err)
	out.Off = comesOff(err)
	return out
}

// comesOff says whether an error means that the panel comes off.
func comesOff(err error) bool {
	var off *plate.NotHeld
	var swings *swinging
	return errors.As(err, &off) || errors.As(err, &swings) || errors.Is(err, errBare)
}

// worst finds the case whose wires are pulled hardest; of several, that whose seam opens most.
func (r *run) worst() {
	const same = 1e-9 // relative: wires at their preload differ by rounding
	most := -1.0
	for i := range r.out.Cases {
		c := &r.out.Cases[i]
		hardest := 0.0
		for _, f := range c.Wire {
			hardest = max(hardest, f)
		}
		if hardest > most*(1+same) || hardest > most*(1-same) && c.GapMax > r.out.Cases[r.out.Worst].GapMax {
			most, r.out.Worst = hardest, i
		}
	}
}

// envelope gathers the least and the greatest gap of all cases along the seams.
func (r *run) envelope() {
	for k := range r.out.Seams {
		s := &r.out.Seams[k]
		s.Gap = make([][2]float64, len(s.At))
		for i := range s.Gap {
			s.Gap[i] = [2]float64{math.Inf(1), math.Inf(-1)}
			for c := range r.out.Cases {
				g := r.out.Cases[c].Gap[k][i]
				s.Gap[i] = [2]float64{min(s.Gap[i][0], g), max(s.Gap[i][1], g)}
			}
		}
	}
}

// rangeReason says in words what the size of a deflection means, and whether the model may be believed.
func rangeReason(sag, thickness float64) (valid bool, reason string) {
	limit := bowShare * thickness
	if sag <= limit {
		return true, fmt.Sprintf("bows by %s between its supports, within half its thickness, %s", measure.MM(sag), measure.MM(limit))
	}
	return false, fmt.Sprintf("small-deflection theory says that it bows by %s between its supports, more than half its thickness, %s: a sheet stretches by then and bows less, and a crown or a rib stops it before; this model cannot say. A thicker or stiffer sheet, a rib under it, or less load would bring it into range",
		measure.MM(sag), measure.MM(limit))
}
