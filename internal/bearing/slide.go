package bearing

import (
	"context"
	"errors"
	"fmt"
	"math"
	"sync"

	"panelwright/internal/job"
	"panelwright/internal/mesh"
	"panelwright/internal/plane"
	"panelwright/internal/plate"
	"panelwright/internal/setout"
)

// Slide is a panel with one station that may stand at many places along its seat line: meshed and condensed once, so that each place
// is answered in milliseconds. What it says is a proposal, on a mesh that is finer along that line than a plan's own; the plan that is
// made when the station is let go says what counts.
type Slide struct {
	station int
	line    int
	places  []SlidePlace
	at      []int // interface point of each place
	run     *run
	base    []plate.Law // with the station's wire nowhere
	seat    plane.Path

	mu   sync.Mutex
	last []*plate.Answer // by case, of the place asked for before: where the next begins, which saves work and changes nothing beyond rounding
}

// SlidePlace is a place where the station may stand.
type SlidePlace struct {
	At plane.Point
	S  float64 // mm along the seat line
}

// SlideCase is one load case with the station at a place.
type SlideCase struct {
	Name   string
	Wire   []float64 // N, by station
	Held   []float64 // N that each station holds against the load: wire less what its seat pushes
	Gap    []float64 // greatest of each seam, mm
	GapMax float64
	GapAt  plane.Point
}

// SlideAnswer is the panel with the station at a place.
type SlideAnswer struct {
	Place   SlidePlace
	Cases   []SlideCase
	Line    []float64 // greatest gap over the cases at each place of SeamS, mm: along the station's own seat line
	GapMax  float64
	GapCase string
	Wire    []float64 // greatest over the cases, by station
	Loose   string    // why there is no answer: the panel comes off
}

// slideMost bounds the places along the line, since the work grows with the cube of all points.
const slideMost = 160

// NewSlide prepares station i of a decided panel for moves along its seat line, with a place about every step mm, from end to end of
// the line but for its keep-outs. The error says what the model lacks, or that the station stands on no seat line.
func NewSlide(ctx context.Context, j *job.Job, pan *setout.Panel, i int, step float64) (*Slide, error) {
	wires := make([]setout.Wire, len(pan.Stations))
	for k, st := range pan.Stations {
		wires[k] = setout.WireOf(j, pan, st)
	}
	if why := lacking(j, pan, wires); why != "" {
		return nil, errors.New(why)
	}
	st := pan.Stations[i]
	line, best := -1, mesh.Same
	for k, l := range pan.SeatLines {
		if _, d, _ := l.Path.Nearest(st.At); d <= best {
			line, best = k, d
		}
	}
	if line < 0 {
		return nil, fmt.Errorf("station %s stands on no seat line: move it by its coordinates", st.ID)
	}
	s := &Slide{station: i, line: line, seat: pan.SeatLines[line].Path}
	var pts []plane.Point
	long := s.seat.Length()
	step = max(step, long/slideMost)
	for n, k := max(1, int(math.Round(long/step))), 0; k <= n; k++ {
		d := long * float64(k) / float64(n)
		p := s.seat.At(min(d, long))
		if slideFree(pan, i, p) {
			s.places = append(s.places, SlidePlace{p, d})
			pts = append(pts, p)
		}
	}
	b, err := buildSlide(pan, i, pts)
	if err != nil {
		return nil, err
	}
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	return s, s.prepare(j, pan, b, wires)
}

// slideFree says whether a station may stand at p at all: on the panel, off its keep-outs, not on another station.
func slideFree(pan *setout.Panel, i int, p plane.Point) bool {
	if pan.Job.Outline.Contains(p) != plane.Inside {
		return false
	}
	for _, k := range pan.Job.KeepOuts {
		if k.Region.Contains(p) != plane.Outside {
			return false
		}
	}
	const apart = 5.0 // mm: two stations in one spot are none
	for k, o := range pan.Stations {
		if k != i && o.At.Dist(p) < apart {
			return false
		}
	}
	return true
}

// buildSlide meshes the panel with nodes at every place of the station, and condenses it.
func buildSlide(pan *setout.Panel, i int, pts []plane.Point) (*model, error) {
	moved := *pan
	moved.Stations = nil
	for k, st := range pan.Stations {
		if k != i {
			moved.Stations = append(moved.Stations, st)
		}
	}
	for _, p := range pts { // places stand in for stations: they become nodes and interface points
		moved.Stations = append(moved.Stations, &setout.Station{At: p})
	}
	return buildWith(&moved, 1, len(pan.Stations)-1)
}

