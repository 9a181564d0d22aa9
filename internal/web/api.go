package web

import (
	"bytes"
	"context"
	_ "embed" // the description of the API
	"encoding/json"
	"io"
	"net/http"

	"panelwright"
	"panelwright/internal/fault"
	"panelwright/internal/report"
)

//go:embed openapi.json
var openapi []byte

// apiPlan plans a job: its YAML in, plan.json out, byte for byte as the command writes it for a file named job.yaml. Faults
// come as JSON with the keys that the command gives them.
func (s *server) apiPlan(w http.ResponseWriter, r *http.Request) error {
	text, err := io.ReadAll(r.Body)
	if err != nil {
		return err
	}
	ctx, stop := context.WithTimeout(r.Context(), s.patience)
	defer stop()
	run := s.planned.Once(ctx, string(text), func(string) ([]byte, error) {
		return nil, errNoFiles
	})
	switch now := run.Wait(ctx); {
	case len(now.Faults) > 0:
		return apiFaults(w, now.Faults)
	case now.Plan == nil && (now.Err == errBusy || ctx.Err() == context.DeadlineExceeded && r.Context().Err() == nil):
		w.Header().Set("Retry-After", "60")
		return refuse(http.StatusServiceUnavailable, "Busy", "%s.", errBusy)
	case now.Plan == nil && now.Err == errTooLong:
		return refuse(http.StatusUnprocessableEntity, "Too long", "%s.", now.Err)
	case now.Plan == nil && r.Context().Err() != nil:
		// Who asked went away, or the bench is being closed: no answer must look like an empty plan.
		return refuse(http.StatusServiceUnavailable, "Closing", "The bench was closed before the plan was made.")
	case now.Plan == nil:
		return s.ourMistake(r, "api: no plan")
	default:
		var b bytes.Buffer
		if err := report.PlanJSON(&b, now.Plan, panelwright.Version); err != nil {
			return err
		}
		return apiSend(w, http.StatusOK, b.Bytes())
	}
}

var errNoFiles = refuse(http.StatusUnprocessableEntity, "No files", "a job sent to the API is one text: it cannot name files")

// apiFaults answers with the faults of a job.
func apiFaults(w http.ResponseWriter, faults fault.List) error {
	var b bytes.Buffer
	if err := faults.WriteJSON(&b); err != nil {
		return err
	}
	return apiSend(w, http.StatusUnprocessableEntity, b.Bytes())
}

func apiJSON(w http.ResponseWriter, status int, doc any) error {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(doc); err != nil {
		return err
	}
	return apiSend(w, status, b.Bytes())
}

func apiSend(w http.ResponseWriter, status int, text []byte) error {
	w.Header().Set("Content-Type", "application/json; charset=utf-8")
	w.WriteHeader(status)
	_, err := w.Write(text)
	return ignoreGone(err)
}

// apiTrouble is a trouble for programs: {"error": {"title": …, "text": …}}.
func apiTrouble(w http.ResponseWriter, t *trouble) {
	type words struct {
		Title string `json:"title"`
		Text  string `json:"text"`
	}
	_ = apiJSON(w, t.status, struct { // two strings always encode
		Error words `json:"error"`
	}{words{t.title, t.text}})
}

// apiDescription is the API as OpenAPI describes it.
func (s *server) apiDescription(w http.ResponseWriter, _ *http.Request) error {
	w.Header().Set("Content-Type", "application/json; charset=utf-8")
	_, err := w.Write(openapi)
	return ignoreGone(err)
}
