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

	"github.com/chromedp/chromedp"
)

// openBench runs the built command's bench on a fresh book with the examples in it, and gives its address.
func openBench(t *testing.T) string {
	t.Helper()
	command := filepath.Join(filepath.Dir(packs[0].dir), "panelwright")
	c := exec.Command(command, "bench", "--book", filepath.Join(t.TempDir(), "test.book"), "--address", "127.0.0.1:0")
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
	address := ""
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
	for i, p := range packs {
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
		// The pack is there when everything is planned and drawn.
		if answer, err = http.Get(fmt.Sprintf("%sv/%d/pack.zip", address, i+1)); err != nil || answer.StatusCode != 200 {
			t.Fatal(answer, err)
		}
		answer.Body.Close()
	}
	return address
}

// Every page of the bench in a browser: no wider than a telephone, legible by day and by night, asks for nothing from elsewhere
// and complains of nothing. With PANELWRIGHT_SHOTS=FOLDER pictures of all are kept there.
func TestBenchPages(t *testing.T) {
	browser := chromium(t)
	address := openBench(t)
	shots := os.Getenv("PANELWRIGHT_SHOTS")
	panel := packs[0].plan.Panels[0].ID
	for name, path := range map[string]string{
		"vehicles": "", "vehicle": "v/1/", "text": "v/1/text", "history": "v/1/history", "range": "v/1/range", "order": "v/1/order",
		"prints": "v/1/prints", "survey": "v/1/p/" + panel + "/survey", "setout": "v/1/p/" + panel + "/setout",
		"card": "v/1/p/" + panel + "/card", "settings": "settings", "nowhere": "no/such/page",
	} {
		t.Run(name, func(t *testing.T) {
			v := visit(t, browser, address+path)
			for _, scheme := range []string{"light", "dark"} {
				light(t, v, scheme)
				for _, width := range []int64{360, 820, 1440} {
					run(t, v, chromedp.EmulateViewport(width, 900))
					found, _ := look[int](t, v, "narrow")
					for _, f := range found {
						t.Errorf("%d wide: %s", width, f)
					}
					if shots != "" {
						picture := run(t, v, chromedp.FullScreenshot(100))
						if err := os.WriteFile(filepath.Join(shots, fmt.Sprintf("%s-%d-%s.png", name, width, scheme)), picture, 0o644); err != nil {
							t.Fatal(err)
						}
					}
				}
				found, seen := look[int](t, v, "contrast")
				for _, f := range found {
					t.Errorf("%s: %s", scheme, f)
				}
				if seen < 5 {
					t.Errorf("%s: only %d texts were seen", scheme, seen)
				}
			}
		})
	}
}

// visit opens an address of the bench in a tab of its own.
func visit(t *testing.T, browser context.Context, at string) *viewer {
	t.Helper()
	ctx, stop := chromedp.NewContext(browser)
	t.Cleanup(stop)
	ctx, stop = context.WithTimeout(ctx, 2*time.Minute)
	t.Cleanup(stop)
	v := &viewer{ctx: ctx}
	if err := chromedp.Do(ctx, chromedp.Navigate(at)); err != nil {
		t.Fatal(err)
	}
	run(t, v, chromedp.Evaluate[any](pageJS))
	return v
}