// prepare lays the laws and finds the panel at rest.
func (s *Slide) prepare(j *job.Job, pan *setout.Panel, b *model, wires []setout.Wire) error {
	others := len(pan.Stations) - 1
	s.at = b.station[others:]
	// Stations in the order of the plan, the one that moves at its first place.
	station := make([]int, 0, len(pan.Stations))
	station = append(station, b.station[:s.station]...)
	station = append(station, s.at[0])
	station = append(station, b.station[s.station:others]...)
	b.station = station
	r := newRun(j, pan, b, wires)
	gone := make([]bool, len(wires))
	gone[s.station] = true
	s.base = append([]plate.Law(nil), r.laws...)
	for _, p := range s.at {
		s.base[p] = b.without(wires, gone, p)
	}
	s.run = r
	var err error
	if r.c, err = plate.NewCompliance(b.face.S, s.base, b.at); err != nil {
		return err
	}
	var loads []plate.Load
	for _, l := range r.loads {
		loads = append(loads, l.load)
	}
	r.reduced = b.face.Reduce(loads)
	s.slim()
	return nil
}

// slim lets go what only serves to prepare: a place is answered at the interface alone, and many stations are kept ready.
func (s *Slide) slim() {
	r := s.run
	for i := range r.loads {
		r.loads[i].load, r.loads[i].ram = plate.Load{}, plate.Load{}
	}
	r.reduced = &plate.Reduced{F: r.reduced.F}
	r.b.model, r.b.system, r.b.face = nil, nil, nil
}

// Places are where the station may stand, in order along its seat line.
func (s *Slide) Places() []SlidePlace { return s.places }

// Line is the station's seat line.
func (s *Slide) Line() plane.Path { return s.seat }

// Nearest is the place nearest to p.
func (s *Slide) Nearest(p plane.Point) int {
	best := 0
	for k, q := range s.places {
		if q.At.Dist(p) < s.places[best].At.Dist(p) {
			best = k
		}
	}
	return best
}

// At answers for place k: every case, by the interface alone. Several goroutines may ask at once.
func (s *Slide) At(k int) *SlideAnswer {
	r, b := s.run, s.run.b
	out := &SlideAnswer{Place: s.places[k], Wire: make([]float64, len(r.wires)), GapMax: math.Inf(-1), Line: make([]float64, len(s.places))}
	laws := append([]plate.Law(nil), s.base...)
	p := s.at[k]
	laws[p] = plate.Sum(laws[p], wireLaw(r.wires[s.station]))
	station := append([]int(nil), b.station...)
	station[s.station] = p
	for n := range out.Line {
		out.Line[n] = math.Inf(-1)
	}
	s.mu.Lock()
	last := append([]*plate.Answer(nil), s.last...)
	s.mu.Unlock()
	now := make([]*plate.Answer, len(r.loads))
	for i, l := range r.loads {
		if l.as < i {
			same := out.Cases[l.as]
			same.Name = l.name
			out.Cases, now[i] = append(out.Cases, same), now[l.as]
			continue
		}
		var from *plate.Answer
		if i < len(last) {
			from = last[i]
		} else if i > 0 {
			from = now[i-1]
		}
		a, err := r.c.Solve(r.reduced.F[i], laws, from)
		if err == nil {
			err = r.swings(a)
		}
		if err != nil {
			return &SlideAnswer{Place: s.places[k], Loose: fmt.Sprintf("%s: %v", l.name, err)}
		}
		now[i] = a
		c := s.caseAt(l.name, a, station)
		for n := range out.Wire {
			out.Wire[n] = max(out.Wire[n], c.Wire[n])
		}
		for n, q := range s.at {
			out.Line[n] = max(out.Line[n], a.W[q])
		}
		if c.GapMax > out.GapMax {
			out.GapMax, out.GapCase = c.GapMax, c.Name
		}
		out.Cases = append(out.Cases, c)
	}
	s.mu.Lock()
	s.last = now
	s.mu.Unlock()
	return out
}

// caseAt reads one answer.
func (s *Slide) caseAt(name string, a *plate.Answer, station []int) SlideCase {
	r, b := s.run, s.run.b
	c := SlideCase{Name: name, GapMax: math.Inf(-1)}
	for n, w := range r.wires {
		p := station[n]
		pull := b.pull(w, a.W[p])
		c.Wire = append(c.Wire, pull)
		// All that acts at the point, less the seal, is what wire and seat give together.
		c.Held = append(c.Held, -(a.Force[p] - b.push[p]))
	}
	for _, seam := range b.seams {
		most := math.Inf(-1)
		for i, p := range seam.point {
			if a.W[p] > most {
				most = a.W[p]
			}
			if a.W[p] > c.GapMax {
				c.GapMax, c.GapAt = a.W[p], seam.seam.At[i]
			}
		}
		c.Gap = append(c.Gap, most)
	}
	return c
}
