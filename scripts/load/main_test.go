package main

import (
	"net/http/httptest"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"panelwright/internal/book"
	"panelwright/internal/web"
)

// The short form of scripts/load.sh: 10 clients for 5 s, no answer but what has to come.
func TestLoad(t *testing.T) {
	kept, err := book.Open(filepath.Join(t.TempDir(), "bench.book"))
	if err != nil {
		t.Fatal(err)
	}
	defer kept.Close()
	server := httptest.NewUnstartedServer(nil)
	server.Config = web.NewServer(web.New(web.Options{Book: kept, Address: server.Listener.Addr().String()}))
	server.Start()
	defer server.Close()
	l, err := newLoad(server.URL, "../../examples")
	if err != nil {
		t.Fatal(err)
	}
	l.run(10, 5*time.Second, 1)
	if err := l.failed(); err != nil {
		t.Error(err)
	}
	var table strings.Builder
	l.table(&table)
	t.Log("\n" + table.String())
	if l.kinds["text, saved"] == nil || l.kinds["tick"] == nil {
		t.Error("the clients did not do what they are for")
	}
}

// An answer that is not what has to come is counted as an error.
func TestErrorsAreSeen(t *testing.T) {
	for _, c := range []struct {
		a    answer
		want outcome
	}{
		{answer{status: 200, body: "Order"}, good},
		{answer{status: 200, body: "Something"}, bad},
		{answer{status: 200, body: "<strong>Planning</strong>"}, waiting},
		{answer{status: 500, body: "Order"}, bad},
		{answer{status: 409, body: "Changed meanwhile"}, outdated},
		{answer{status: 409, body: "No set-out"}, bad},
		{answer{status: 503, body: "Busy: too much is being planned at once"}, busy},
		{answer{status: 503}, bad},
	} {
		if got, _ := judge(c.a, 200, "Order"); got != c.want {
			t.Errorf("%v: counted as %v, want %v", c.a, got, c.want)
		}
	}
	if flat([]float64{80, 90, 100, 100, 100, 100, 116, 116}, memoryLeast, &strings.Builder{}) == nil {
		t.Error("memory that grows is not seen")
	}
}
