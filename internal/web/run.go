package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"time"
)

// eventBeat is how often a quiet stream says that it is alive, so that a reader that went away is noticed.
const eventBeat = 10 * time.Second

// eventsOpen bounds how many streams one bench holds open at a time.
const eventsOpen = 64

// runEvents tells how planning goes, as Server-Sent Events, until it ends: each event is {"state": …, "doing": …,
// "planned": whether the pages can show it}.
func (s *server) runEvents(w http.ResponseWriter, r *http.Request) error {
	v, err := s.present(r)
	if err != nil {
		return err
	}
	select {
	case s.streams <- struct{}{}:
		defer func() { <-s.streams }()
	default:
		return refuse(http.StatusServiceUnavailable, "Busy", "Too many pages are watching at once. Reload this one after a while.")
	}
	run := s.plan(v)
	w.Header().Set("Content-Type", "text/event-stream; charset=utf-8")
	out := http.NewResponseController(w)
	beat := time.NewTicker(eventBeat)
	defer beat.Stop()
	for {
		now, changed := run.Watch()
		text, err := json.Marshal(map[string]any{"state": now.State.String(), "doing": now.Doing, "planned": now.Plan != nil})
		if err != nil {
			return err
		}
		_ = out.SetWriteDeadline(time.Now().Add(2 * eventBeat)) // where there is no deadline to set there is none to pass
		if _, err := fmt.Fprintf(w, "data: %s\n\n", text); err != nil {
			return nil
		}
		if err := out.Flush(); err != nil || now.Ended() {
			return nil
		}
		select {
		case <-changed:
		case <-beat.C:
		case <-r.Context().Done():
			return nil
		}
	}
}

// runStop stops the planning of the present revision.
func (s *server) runStop(w http.ResponseWriter, r *http.Request) error {
	v, err := s.present(r)
	if err != nil {
		return err
	}
	s.plan(v).Stop()
	see(w, r, address(v.Vehicle, ""), "stopped")
	return nil
}

// runAgain plans the present revision anew when its run has ended without a plan.
func (s *server) runAgain(w http.ResponseWriter, r *http.Request) error {
	v, err := s.present(r)
	if err != nil {
		return err
	}
	s.planned.Start(v.Vehicle, v.Number, v.Text, v.Open)
	see(w, r, address(v.Vehicle, ""), "")
	return nil
}
