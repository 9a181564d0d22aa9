package book

import (
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
)

// asNobody gives up the rights that root has over files, for this thread, which is then thrown away.
func asNobody(t *testing.T, f func()) {
	t.Helper()
	done := make(chan bool)
	go func() {
		defer close(done)
		runtime.LockOSThread() // never unlocked: the thread ends with the goroutine
		if os.Getuid() == 0 {
			if _, _, errno := syscall.RawSyscall(syscall.SYS_SETFSUID, 65534, 0, 0); errno != 0 {
				t.Error(errno)
				return
			}
		}
		f()
	}()
	<-done
}

// The folder must be reachable by nobody, and the book readable.
func readable(t *testing.T, text []byte, file, folder os.FileMode) string {
	t.Helper()
	path := put(t, text)
	for _, set := range []struct {
		path string
		mode os.FileMode
	}{{filepath.Dir(filepath.Dir(path)), 0o755}, {path, file}, {filepath.Dir(path), folder}} {
		if err := os.Chmod(set.path, set.mode); err != nil {
			t.Fatal(err)
		}
	}
	t.Cleanup(func() { os.Chmod(filepath.Dir(path), 0o777) })
	return path
}

func TestReadOnly(t *testing.T) {
	text := closed(t)
	b := newBook(t)
	if err := os.Chmod(filepath.Dir(filepath.Dir(b.Path())), 0o755); err != nil {
		t.Fatal(err)
	}
	for name, modes := range map[string][2]os.FileMode{
		"file":   {0o444, 0o777},
		"folder": {0o444, 0o555},
		"both":   {0o666, 0o555},
	} {
		t.Run(name, func(t *testing.T) {
			path := readable(t, text, modes[0], modes[1])
			asNobody(t, func() {
				if f, err := os.OpenFile(path, os.O_RDWR, 0); err == nil {
					f.Close()
					if f, err := os.Create(path + "x"); err == nil {
						f.Close()
						t.Error("permissions do not bind here")
						return
					}
				}
				_, err := Open(path)
				isErr[*ReadOnly](t, err, nil)
			})
			if got := folder(t, path); string(got["bench.book"]) != string(text) || modes[1] == 0o555 && len(got) != 1 {
				t.Errorf("the book has changed, or is one of %d files", len(got))
			}
			if added := must(b.ImportBook(path))(t); len(added) != 3 {
				t.Errorf("added %v", added)
			}
		})
	}
	t.Run("no book yet", func(t *testing.T) {
		path := readable(t, text, 0o444, 0o555)
		asNobody(t, func() {
			_, err := Open(filepath.Join(filepath.Dir(path), "new.book"))
			isErr[*ReadOnly](t, err, nil)
		})
	})
	t.Run("not readable", func(t *testing.T) {
		path := readable(t, text, 0, 0o777)
		asNobody(t, func() {
			_, err := Open(path)
			isErr(t, err, func(e *DiskFailed) bool { return strings.Contains(e.Error(), "may not read") })
		})
	})
}
