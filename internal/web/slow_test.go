package web

import (
	"fmt"
	"io"
	"net"
	"net/http"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"
)

// slowClients are kinds of clients that hold a line: what they send at once, and then drop by drop.
var slowClients = map[string]struct{ first, drop string }{
	"head drop by drop": {"GET / HTTP/1.1\r\nHost: HOST\r\nX: ", "x"},
	"body drop by drop": {"POST /vehicles HTTP/1.1\r\nHost: HOST\r\nOrigin: http://HOST\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: 900\r\n\r\nname=", "x"},
	"plan drop by drop": {"POST /api/plan HTTP/1.1\r\nHost: HOST\r\nContent-Length: 9000\r\n\r\n#", "x"},
	"answer never read": {"GET /v/1/text HTTP/1.1\r\nHost: HOST\r\n\r\n", ""},
	"copy never read":   {"GET /book HTTP/1.1\r\nHost: HOST\r\n\r\n", ""},
	"idle":              {"GET /assets/bench.css HTTP/1.1\r\nHost: HOST\r\n\r\n", ""},
}

// slowEach is how many of each kind there are: 54 in all.
const slowEach = 9

// Fifty slow clients do not keep a quick one waiting, and the bench lets all of them go at its limits. The limits are the bench's own, made
// shorter.
func TestSlowClientsHoldNobody(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	at := l.Addr().String()
	b := newTestBench(t, func(o *Options) { o.Address = at })
	b.add("x", smallJob("x")+strings.Repeat("# a remark that makes the text long\n", 10000))
	s := NewServer(b.handler)
	s.ReadHeaderTimeout, s.ReadTimeout, s.WriteTimeout, s.IdleTimeout = time.Second, 2*time.Second, 3*time.Second, 2*time.Second
	open := newLines()
	s.ConnState = open.note
	go s.Serve(narrow{l})
	t.Cleanup(func() { s.Close() })
	var slow sync.WaitGroup
	held := time.Now()
	for name, c := range slowClients {
		for range slowEach {
			slow.Add(1)
			go func() {
				defer slow.Done()
				if err := drip(at, strings.ReplaceAll(c.first, "HOST", at), c.drop, open); err != nil {
					t.Errorf("%s: %v", name, err)
				}
			}()
		}
	}
	quick := quickly(t, "http://"+at+"/", func() bool { return time.Since(held) < 2*time.Second })
	slow.Wait()
	if most := open.most(); most < len(slowClients)*slowEach/2 {
		t.Errorf("only %d lines were open at once", most)
	}
	slices.Sort(quick)
	t.Logf("%d quick requests beside %d slow clients: median %v, most %v", len(quick), len(slowClients)*slowEach, quick[len(quick)/2], quick[len(quick)-1])
	// A bench that served one after the other would be held for a second or more by each slow client.
	if quick[len(quick)/2] > 900*time.Millisecond {
		t.Errorf("%d quick requests, median %v", len(quick), quick[len(quick)/2])
	}
}

// quickly asks for a page on new lines as long as more says.
func quickly(t *testing.T, page string, more func() bool) (took []time.Duration) {
	c := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}, Timeout: 10 * time.Second}
	for more() {
		begun := time.Now()
		w, err := c.Get(page)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := io.Copy(io.Discard, w.Body); err != nil || w.StatusCode != http.StatusOK {
			t.Fatal(w.StatusCode, err)
		}
		w.Body.Close()
		took = append(took, time.Since(begun))
	}
	return took
}

// drip is a slow client; it fails when the bench has not let it go after twenty seconds.
func drip(at, first, drop string, open *lines) error {
	line, err := net.Dial("tcp", at)
	if err != nil {
		return err
	}
	defer line.Close()
	line.(*net.TCPConn).SetReadBuffer(4096)
	me := line.LocalAddr().String()
	go io.WriteString(line, first) // the bench may take it as slowly as it likes
	for end := time.Now().Add(20 * time.Second); time.Now().Before(end); time.Sleep(100 * time.Millisecond) {
		if open.closed(me) {
			return nil
		}
		if drop != "" {
			_, _ = io.WriteString(line, drop) // a line that is closed is seen above
		}
	}
	return fmt.Errorf("the line was still held after twenty seconds")
}

// narrow is a listener whose lines take little before somebody reads, so that an answer that is not read holds its handler.
type narrow struct{ net.Listener }

func (n narrow) Accept() (net.Conn, error) {
	c, err := n.Listener.Accept()
	if t, ok := c.(*net.TCPConn); ok {
		err = t.SetWriteBuffer(4096)
	}
	return c, err
}

// lines keeps which lines a server has open, by the address of the client.
type lines struct {
	mu    sync.Mutex
	state map[string]http.ConnState
	peak  int
}

func newLines() *lines { return &lines{state: map[string]http.ConnState{}} }

func (l *lines) note(c net.Conn, s http.ConnState) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.state[c.RemoteAddr().String()] = s
	n := 0
	for _, s := range l.state {
		if s != http.StateClosed {
			n++
		}
	}
	l.peak = max(l.peak, n)
}

func (l *lines) closed(client string) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.state[client] == http.StateClosed
}

func (l *lines) most() int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.peak
}

// Copies that nobody reads do not fill the disk or the memory: two are sent at a time, a third is refused and says so, and one that was
// broken off is not taken for a book.
func TestCopiesAreBounded(t *testing.T) {
	b := newTestBench(t)
	b.add("x", smallJob("x"))
	gone, wait := make(chan bool), make(chan bool)
	for range copiesAtOnce {
		go func() {
			defer func() { gone <- recover() == http.ErrAbortHandler }()
			b.handler.ServeHTTP(&stuck{wait: wait, head: http.Header{}}, send("GET", "/book", "")())
		}()
	}
	for range copiesAtOnce {
		wait <- true
	}
	if w := b.get("/book"); w.Code != http.StatusServiceUnavailable || !strings.Contains(w.Body.String(), "Try again") {
		t.Errorf("a third: %d: %s", w.Code, w.Body)
	}
	for range copiesAtOnce {
		wait <- true
	}
	for range copiesAtOnce {
		if !<-gone {
			t.Error("a copy that was broken off ends as a whole one")
		}
	}
	w := b.get("/book")
	if w.Code != http.StatusOK || !strings.HasPrefix(w.Body.String(), "SQLite format 3\x00") {
		t.Fatalf("afterwards: %d", w.Code)
	}
	if b.log.Len() > 0 {
		t.Errorf("the log has %s", b.log.String())
	}
}

// stuck is an answer that nobody reads, until the line breaks.
type stuck struct {
	wait chan bool
	head http.Header
}

func (s *stuck) Header() http.Header { return s.head }
func (s *stuck) WriteHeader(int)     {}
func (s *stuck) Write([]byte) (int, error) {
	<-s.wait
	<-s.wait
	return 0, net.ErrClosed
}
