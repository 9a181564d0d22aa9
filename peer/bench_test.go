package peer

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
)

// command is the built program.
func command() string { return filepath.Join(filepath.Dir(packs[0].dir), "panelwright") }

// openBench runs the built command's bench on a fresh book with these examples in it, and gives its address.
func openBench(t *testing.T, examples []pack) string {
	t.Helper()
	address := startBench(t)
	for _, p := range examples {
		text, err := os.ReadFile(filepath.Join("..", "examples", p.name, "job.yaml"))
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		m := multipart.NewWriter(&b)
		w, _ := m.CreateFormFile("job", "job.yaml")
		w.Write(text)
		m.Close()
		answer, err := http.Post(address+"vehicles/import", m.FormDataContentType(), &b)
		if err != nil || answer.StatusCode != 200 {
			t.Fatal(answer, err)
		}
		answer.Body.Close()
	}
	return address
}

// startBench runs the bench on a fresh book until the test ends, and gives its address.
func startBench(t *testing.T) (address string) {
	t.Helper()
	c := exec.Command(command(), "bench", "--book", filepath.Join(t.TempDir(), "test.book"), "--address", "127.0.0.1:0")
	c.Stderr = os.Stderr
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = c.Process.Signal(os.Interrupt)
		if err := c.Wait(); err != nil {
			t.Errorf("the bench ended with %v", err)
		}
	})
	var said []byte
	for part := make([]byte, 512); address == ""; {
		n, err := out.Read(part)
		if err != nil {
			t.Fatalf("the bench says %q, then %v", said, err)
		}
		said = append(said, part[:n]...)
		if m := regexp.MustCompile(`http://[0-9.:]+/\n`).Find(said); m != nil {
			address = strings.TrimSpace(string(m))
		}
	}
	go io.Copy(io.Discard, out)
	return address
}

// fetch gets an address that must answer.
func fetch(t *testing.T, at string) []byte {
	t.Helper()
	answer, err := http.Get(at)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	data, err := io.ReadAll(answer.Body)
	if err != nil || answer.StatusCode != 200 {
		t.Fatalf("%s: %s, %v", at, answer.Status, err)
	}
	return data
}

// visit opens an address of the bench in a tab of its own, which hears what its pages ask for from elsewhere, and everything
// that they, or the browser about them, complain of: exceptions, breaches of the content policy, answers that are errors.
func visit(t *testing.T, browser context.Context, at string) *viewer {
	t.Helper()
	ctx, stop := chromedp.NewContext(browser)
	t.Cleanup(stop)
	ctx, stop = context.WithTimeout(ctx, 2*time.Minute)
	t.Cleanup(stop)
	v := &viewer{ctx: ctx}
	hear := func(text string) {
		v.mu.Lock()
		v.heard = append(v.heard, text)
		v.mu.Unlock()
	}
	home := strings.Join(strings.SplitAfterN(at, "/", 4)[:3], "")
	err := chromedp.Listen(ctx, func(event any) {
		switch e := event.(type) {
		case *network.EventRequestWillBeSent:
			if u := e.Request.URL; !strings.HasPrefix(u, home) && !strings.HasPrefix(u, "data:") {
				hear("asks for " + u)
			}
		case *network.EventResponseReceived:
			if e.Response.Status >= 400 {
				hear(fmt.Sprintf("%s responded with a status of %d", e.Response.URL, int(e.Response.Status)))
			}
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	messages := chromedp.Console(ctx)
	go func() {
		for m, err := range messages {
			if err != nil {
				return
			}
			hear("says " + m.String())
		}
	}()
	call(t, v, network.Enable, network.EnableParams{})
	if err := chromedp.Do(ctx, chromedp.Navigate(at)); err != nil {
		t.Fatal(err)
	}
	return v
}

// patience is how long a page may take to come to what is waited for, on a machine that has other work too.
const patience = 45 * time.Second

// wait asks a page again and again until it says true. Between two pages there is none to answer.
func wait(t *testing.T, v *viewer, what, question string) {
	t.Helper()
	var err error
	for end := time.Now().Add(patience); time.Now().Before(end); time.Sleep(30 * time.Millisecond) {
		var yes bool
		if yes, err = chromedp.Run(v.ctx, chromedp.Evaluate[bool](question)); yes {
			return
		}
	}
	at, _ := chromedp.Run(v.ctx, chromedp.Evaluate[string](`location.href + "\n" + document.body.innerText.slice(0, 3000)`))
	t.Fatalf("%s: never, %v; the page is %s\nit complained of %q", what, err, at, v.complaints())
}

// ask asks the page a question.
func ask[T any](t *testing.T, v *viewer, question string) T {
	t.Helper()
	return run(t, v, chromedp.Evaluate[T](question))
}

// spot is the middle of what a selector finds, in the window, scrolled into sight.
func spot(t *testing.T, v *viewer, selector string) (x, y float64) {
	t.Helper()
	at := ask[[]float64](t, v, fmt.Sprintf(`(() => { const e = document.querySelector(%q); e.scrollIntoView({ block: "center", behavior: "instant" });
		const r = e.getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2]; })()`, selector))
	return at[0], at[1]
}

// press clicks where a thing is, as a hand does: what lies over it takes the click.
func press(t *testing.T, v *viewer, selector string) {
	t.Helper()
	x, y := spot(t, v, selector)
	run(t, v, chromedp.MouseClickXY(x, y))
}

// write puts the cursor into a field, marks what stands there, and types over it.
func write(t *testing.T, v *viewer, selector, text string) {
	t.Helper()
	press(t, v, selector)
	ask[any](t, v, fmt.Sprintf(`document.querySelector(%q).select()`, selector))
	run(t, v, chromedp.KeyEvent(text))
	if got := ask[string](t, v, fmt.Sprintf(`document.querySelector(%q).value`, selector)); got != text {
		t.Fatalf("typed %q into %s, it holds %q", text, selector, got)
	}
}

// mouse moves the pointer, or presses or lets go of its button.
func mouse(t *testing.T, v *viewer, kind input.DispatchMouseEventType, x, y float64) {
	t.Helper()
	options := []chromedp.MouseOption{chromedp.ButtonLeft}
	if kind != input.DispatchMouseEventTypeMouseMoved {
		options = append(options, chromedp.ClickCount(1))
	}
	run(t, v, chromedp.MouseEvent(kind, x, y, options...))
}

// revision is the number at the head of a vehicle's page.
const revision = `Number(document.querySelector("nav.menu .whose .soft")?.textContent.match(/revision (\d+)/)?.[1] ?? 0)`

// reaches waits until the page is of a revision, whole.
func reaches(t *testing.T, v *viewer, n int) {
	t.Helper()
	wait(t, v, fmt.Sprintf("revision %d", n), fmt.Sprintf(`document.readyState === "complete" && %s === %d`, revision, n))
}
