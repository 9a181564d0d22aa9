package panelwright

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// manifestName is the file that lists a pack: one line for each file, its SHA-256 and its name, as sha256sum -c reads it.
const manifestName = "pack.sha256"

// NotOurs says that a folder holds something which no pack lists, or which was changed since the pack was written.
// Nothing in the folder has been touched.
type NotOurs struct {
	Dir   string
	Files []string // what stands in the way, sorted
}

// Error names the files and the way out.
func (e *NotOurs) Error() string {
	return fmt.Sprintf("%s holds what no pack of ours lists, or was changed since: %s; nothing was written: move it away, or give another folder",
		e.Dir, strings.Join(e.Files, ", "))
}

// BadTarget says that a pack cannot be written under the name that was given, and why. Nothing has been touched.
type BadTarget struct{ Dir, Why string }

// Error names the folder and the way out.
func (e *BadTarget) Error() string {
	return fmt.Sprintf("%s: %s; nothing was written: name another folder", e.Dir, e.Why)
}

// WritePack puts the pack into dir. It is written beside dir, synced, then exchanged with it in one step where the system
// can, else by two renames that the next call repairs. So whenever the process dies, dir is the old pack or the new one,
// whole. A dir that holds anything else is refused (*NotOurs), and nothing of the user's is removed.
func WritePack(dir string, pack *Pack) error {
	return writePack(dir, pack, exchange)
}

// writePack takes the exchange as an argument, so that the two-rename way is tested on systems that have the other.
func writePack(dir string, pack *Pack, swap func(a, b string) error) error {
	w, err := openTarget(dir)
	var bad *BadTarget
	if errors.As(err, &bad) {
		return err
	}
	if err != nil {
		return fmt.Errorf("write pack to %s: %w", dir, err)
	}
	defer w.unlock()
	if err := w.repair(); err != nil {
		return fmt.Errorf("repair an interrupted write of %s: %w", dir, err)
	}
	if err := ours(w.dir); err != nil {
		return err
	}
	if err := w.stage(pack); errors.As(err, &bad) {
		return err
	} else if err != nil {
		return errors.Join(fmt.Errorf("write pack beside %s: %w", dir, err), discard(w.fresh))
	}
	return w.publish(swap)
}

// target is the folder to write, and the two names beside it that a write uses.
type target struct {
	dir    string // absolute, links followed
	fresh  string // the new pack until it is published, the old one for a moment after
	old    string // the old pack between the two renames, where there is no exchange
	unlock func()
}

func openTarget(dir string) (*target, error) {
	abs, err := filepath.Abs(dir)
	if err != nil {
		return nil, err
	}
	if real, err := filepath.EvalSymlinks(abs); err == nil {
		abs = real
	} else if link, err := os.Lstat(abs); err == nil && link.Mode()&os.ModeSymlink != 0 {
		return nil, &BadTarget{dir, "a link that leads nowhere"}
	}
	parent, base := filepath.Dir(abs), filepath.Base(abs)
	if parent == abs {
		return nil, &BadTarget{dir, "the top folder"}
	}
	if info, err := os.Stat(abs); err == nil && !info.IsDir() {
		return nil, &BadTarget{dir, "a file of that name is there, and a pack is a folder"}
	}
	if here, err := os.Getwd(); err == nil && (here == abs || strings.HasPrefix(here, abs+string(filepath.Separator))) {
		return nil, &BadTarget{dir, "you stand in this folder, and it is replaced as a whole"}
	}
	if err := os.MkdirAll(parent, 0o755); err != nil {
		return nil, &BadTarget{dir, fmt.Sprintf("its parent folder cannot be made: %v", err)}
	}
	unlock, err := lockDir(parent)
	if err != nil {
		return nil, &BadTarget{dir, fmt.Sprintf("its parent folder cannot be opened: %v", err)}
	}
	return &target{
		dir:    abs,
		fresh:  filepath.Join(parent, "."+base+".panelwright-new"),
		old:    filepath.Join(parent, "."+base+".panelwright-old"),
		unlock: unlock,
	}, nil
}

// repair ends what a killed process left: an old pack without its successor goes back to its name; a half-written new one,
// or an old one already replaced, is removed.
func (t *target) repair() error {
	if _, err := os.Lstat(t.old); err == nil {
		if _, err := os.Lstat(t.dir); errors.Is(err, os.ErrNotExist) {
			if err := os.Rename(t.old, t.dir); err != nil {
				return err
			}
		} else if err := discard(t.old); err != nil {
			return err
		}
	}
	return discard(t.fresh)
}

