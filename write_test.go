package panelwright

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"
)

// samplePack is a pack whose every file says which edition it belongs to, large enough that a kill falls inside it.
func samplePack(edition string, files, size int) *Pack {
	p := &Pack{}
	for i := range files {
		p.Files = append(p.Files, File{fmt.Sprintf("f%02d.txt", i), []byte(strings.Repeat(edition+"\n", size))})
	}
	return p
}

// editionOf reads the pack back and fails unless it is whole: every listed file there, with its digest, all of one edition.
func editionOf(t *testing.T, dir string) string {
	t.Helper()
	listed := readManifest(dir)
	if listed == nil {
		t.Fatalf("%s has no manifest", dir)
	}
	edition := ""
	for name, sum := range listed {
		data, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		if digest(data) != sum {
			t.Fatalf("%s is torn", name)
		}
		first, _, _ := strings.Cut(string(data), "\n")
		if edition != "" && edition != first {
			t.Fatalf("%s holds %s and %s", dir, edition, first)
		}
		edition = first
	}
	return edition
}

func noExchange(a, b string) error { return errNoExchange }

func TestWritePackReplaces(t *testing.T) {
	for name, swap := range map[string]func(a, b string) error{"exchange": exchange, "two renames": noExchange} {
		t.Run(name, func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "deep", "pack")
			for i, files := range []int{3, 5, 1, 4} {
				edition := fmt.Sprint("edition ", i)
				if err := writePack(dir, samplePack(edition, files, 10), swap); err != nil {
					t.Fatal(err)
				}
				if got := editionOf(t, dir); got != edition {
					t.Fatalf("got %q, want %q", got, edition)
				}
				entries, _ := os.ReadDir(dir)
				if len(entries) != files+1 {
					t.Errorf("%d entries, want %d files and the manifest", len(entries), files)
				}
				if beside, _ := os.ReadDir(filepath.Dir(dir)); len(beside) != 1 {
					t.Errorf("left beside the pack: %v", beside)
				}
			}
		})
	}
}

func TestWritePackRefusesStrangers(t *testing.T) {
	for _, c := range []struct {
		name  string
		spoil func(dir string) error
		want  string
	}{
		{"a file of the user's", func(d string) error { return os.WriteFile(filepath.Join(d, "notes.txt"), []byte("mine"), 0o644) }, "notes.txt"},
		{"a folder of the user's", func(d string) error { return os.Mkdir(filepath.Join(d, "photos"), 0o755) }, "photos"},
		{"a file of ours that the user changed", func(d string) error { return os.WriteFile(filepath.Join(d, "f00.txt"), []byte("ticks"), 0o644) }, "f00.txt (changed)"},
		{"the manifest gone", func(d string) error { return os.Remove(filepath.Join(d, manifestName)) }, "f00.txt"},
		{"a link of a listed name", func(d string) error {
			return errors.Join(os.Remove(filepath.Join(d, "f00.txt")), os.Symlink("/etc/hostname", filepath.Join(d, "f00.txt")))
		}, "f00.txt"},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "pack")
			if err := WritePack(dir, samplePack("old", 2, 3)); err != nil {
				t.Fatal(err)
			}
			if err := c.spoil(dir); err != nil {
				t.Fatal(err)
			}
			before, _ := os.ReadDir(dir)
			var strange *NotOurs
			if err := WritePack(dir, samplePack("new", 2, 3)); !errors.As(err, &strange) || !strings.Contains(err.Error(), c.want) {
				t.Fatalf("got %v, want a refusal that names %s", err, c.want)
			}
			if after, _ := os.ReadDir(dir); len(after) != len(before) {
				t.Errorf("the folder had %d entries, has %d", len(before), len(after))
			}
		})
	}
}

