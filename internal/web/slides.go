package web

import (
	"context"
	"errors"
	"sync"

	"panelwright"
)

// slidesKept bounds the stations of a run that are ready to slide: each holds some megabytes.
const slidesKept = 4

// slideStore keeps the stations of a run that are ready to slide.
type slideStore struct {
	mu    sync.Mutex
	all   map[int]*slideEntry
	order []int
}

type slideEntry struct {
	once  sync.Once
	slide *panelwright.Slide
	err   error
}

// slideStep is how far apart (mm) the places of a sliding station lie.
const slideStep = 5

// Slide returns a station of the run's only panel ready to slide, prepared once. It fails where there is no plan, no such station, or
// the panel model cannot say.
func (r *Run) Slide(ctx context.Context, station int) (*panelwright.Slide, error) {
	s := r.Wait(ctx)
	if s.Plan == nil || len(s.Plan.Panels) != 1 || station < 0 || station >= len(s.Plan.Panels[0].Stations) {
		return nil, errors.New("there is no such station")
	}
	st := &r.slides
	st.mu.Lock()
	if st.all == nil {
		st.all = map[int]*slideEntry{}
	}
	e := st.all[station]
	if e == nil {
		e = &slideEntry{}
		st.all[station] = e
		if st.order = append(st.order, station); len(st.order) > slidesKept {
			delete(st.all, st.order[0])
			st.order = st.order[1:]
		}
	}
	st.mu.Unlock()
	e.once.Do(func() { e.slide, e.err = panelwright.NewSlide(context.Background(), s.Plan, 0, station, slideStep) })
	return e.slide, e.err
}
