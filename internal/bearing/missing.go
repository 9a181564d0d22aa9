package bearing

import (
	"context"
	"errors"
	"fmt"
	"math"
	"runtime"
	"slices"
	"strings"
	"sync"

	"panelwright/internal/measure"
	"panelwright/internal/plate"
	"panelwright/internal/setout"
)

// trial is one station left out in one case, and what then follows.
type trial struct {
	c      int
	gone   []bool
	order  []int // stations that went, after the first
	answer *plate.Answer
	ram    bool
	beyond bool // of small deflections: what follows is not known
	err    error
}

// missing leaves each station out in turn, in every case, and follows what gives way next. Stations are looked at in parallel; which
// processor does which changes nothing.
func (r *run) missing(ctx context.Context) {
	n := len(r.wires)
	r.out.Miss = make([]setout.BearingMiss, n)
	var wait sync.WaitGroup
	next := make(chan int, n)
	for s := range n {
		next <- s
	}
	close(next)
	for range min(runtime.GOMAXPROCS(0), n) {
		wait.Go(func() {
			for s := range next {
				worst := trial{c: -1}
				for c := range r.loads {
					if ctx.Err() != nil {
						return
					}
					if r.loads[c].as < c {
						continue
					}
					if t := r.leave(s, c); worst.c < 0 || r.worse(t, worst) {
						worst = t
					}
				}
				r.out.Miss[s] = r.missOf(s, worst)
			}
		})
	}
	wait.Wait()
}

// leave takes station s out in case c, then every other that passes its limit, until none does.
func (r *run) leave(s, c int) trial {
	t := trial{c: c, gone: make([]bool, len(r.wires))}
	t.gone[s] = true
	from := r.answers[c]
	for range 2 * len(r.wires) { // each round takes a station or lets air in; there are no more
		if r.bare(t) {
			t.err = errBare
			return t
		}
		if t.answer, t.err = r.solve(r.loadOf(t), r.lawsOf(t), from); t.err != nil {
			return t
		}
		from = t.answer
		// Beyond small deflections neither the next force nor the next gap means anything: the sequence is not followed.
		if !r.out.Cases[c].Valid || !r.validMiss(t) {
			t.beyond = true
			return t
		}
		if !t.ram && r.loads[c].canRam && r.leading(t.answer.W) > r.pan.Job.Limits.SeamGap.Value {
			t.ram = true
			continue
		}
		next, over := -1, 1.0
		for i := range r.wires {
			if share := r.share(i, t.answer.W); !t.gone[i] && share > over {
				next, over = i, share
			}
		}
		if next < 0 {
			return t
		}
		t.gone[next] = true
		t.order = append(t.order, next)
	}
	return t
}

// errBare is a panel without a station, which loads and seals push off.
var errBare = errors.New("the panel is not held: no station is left, and loads and seals push it off")

// bare says whether every station has gone while loads and seals push outwards: supports push that way too, so nothing holds.
func (r *run) bare(t trial) bool {
	sum := 0.0
	for p, f := range r.reduced.F[r.loadOf(t)] {
		sum += f + r.b.push[p]
	}
	return sum > 0 && !slices.Contains(t.gone, false)
}

// loadOf is the place of a trial's load among those reduced: its case, or that with ram air.
func (r *run) loadOf(t trial) int {
	if t.ram {
		return r.loads[t.c].ramAt
	}
	return t.c
}

// lawsOf are the laws with the stations that are gone left out.
func (r *run) lawsOf(t trial) []plate.Law {
	laws := append([]plate.Law(nil), r.laws...)
	for i, gone := range t.gone {
		if gone {
			laws[r.b.station[i]] = r.b.without(r.wires, t.gone, r.b.station[i])
		}
	}
	return laws
}

// certify puts a trial's end right against the whole sheet, and says what the certificate finds in it; an error where figures run out.
func (r *run) certify(t *trial) (faults []string, err error) {
	load := r.loads[t.c].load
	if t.ram {
		load = r.loads[t.c].ram
	}
	laws := r.lawsOf(*t)
	a, f, err := r.settle(r.loadOf(*t), laws, t.answer)
	if err != nil {
		return nil, err
	}
	t.answer = a
	return r.proof.Certify(laws, load, a, f).Faults(), nil
}

// leading is the greatest gap along the leading edge.
func (r *run) leading(w []float64) float64 {
	most := 0.0
	for _, s := range r.b.seams {
		if s.front {
			for _, p := range s.point {
				most = max(most, w[p])
			}
		}
	}
	return most
}

