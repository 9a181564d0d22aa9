package web

import (
	"bytes"
	"context"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"panelwright"
	"panelwright/internal/job"
)

// answerSchema is the schema that the description has for an answer of POST /api/plan.
func answerSchema(t *testing.T, served []byte, status int) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(served))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("http://bench/openapi.json", doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("http://bench/openapi.json#/paths/~1api~1plan/post/responses/" + strconv.Itoa(status) + "/content/application~1json/schema")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func (b *testBench) apiPost(text string) *httptest.ResponseRecorder {
	r := httptest.NewRequest("POST", "/api/plan", strings.NewReader(text))
	r.Header.Set("Content-Type", "application/yaml")
	return b.do(r)
}

// What the API answers is what its own description says, and a plan is what the command writes.
func TestAPI(t *testing.T) {
	b := newTestBench(t)
	served := b.get("/api/openapi.json").Body.Bytes()
	launch := example(t, "02-launch")
	for _, c := range []struct {
		name, text string
		status     int
	}{
		{"a plan", launch, 200},
		{"faults", "job: { nmae: x }\n", 422},
		{"no text", "", 422},
		{"too large", strings.Repeat("# nothing\n", 500_000), 413},
		{"names a file", strings.Replace(launch, "range: sample", "range: mine.yaml", 1), 422},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := b.apiPost(c.text)
			if w.Code != c.status {
				t.Fatalf("status %d: %.300s", w.Code, w.Body)
			}
			doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(w.Body.Bytes()))
			if err != nil {
				t.Fatal(err)
			}
			if err := answerSchema(t, served, c.status).Validate(doc); err != nil {
				t.Error(err)
			}
		})
	}
	if got, want := b.apiPost(launch).Body.Bytes(), commandPlan(t, launch); !bytes.Equal(got, want) {
		t.Error("the plan is not what the command writes")
	}
	w := b.get("/api/plan")
	doc, _ := jsonschema.UnmarshalJSON(w.Body)
	if err := answerSchema(t, served, 405).Validate(doc); err != nil || w.Code != http.StatusMethodNotAllowed {
		t.Error(w.Code, err)
	}
	// A schema that refuses nothing would say nothing: what is not an answer does not pass.
	if err := answerSchema(t, served, 200).Validate(map[string]any{"format": json.Number("2")}); err == nil {
		t.Error("the description takes anything for a plan")
	}
}

// The full schema of plan.json stands for the API's answer too.
func TestAPIPlanSchema(t *testing.T) {
	text, err := os.ReadFile("../../docs/plan.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("urn:panelwright:plan:1", doc); err != nil {
		t.Fatal(err)
	}
	plan, err := jsonschema.UnmarshalJSON(newTestBench(t).apiPost(example(t, "02-launch")).Body)
	if err != nil {
		t.Fatal(err)
	}
	if err := c.MustCompile("urn:panelwright:plan:1").Validate(plan); err != nil {
		t.Error(err)
	}
}

// commandPlan is the plan.json that the command's own path makes of a job.
func commandPlan(t *testing.T, text string) []byte {
	t.Helper()
	for _, f := range commandPack(t, text).Files {
		if f.Name == "plan.json" {
			return f.Data
		}
	}
	t.Fatal("no plan.json")
	return nil
}

func commandPack(t *testing.T, text string) *panelwright.Pack {
	t.Helper()
	j, faults := job.Read("job.yaml", []byte(text), nil)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	p, err := panelwright.Plan(context.Background(), j, nil)
	if err != nil {
		t.Fatal(err)
	}
	pack, err := panelwright.Draw(context.Background(), p, nil)
	if err != nil {
		t.Fatal(err)
	}
	return pack
}