func TestWritePackOverStrangersFolder(t *testing.T) {
	dir := t.TempDir()
	mine := filepath.Join(dir, "thesis.txt")
	if err := os.WriteFile(mine, []byte("years of work"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := WritePack(dir, samplePack("new", 2, 3)); err == nil {
		t.Fatal("a stranger's folder was taken")
	}
	if got, _ := os.ReadFile(mine); string(got) != "years of work" {
		t.Error("the stranger's file is gone")
	}
}

// Names under which no pack can stand are refused before anything is touched.
func TestWritePackBadTargets(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "file")
	link := filepath.Join(dir, "link")
	if err := errors.Join(os.WriteFile(file, []byte("mine"), 0o644), os.Symlink(filepath.Join(dir, "nowhere"), link)); err != nil {
		t.Fatal(err)
	}
	t.Chdir(dir)
	for _, name := range []string{file, link, "/", ".", "..", filepath.Join(file, "pack"), "/proc/pack"} {
		var bad *BadTarget
		if err := WritePack(name, samplePack("new", 2, 3)); !errors.As(err, &bad) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if got, _ := os.ReadFile(file); string(got) != "mine" {
		t.Error("the file is gone")
	}
	if entries, _ := os.ReadDir(dir); len(entries) != 2 {
		t.Errorf("entries: %v", entries)
	}
	// A link to a folder is followed: the folder behind it becomes the pack, the link stays.
	real, alias := filepath.Join(dir, "real"), filepath.Join(dir, "alias")
	if err := errors.Join(os.Mkdir(real, 0o755), os.Symlink(real, alias), WritePack(alias, samplePack("new", 2, 3))); err != nil {
		t.Fatal(err)
	}
	if got := editionOf(t, real); got != "new" {
		t.Errorf("behind the link: %q", got)
	}
}

// A file that appears while the exchange happens is not lost: the old folder comes back with it.
func TestWritePackPutsBack(t *testing.T) {
	for name, direct := range map[string]bool{"exchange": true, "two renames": false} {
		t.Run(name, func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "pack")
			if err := WritePack(dir, samplePack("old", 2, 3)); err != nil {
				t.Fatal(err)
			}
			late := func(a, b string) error {
				os.WriteFile(filepath.Join(dir, "late.txt"), []byte("mine"), 0o644)
				if !direct {
					return errNoExchange
				}
				if err := exchange(a, b); err != nil {
					// a system without an exchange: the two renames are the only way there is
					return err
				}
				return nil
			}
			var strange *NotOurs
			if err := writePack(dir, samplePack("new", 2, 3), late); !errors.As(err, &strange) {
				t.Fatalf("got %v, want a refusal", err)
			}
			if got := editionOf(t, dir); got != "old" {
				t.Errorf("the folder holds %q", got)
			}
			if got, _ := os.ReadFile(filepath.Join(dir, "late.txt")); string(got) != "mine" {
				t.Error("the late file is lost")
			}
		})
	}
}

const killKey, killSwap, killEdition = "PANELWRIGHT_TEST_KILL_DIR", "PANELWRIGHT_TEST_KILL_SWAP", "PANELWRIGHT_TEST_KILL_EDITION"

// TestMain lets the kill test run this binary as the process that is killed.
func TestMain(m *testing.M) {
	dir := os.Getenv(killKey)
	if dir == "" {
		os.Exit(m.Run())
	}
	swap := exchange
	if os.Getenv(killSwap) == "two" {
		swap = noExchange
	}
	fmt.Println("start")
	for n := 0; ; n++ {
		if err := writePack(dir, samplePack(os.Getenv(killEdition)+"-"+strconv.Itoa(n), 4+n%3, 2000), swap); err != nil {
			fmt.Println("error", err)
			os.Exit(1)
		}
	}
}

// kills is how often the test kills; PANELWRIGHT_KILLS raises it for a long run.
func kills() int {
	if n, err := strconv.Atoi(os.Getenv("PANELWRIGHT_KILLS")); err == nil && n > 0 {
		return n
	}
	return 60
}

// Killed at any moment, the folder is an old pack or a new one, whole, and the next write goes through.
func TestWritePackKilled(t *testing.T) {
	rng := rand.New(rand.NewPCG(20260504, 1))
	for _, swap := range []string{"one", "two"} {
		t.Run(swap, func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "pack")
			if err := WritePack(dir, samplePack("first", 4, 10)); err != nil {
				t.Fatal(err)
			}
			inside := 0
			for i := range kills() {
				killOnce(t, dir, swap, fmt.Sprint("run", i), time.Duration(rng.IntN(12000))*time.Microsecond)
				if beside, _ := os.ReadDir(filepath.Dir(dir)); len(beside) > 1 {
					inside++
				}
				if swap == "two" {
					// Between two renames the name may be missing for a moment; the next start repairs it.
					repairOnly(t, dir)
				}
				editionOf(t, dir)
			}
			t.Logf("%d of %d kills fell inside a write", inside, kills())
			if err := WritePack(dir, samplePack("last", 3, 10)); err != nil {
				t.Fatal(err)
			}
			if got := editionOf(t, dir); got != "last" {
				t.Errorf("got %q", got)
			}
			if beside, _ := os.ReadDir(filepath.Dir(dir)); len(beside) != 1 {
				t.Errorf("left beside the pack: %v", beside)
			}
		})
	}
}

func killOnce(t *testing.T, dir, swap, edition string, after time.Duration) {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), killKey+"="+dir, killSwap+"="+swap, killEdition+"="+edition)
	pipe, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	first := make([]byte, 5)
	if _, err := pipe.Read(first); err != nil || string(first) != "start" {
		t.Fatalf("the process said %q, %v", first, err)
	}
	time.Sleep(after)
	if err := cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	if err := cmd.Wait(); err == nil || cmd.ProcessState.ExitCode() == 1 {
		t.Fatalf("the process ended by itself: %v", err)
	}
}

func repairOnly(t *testing.T, dir string) {
	t.Helper()
	w, err := openTarget(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer w.unlock()
	if err := w.repair(); err != nil {
		t.Fatal(err)
	}
}
