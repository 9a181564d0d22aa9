package main

import (
	"bytes"
	"context"
	"image"
	"image/color"
	"image/png"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"panelwright/internal/outside"
)

// shared is a buffer that a running command writes and a test reads.
type shared struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (s *shared) Write(p []byte) (int, error) { s.mu.Lock(); defer s.mu.Unlock(); return s.b.Write(p) }
func (s *shared) String() string              { s.mu.Lock(); defer s.mu.Unlock(); return s.b.String() }

// openBench runs the command until the test ends and waits for what it prints.
func openBench(t *testing.T, wait string, args ...string) (out *shared, found []string, stop func() int) {
	t.Helper()
	out = &shared{}
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan int, 1)
	go func() { ended <- run(ctx, append([]string{"bench"}, args...), out, io.Discard) }()
	stop = func() int { cancel(); return <-ended }
	pattern := regexp.MustCompile(wait)
	for range 100 {
		if found = pattern.FindStringSubmatch(out.String()); found != nil {
			return out, found, stop
		}
		time.Sleep(50 * time.Millisecond)
	}
	cancel()
	t.Fatalf("the bench did not open: %s", out)
	return nil, nil, nil
}

// It serves this machine, keeps what is made, and stops cleanly when it is asked to.
func TestBenchOpensAndStops(t *testing.T) {
	file := filepath.Join(t.TempDir(), "shop.book")
	_, at, stop := openBench(t, `(?s)(http://127\.0\.0\.1:\d+/).*Ctrl-C`, "--book", file, "--address", "127.0.0.1:0")
	answer, err := http.Get(at[1])
	if err != nil {
		t.Fatal(err)
	}
	body, _ := io.ReadAll(answer.Body)
	answer.Body.Close()
	if answer.StatusCode != 200 || !strings.Contains(string(body), "The book is empty") {
		t.Errorf("%d: %s", answer.StatusCode, body)
	}
	if code := stop(); code != exitPlanned {
		t.Errorf("stopped with code %d", code)
	}
	if _, err := http.Get(at[1]); err == nil {
		t.Error("it still answers")
	}
}

// On the network nobody comes in without the key, and the key that is shown lets in.
func TestBenchOnNetworkWantsItsKey(t *testing.T) {
	out, at, stop := openBench(t, `(?s)(http://127\.0\.0\.1:\d+/)enter\?key=([A-Z2-7]{32}).*Ctrl-C`,
		"--book", filepath.Join(t.TempDir(), "shop.book"), "--address", "127.0.0.1:0", "--network")
	defer stop()
	jar := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	for path, want := range map[string]int{"": 403, "v/1/": 403, "book": 403, "enter": 200, "enter?key=WRONG": 403, "enter?key=" + at[2]: 303} {
		answer, err := jar.Get(at[1] + path)
		if err != nil {
			t.Fatal(err)
		}
		answer.Body.Close()
		if answer.StatusCode != want {
			t.Errorf("/%s: %d, want %d", path, answer.StatusCode, want)
		}
	}
	scanCode(t, out.String(), at[1]+"enter?key="+at[2])
}

// scanCode reads the code in half blocks with zbar, as a camera would.
func scanCode(t *testing.T, out, want string) {
	outside.Need(t, "zbarimg")
	var rows []string
	for _, line := range strings.Split(out, "\n") {
		if strings.Contains(line, "█") {
			rows = append(rows, line)
		}
	}
	const dot = 6
	width := len([]rune(rows[0]))
	picture := image.NewGray(image.Rect(0, 0, width*dot, 2*len(rows)*dot))
	for y, row := range rows {
		for x, c := range []rune(row) {
			top, bottom := c == '█' || c == '▀', c == '█' || c == '▄'
			for i := range dot * dot {
				for half, light := range []bool{top, bottom} {
					if light {
						picture.SetGray(x*dot+i%dot, (2*y+half)*dot+i/dot, color.Gray{255})
					}
				}
			}
		}
	}
	file := filepath.Join(t.TempDir(), "code.png")
	var b bytes.Buffer
	if err := png.Encode(&b, picture); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	got, err := exec.Command("zbarimg", "--raw", "-q", file).Output()
	if err != nil || strings.TrimSpace(string(got)) != want {
		t.Errorf("the code says %q (%v), want %q", got, err, want)
	}
}

// What would let others in without a key, or is no book, is refused before anything is opened.
func TestBenchRefuses(t *testing.T) {
	notABook := filepath.Join(t.TempDir(), "x.book")
	if err := os.WriteFile(notABook, []byte("mine, not a book"), 0o644); err != nil {
		t.Fatal(err)
	}
	for args, want := range map[string]string{
		"--address 0.0.0.0:0":        "--network",
		"--address :0":               "--network",
		"--address nowhere":          "host:port",
		"--book " + notABook:         "not a book",
		"--address 127.0.0.1:999999": "--address",
		"extra":                      "unknown command",
	} {
		given := strings.Fields(args)
		if !strings.Contains(args, "--book") {
			given = append(given, "--book", filepath.Join(t.TempDir(), "new.book"))
		}
		code, _, errOut := command(append([]string{"bench"}, given...)...)
		if code != exitUsage || !strings.Contains(errOut, want) {
			t.Errorf("bench %s: code %d: %s", args, code, errOut)
		}
	}
}