// limits are the force (N) and the deflection of the wire (mm) that a station stands; +Inf where the range states none.
func (r *run) limits(i int) (force, deflection float64) {
	c := r.pan.Stations[i].Choice
	force, deflection = math.Inf(1), math.Inf(1)
	for _, v := range []float64{c.Stud.Rating, c.Receptacle.Rating} {
		if v > 0 {
			force = min(force, v)
		}
	}
	if f := r.j.RatingFactor(&r.pan.Job.Limits); f > 0 {
		force /= f
	}
	if v := c.Receptacle.DeflectionMax; v > 0 {
		deflection = v
	}
	return force, deflection
}

// share is how much of its limit a station uses: above 1 it lets go. Force is taken at the wire's low end, deflection at its high.
func (r *run) share(i int, w []float64) float64 {
	z := w[r.b.station[i]]
	force, deflection := r.limits(i)
	return max(r.b.pull(r.wires[i], z)/force, (r.wires[i].Hi+max(z, 0))/deflection)
}

// worse says whether trial a is worse than b.
func (r *run) worse(a, b trial) bool {
	off := func(t trial) int {
		if t.err != nil {
			return 1
		}
		return 0
	}
	if off(a) != off(b) {
		return off(a) > off(b)
	}
	if a.beyond != b.beyond {
		return a.beyond
	}
	if len(a.order) != len(b.order) {
		return len(a.order) > len(b.order)
	}
	if a.err != nil || b.err != nil {
		return false
	}
	const same = 1e-6 // relative: wires at their preload differ by rounding
	fa, _ := r.hardest(a)
	fb, _ := r.hardest(b)
	if fa > fb*(1+same) || fb > fa*(1+same) {
		return fa > fb
	}
	_, ga, _, _ := r.gaps(a.answer.W)
	_, gb, _, _ := r.gaps(b.answer.W)
	return ga > gb
}

// hardest is the wire pulled hardest of those that are left.
func (r *run) hardest(t trial) (force float64, at int) {
	at = -1
	if t.answer == nil {
		return 0, at
	}
	for i, w := range r.wires {
		if f := r.b.pull(w, t.answer.W[r.b.station[i]]); !t.gone[i] && f > force {
			force, at = f, i
		}
	}
	return force, at
}

// missOf tells what became of the panel without station s.
func (r *run) missOf(s int, t trial) setout.BearingMiss {
	m := setout.BearingMiss{Station: s, Case: t.c, Gone: t.order, At: -1, RamAir: t.ram}
	var names []string
	for _, i := range t.order {
		names = append(names, r.pan.Stations[i].ID)
	}
	after := ""
	if len(names) > 0 {
		after = "then " + strings.Join(names, ", ") + " would go, beyond rating or the wire's reach; "
	}
	if t.ram {
		after = fmt.Sprintf("the leading edge opens more than %s, so air comes to rest behind the panel; ", measure.MM(r.pan.Job.Limits.SeamGap.Value)) + after
	}
	if t.err != nil {
		m.Why = after + t.err.Error()
		if comesOff(t.err) {
			m.Off, m.Valid = true, true // however the sheet bends; what came before was within small deflections
		}
		return m
	}
	var err error
	if m.CertificateFaults, err = r.certify(&t); err != nil {
		m.Why = after + err.Error()
		return m
	}
	m.Wire, m.At = r.hardest(t)
	_, m.GapMax, _, m.GapAt = r.gaps(t.answer.W)
	if len(m.CertificateFaults) > 0 {
		m.Why = after + "the certificate by separate code does not agree: " + strings.Join(m.CertificateFaults, "; ")
		return m
	}
	if c := &r.out.Cases[t.c]; !c.Valid && c.Sag <= bowShare*r.out.Thickness {
		m.Why = after + c.Reason // it lacks something else
		return m
	}
	if t.beyond {
		m.Why = after + "the sheet then bows more than half its thickness, beyond what small deflections can say: what follows is not known"
		return m
	}
	m.Valid, m.Held = true, true
	m.Why = after + "every other station stays within its limits"
	if len(t.order) > 0 {
		m.Why = after + "the rest holds"
	}
	return m
}

// validMiss says whether the sheet stays within small deflections.
func (r *run) validMiss(t trial) bool {
	f := r.b.face.Field(r.reduced, r.loadOf(t), t.answer.W)
	return r.sag(f.W, t.answer.W) <= bowShare*r.out.Thickness
}
