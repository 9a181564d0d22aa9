package stock

import (
	"strings"
	"testing"
)

func TestSampleRangeReads(t *testing.T) {
	r, faults := ReadRange(SampleFile, SampleText())
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	if !r.Sample || r.Currency == "" {
		t.Errorf("sample %v, currency %q", r.Sample, r.Currency)
	}
	byFamily := map[string]int{}
	for _, s := range r.Studs {
		byFamily[s.Family]++
	}
	for f, n := range byFamily {
		if n != 10 {
			t.Errorf("%s has %d reaches, want 10", f, n)
		}
	}
	if len(byFamily) < 2 {
		t.Errorf("families %v", byFamily)
	}
	for id := range sampleIDs(r) {
		if !strings.Contains(id, "sample") {
			t.Errorf("id %q does not say sample", id)
		}
	}
}

func sampleIDs(r *Range) map[string]Origin {
	ids := map[string]Origin{r.ID: {Status: "sample"}}
	for _, p := range r.Plates {
		ids[p.ID] = p.Origin
	}
	for _, p := range r.Studs {
		ids[p.ID] = p.Origin
	}
	for _, p := range r.Receptacles {
		ids[p.ID] = p.Origin
	}
	for _, p := range r.Rivets {
		ids[p.ID] = p.Origin
	}
	for _, p := range r.Shims {
		ids[p.ID] = p.Origin
	}
	return ids
}