// stage writes the pack to t.fresh and syncs it. The manifest goes first, so that a half-written folder can be told from
// a stranger's.
func (t *target) stage(pack *Pack) error {
	if err := os.Mkdir(t.fresh, 0o755); err != nil {
		return &BadTarget{t.dir, fmt.Sprintf("nothing can be written beside it: %v", err)}
	}
	if err := writeSynced(filepath.Join(t.fresh, manifestName), manifest(pack)); err != nil {
		return err
	}
	for _, f := range pack.Files {
		if f.Name != filepath.Base(f.Name) || f.Name == manifestName {
			panic("panelwright: a pack's file is named " + f.Name)
		}
		if err := writeSynced(filepath.Join(t.fresh, f.Name), f.Data); err != nil {
			return err
		}
	}
	return syncDir(t.fresh)
}

func (t *target) publish(swap func(a, b string) error) error {
	parent := filepath.Dir(t.dir)
	if _, err := os.Lstat(t.dir); errors.Is(err, os.ErrNotExist) {
		if err := os.Rename(t.fresh, t.dir); err != nil {
			return err
		}
		return syncDir(parent)
	}
	err := swap(t.fresh, t.dir)
	replaced := t.fresh
	if errors.Is(err, errNoExchange) {
		replaced = t.old
		if err = os.Rename(t.dir, t.old); err == nil {
			err = os.Rename(t.fresh, t.dir)
		}
	}
	if err != nil {
		return fmt.Errorf("put the new pack in place of %s: %w", t.dir, err)
	}
	if err := syncDir(parent); err != nil {
		return err
	}
	// Somebody may have put a file into the old folder between our look and the exchange: then it goes back, whole.
	if err := ours(replaced); err != nil {
		return errors.Join(err, t.putBack(replaced, swap))
	}
	return discard(replaced)
}

// putBack undoes a publish: the replaced folder takes its name again and the new pack is dropped.
func (t *target) putBack(replaced string, swap func(a, b string) error) error {
	if replaced == t.fresh {
		if err := swap(t.fresh, t.dir); err != nil {
			return err
		}
		return discard(t.fresh)
	}
	if err := os.Rename(t.dir, t.fresh); err != nil {
		return err
	}
	if err := os.Rename(t.old, t.dir); err != nil {
		return err
	}
	return discard(t.fresh)
}

// List is the file that WritePack adds to a pack's own: it names them with their digests.
func (p *Pack) List() File { return File{manifestName, manifest(p)} }

func manifest(pack *Pack) []byte {
	var b bytes.Buffer
	for _, f := range pack.Files {
		fmt.Fprintf(&b, "%s  %s\n", digest(f.Data), f.Name)
	}
	return b.Bytes()
}

func digest(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

// readManifest gives name → digest; nil when there is none or it is not one of ours.
func readManifest(dir string) map[string]string {
	text, err := os.ReadFile(filepath.Join(dir, manifestName))
	if err != nil {
		return nil
	}
	listed := map[string]string{}
	for line := range strings.Lines(string(text)) {
		sum, name, ok := strings.Cut(strings.TrimSuffix(line, "\n"), "  ")
		if !ok || len(sum) != 2*sha256.Size || name != filepath.Base(name) {
			return nil
		}
		listed[name] = sum
	}
	return listed
}

// ours is nil when dir does not exist, is empty, or holds only files that its manifest lists, unchanged.
func ours(dir string) error {
	entries, err := os.ReadDir(dir)
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("look into %s: %w", dir, err)
	}
	listed := readManifest(dir)
	var strange []string
	for _, e := range entries {
		if e.Name() == manifestName && e.Type().IsRegular() && listed != nil {
			continue
		}
		sum, ok := listed[e.Name()]
		if !ok || !e.Type().IsRegular() {
			strange = append(strange, e.Name())
			continue
		}
		if data, err := os.ReadFile(filepath.Join(dir, e.Name())); err != nil || digest(data) != sum {
			strange = append(strange, e.Name()+" (changed)")
		}
	}
	if len(strange) > 0 {
		slices.Sort(strange)
		return &NotOurs{dir, strange}
	}
	return nil
}

// discard removes a folder that a write of ours left beside the target: the files that its manifest lists, then the
// manifest, then the folder. It stops with an error, and leaves the rest, when it meets anything else.
func discard(dir string) error {
	entries, err := os.ReadDir(dir)
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	listed := readManifest(dir)
	for _, e := range entries {
		// A manifest is cut short only while the process that wrote it died at it: then it is alone.
		alone := len(entries) == 1 && e.Name() == manifestName
		if _, ok := listed[e.Name()]; !ok && e.Name() != manifestName && !alone {
			return &NotOurs{dir, []string{e.Name()}}
		}
	}
	for name := range listed {
		if err := os.Remove(filepath.Join(dir, name)); err != nil && !errors.Is(err, os.ErrNotExist) {
			return err
		}
	}
	if err := os.Remove(filepath.Join(dir, manifestName)); err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	return os.Remove(dir)
}

func writeSynced(name string, data []byte) error {
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	return errors.Join(err, f.Sync(), f.Close())
}
